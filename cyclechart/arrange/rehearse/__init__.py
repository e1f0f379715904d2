"""Scores made into other scores to rehearse with."""
