"""How players who play together are apart: a few milliseconds, and in unison a few cents.

Every player has a lead or a lag of their own and strays a little from it, note by note; chords are
spread from low to high. Everything follows from names and notes alone: the same score gives the
same performance. The drone and the claps are what the others are measured by: they stay exact.
(Published spreads of ensembles lie between 10 and 50 ms, of good unisons about 5 cents; from
memory. The figures are our choice, at the tight end.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from zlib import crc32

from cyclechart.arrange.score import Part, Score, Sound
from cyclechart.sound.rate import RATE

PLAYER_MS = 5.0
"""Milliseconds: the leads and lags of the players of a band lie within this, either way. The mean
of a band's is 0."""
NOTE_MS = 2.0
"""Milliseconds: the most by which a note strays from its player's own lead or lag; the mean of a
player's notes is 0."""
LEAST_GAP = 4
"""A note strays at most by one in so many parts of the time to its neighbours, so that no two
change places."""
UNISON_CENTS, MOST_CENTS = 3.0, 5.0
"""Cents between two players in unison, and the most of any player from the piece's tuning."""
LONGEST_CHORD_MS = {3: (20.0, 8.0), 0: (6.0, 3.0), 1: (6.0, 3.0)}
"""Milliseconds from the lowest to the highest tone of a chord, softest and hardest, by family of
General MIDI: guitars (3) are strummed; pianos (0) and mallets (1) are struck nearly at once."""
_FAMILY = 8
"""The programs in a family of General MIDI."""


def player_lags(parts: Sequence[Part]) -> list[float]:
    """Return the lag of each part in milliseconds, below 0 for a lead.

    The players of a band are spread evenly from lead to lag; who is where follows from their names.
    """
    moved = [number for number, part in enumerate(parts) if _is_free(part)]
    order = sorted(moved, key=lambda number: (_digest(parts[number].name), number))
    lags = [0.0] * len(parts)
    for place, number in enumerate(order):
        if len(order) > 1:
            lags[number] = PLAYER_MS * (2 * place / (len(order) - 1) - 1)
    return lags


def unison_cents(score: Score) -> list[float]:
    """Return by how many cents each part is off the piece's tuning.

    Only players who have a tone in unison with another are, each by an offset of their own; the
    mean of those players is 0. Fixed keys, a bass and the
    drone are none of them.
    """
    tones: dict[tuple[object, ...], set[int]] = {}
    for number, part in enumerate(score.parts):
        if part.bends and not part.role.is_drone and not part.role.plays_roots:
            for sound in part.sounds:
                tones.setdefault((sound.start, sound.pitch % 12), set()).add(number)
    together = {number for players in tones.values() if len(players) > 1 for number in players}
    names = [part.name for part in score.parts]
    order = sorted(together, key=lambda number: (_digest(f"{names[number]} in unison"), number))
    cents = [0.0] * len(score.parts)
    if order:
        step = min(UNISON_CENTS, 2 * MOST_CENTS / (len(order) - 1))
        for place, number in enumerate(order):
            cents[number] = step * (place - (len(order) - 1) / 2)
    return cents


def moved_starts(name: str, starts: Sequence[int], lag: float) -> dict[int, int]:
    """Return where each start of a player's sounds (frames, in order) is played, ``lag``
    milliseconds late and a little off.

    What starts together stays together; nothing changes places, and nothing is before 0.
    """
    times = sorted(set(starts))
    strays = _strays(name, times)
    late = lag * RATE / 1000
    moved: dict[int, int] = {}
    before = -1
    for time, stray in zip(times, strays, strict=True):
        before = max(before + 1, round(time + late + stray), 0)
        moved[time] = before
    return moved


def _strays(name: str, times: Sequence[int]) -> list[float]:
    """Return by how many frames each time is off; the mean is 0."""
    most = [min(NOTE_MS * RATE / 1000, _nearest(times, at) / LEAST_GAP) for at in range(len(times))]
    strays = [
        limit * (crc32(f"{name} {time}".encode()) / 0x7FFFFFFF - 1)
        for limit, time in zip(most, times, strict=True)
    ]
    return _centred(strays, most)


def _centred(values: Sequence[float], most: Sequence[float]) -> list[float]:
    """Return values moved so that their mean is 0, each within its limit."""
    found = list(values)
    for _ in range(4):
        mean = sum(found) / len(found) if found else 0.0
        found = [
            max(-limit, min(limit, value - mean)) for value, limit in zip(found, most, strict=True)
        ]
    return found


def chord_delays(starts: Sequence[int], sounds: Sequence[Sound], program: int | None) -> list[int]:
    """Return by how many frames each sound is late as a tone of a chord: the lowest comes first,
    the middle of the chord is on time. A soft chord is spread wider.

    ``starts``: the frame of each sound.
    """
    delays = [0] * len(sounds)
    spread = None if program is None else LONGEST_CHORD_MS.get(program // _FAMILY)
    if spread is None:
        return delays
    chords: dict[int, list[int]] = {}
    for at, start in enumerate(starts):
        chords.setdefault(start, []).append(at)
    times = sorted(chords)
    soft, hard = spread
    for number, time in enumerate(times):
        chord = chords[time]
        if len(chord) < 2:
            continue
        loud = max(sounds[at].velocity for at in chord) / 127
        lasts = (soft + (hard - soft) * loud) * RATE / 1000
        lasts = min(lasts, _nearest(times, number) / LEAST_GAP)
        for place, at in enumerate(sorted(chord, key=lambda one: sounds[one].pitch)):
            delays[at] = round(lasts * (place / (len(chord) - 1) - 0.5))
    return delays


def _nearest(times: Sequence[int], at: int) -> float:
    """Return the frames from a time to the nearer of its neighbours."""
    around = (times[other] for other in (at - 1, at + 1) if 0 <= other < len(times))
    return min((abs(times[at] - time) for time in around), default=math.inf)


def _is_free(part: Part) -> bool:
    """Return whether a part leads or lags: it is played, and is not what time is measured by."""
    return bool(part.sounds or part.hits) and not part.role.is_drone and not part.role.is_count


def _digest(name: str) -> int:
    return crc32(name.encode())
