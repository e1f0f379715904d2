"""Tones, cycles, modes and their grammar, landing, tuning, exact time: pure, no files."""
