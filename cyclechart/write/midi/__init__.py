"""A score as a Standard MIDI File."""
