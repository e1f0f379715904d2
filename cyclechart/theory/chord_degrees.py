"""Chords moved by the degrees of a mode, as melody is: the root goes, and the chord that the mode
has there comes for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cyclechart.theory.chord_symbols import ChordSymbol, nearest_in


def moved_chord(
    chord: ChordSymbol,
    tone_after: Callable[[int], int],
    tones: frozenset[int],
    new_tones: frozenset[int],
) -> ChordSymbol:
    """Return a chord with its root and its bass moved as ``tone_after`` moves tones (0 to 11).

    A chord of the mode (whose tones are among ``tones``) becomes the nearest one of the tones that
    it is moved into; where there is none, and for a chord from outside, its quality stays.
    """
    bass = None if chord.bass is None else tone_after(chord.bass) % 12
    root = tone_after(chord.root) % 12
    moved = chord.on(root)
    outside = not chord.pitch_classes <= tones
    if not outside and not moved.pitch_classes <= new_tones:
        moved = nearest_in(moved, new_tones) or moved
    return replace(moved, bass=None if bass == root else bass)
