"""A score as sound files."""
