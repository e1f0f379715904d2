"""The rules of a set list."""
