"""Builds the part of each player: the whole form, with repeats, cues and jumps."""
