"""The bytes of a score's MIDI file alone."""

from __future__ import annotations

from cyclechart.arrange.score import Score
from cyclechart.write.midi.file import midi_with_report


def midi_bytes(score: Score, *, tuning_standard: bool = False) -> bytes:
    """Return the bytes of a score's MIDI file."""
    return midi_with_report(score, tuning_standard=tuning_standard)[0]
