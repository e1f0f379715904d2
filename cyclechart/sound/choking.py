"""Which strokes end the ringing of others, and how.

Closed, the two plates of a hi-hat stop ringing, and struck again while open they ring anew: the
closed, the pedal and the open hi-hat of General MIDI exclude each other. A hand that stays on a
head stops it: the fingers of te the treble, the flat palm of ke the bass (from memory).
"""

from __future__ import annotations

from cyclechart.sound.kit_drums import HAT, OPEN_HAT, PEDAL
from cyclechart.sound.rate import RATE

CHOKES: dict[str | int, frozenset[str | int]] = {
    HAT: frozenset({OPEN_HAT}),
    PEDAL: frozenset({OPEN_HAT}),
    OPEN_HAT: frozenset({OPEN_HAT}),
    "te": frozenset({"na", "tin", "tun"}),
    "ke": frozenset({"ge"}),
}
"""The sounds of the same player that a stroke ends."""
CHOKING = RATE // 40
"""Frames (25 ms) in which they end."""
