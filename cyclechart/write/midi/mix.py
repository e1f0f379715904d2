"""The mix of a MIDI file: volume, pan, reverb and expression of each channel.

Levels, pans and the room are those of the recordings' mix (``catalog.roles``). Controllers are
those of General MIDI: a volume of v is 40 log10(v/127) dB, and so are expression and, commonly,
velocity (General MIDI 2, 3.3; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cyclechart.arrange.score import Part
from cyclechart.catalog.roles import pans_in_turn

VOLUME, PAN, EXPRESSION, REVERB = 7, 10, 11, 91
"""Numbers of the controllers (MIDI 1.0)."""

PLAIN_VOLUME = 96
"""The volume of a part of 0 dB: there is room above it for what sound fonts have too soft."""
PLUCKED_DB = 5.0
"""dB that plucked programs are raised by: in common sound fonts they lie 11 LU below a flute of the
same velocity (measured), where our mix has chords 7 and the drone 9 below a melody."""
PLUCKED_PROGRAMS = frozenset((*range(24, 32), *range(104, 108)))
"""Guitars, and the plucked strings of sitar, banjo, shamisen and koto (from 0)."""
PLAIN_EXPRESSION = 90
"""The expression of a channel, but where a held note grows or fades."""
USUAL_REVERB, USUAL_ROOM = 40, -13.0
"""The reverb of General MIDI at power-up, for what sends so many dB into the room."""

LEAST_CHANGE = 2
"""The smallest change of expression in a held note."""
CHANGES_A_BEAT = 16
"""The most changes of expression in a beat."""


def channel_mix(parts: Sequence[Part]) -> list[dict[int, int]]:
    """Return the values of volume, pan, expression and reverb that each part wants, by number."""
    pans = pans_in_turn([part.role for part in parts])
    return [_mix(part, pan) for part, pan in zip(parts, pans, strict=True)]


def drum_mix(parts: Sequence[Part], wanted: Sequence[dict[int, int]]) -> dict[int, int]:
    """Return the values of the channel that all drums share: those of the first who keeps time, in
    the middle where several do."""
    drums = [number for number, part in enumerate(parts) if part.program is None]
    playing = [number for number in drums if not parts[number].role.is_count]
    if not drums:
        return {}
    first = wanted[(playing or drums)[0]]
    return first if len(playing) < 2 else {**first, PAN: 64}


def expression_moves(
    velocity: int, swell: int, start: int, end: int, ticks: int
) -> Iterator[tuple[int, int]]:
    """Yield (tick, expression) of a note that gains ``swell`` in velocity while it is held.

    ``ticks``: those of a beat. Nothing for a note of less than a beat.
    """
    if not swell or end - start < ticks:
        return
    goal = round(PLAIN_EXPRESSION * max(1, velocity + swell) / velocity)
    change = max(1, min(127, goal)) - PLAIN_EXPRESSION
    count = min(abs(change) // LEAST_CHANGE, (end - start) * CHANGES_A_BEAT // ticks)
    for number in range(1, count + 1):
        tick = start + (end - start) * number // (count + 1)
        yield tick, PLAIN_EXPRESSION + round(change * number / count)


def _mix(part: Part, pan: float) -> dict[int, int]:
    level = part.role.level + (PLUCKED_DB if part.program in PLUCKED_PROGRAMS else 0.0)
    return {
        VOLUME: _clipped(PLAIN_VOLUME * 10 ** (level / 40)),
        PAN: _clipped(64 + 63 * pan),
        EXPRESSION: PLAIN_EXPRESSION,
        REVERB: _clipped(USUAL_REVERB * 10 ** ((part.role.room - USUAL_ROOM) / 20)),
    }


def _clipped(value: float) -> int:
    return max(0, min(127, round(value)))
