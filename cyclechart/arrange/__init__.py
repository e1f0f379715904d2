"""Turns a piece into a timeline, a score of what sounds, and sheets to read."""
