"""Builds scores for rehearsing from a piece or from its score."""
