"""A set list read."""
