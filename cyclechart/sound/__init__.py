"""Waveforms: plucked drone, hand drums, kit, melody voices. Knows nothing of pieces."""
