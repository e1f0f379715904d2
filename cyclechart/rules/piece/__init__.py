"""The rules of a piece."""
