"""Findings, cards and tables as text for a terminal."""
