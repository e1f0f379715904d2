"""Where the bass and those who play chords play, and how loud."""

from __future__ import annotations

from cyclechart.piece.player import Player
from cyclechart.theory.spelling import Tonic

LOUD_CHORD = 62
"""The velocity of a chord."""

CENTRE = 62
"""The MIDI key around which voicings lie: over the bass, under the melody."""
SPREAD = 13
"""Semitones to either side of it."""

TREBLE, TREBLE_SPAN = (55, 86), 24
"""The lowest and highest key written on a treble staff alone, G3 and D6, two ledger lines from it,
and how far up from the lowest voicings then reach."""

UNDER_SA = 3
"""Semitones of the range kept under the bass's Sa for a lead into it."""


def voicing_range(player: Player) -> tuple[int, int]:
    """Return the lowest and the highest MIDI key of a player's voicings.

    On a single treble staff none needs more than two ledger lines, unless the player asks for
    another octave.
    """
    instrument = player.instrument
    low, high = max(instrument.low, CENTRE - SPREAD), min(instrument.high, CENTRE + SPREAD)
    if instrument.staves == 1 and instrument.clef == "treble":
        lowest, highest = (key + instrument.transposes for key in TREBLE)
        if lowest > low:
            low, high = lowest, min(instrument.high, lowest + TREBLE_SPAN)
        if not player.octave:
            high = min(high, highest)
    return low + 12 * player.octave, high + 12 * player.octave


def bass_sa(tonic: Tonic, player: Player) -> int:
    """Return the bass's Sa in semitones from the middle Sa: the lowest with room under it."""
    lowest = player.instrument.low + UNDER_SA + 12 * player.octave
    return -((tonic.midi - lowest) // 12) * 12
