"""Tunes in other notations and formats, written again as pieces."""
