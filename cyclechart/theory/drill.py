"""Practice patterns (palta, alankar) bent to a mode's own ascent and descent.

A pattern is given as in 123 234 345: steps counted along the path, not along the scale, so that the
tones a mode leaves out and its turns stay its own. Patterns are common practice. A pattern that
goes against the mode's movement anywhere is left out: a winding mode is practised in pieces of its
paths and in its own phrases.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.leaning import chief_tones, even_share, tones_to_end_on
from cyclechart.theory.mode import Mode
from cyclechart.theory.turns import turns

PATTERNS: dict[str, tuple[int, ...]] = {
    "straight": (0,),
    "twos": (0, 1),
    "threes": (0, 1, 2),
    "fours": (0, 1, 2, 3),
    "skips": (0, 2),
    "turns": (0, 1, 0, 1, 2),
    "there-and-back": (0, 1, 2, 1),
}
"""Steps along the path, from each of its tones in turn: 12 23, 123 234, 1234 2345, 13 24 …"""

TOP = 12
"""The upper Sa."""
SHORTEST_PIECE = 3
"""The fewest notes of a piece of a path."""
LONGEST_PIECE = 5
"""The most notes of a piece where the mode names no tones to rest on."""
HELD = 3
"""The beats of a long tone, before a beat of rest."""
MOST_ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Drill:
    """A row of beats that begins on a first beat, and Sa on the first beat after it.

    Each of the ``beats`` is a group of pitches, () for a beat that holds what sounds, None for a
    beat of rest.
    """

    name: str
    beats: tuple[tuple[int, ...] | None, ...]

    @property
    def breaths(self) -> tuple[tuple[int, ...], ...]:
        """Its pitches breath by breath, the landing on Sa the last of them."""
        breaths: list[list[int]] = [[]]
        for beat in self.beats:
            if beat is None:
                breaths.append([])
            else:
                breaths[-1] += beat
        breaths[-1].append(0)
        return tuple(tuple(breath) for breath in breaths if breath)


def drills(mode: Mode, beats: Fraction) -> list[Drill]:
    """Return every drill of a mode over a cycle of so many beats that is clean in the mode."""
    found = [*_over_paths(mode, beats), *_in_pieces(mode, beats), *_phrases(mode, beats)]
    clean = [drill for drill in found if _is_clean(mode, drill)]
    return [*clean, *_long_tones(mode, beats, clean)]


def _is_clean(mode: Mode, drill: Drill) -> bool:
    """Return whether nothing in a drill is at fault, skips a turn or turns on a tone left out."""
    return not any(
        next(judge_breath(mode, breath), None) or next(turns(mode, breath), None)
        for breath in drill.breaths
    )


def _over_paths(mode: Mode, beats: Fraction) -> Iterator[Drill]:
    """Yield each pattern up and down: a group to the beat, the upper Sa held between."""
    up, down = _from_sa(mode.ascent), _to_sa(mode.descent)
    for name, steps in PATTERNS.items():
        rise, fall = _groups(up, steps), _groups(down, steps)
        # A descent that begins above the upper Sa begins in a new breath.
        breath = [None] if fall and fall[0][0] != TOP else []
        held = _filling(len(rise) + len(fall) + 1 + len(breath), beats)
        # Thirds over a turn would lose the turn that a winding mode is known by.
        winding = name == "skips" and not (_goes_straight(up) and _goes_straight(down))
        if rise and fall and held is not None and not winding:
            yield Drill(name, (*rise, (TOP,), *[()] * held, *breath, *fall))


def _in_pieces(mode: Mode, beats: Fraction) -> Iterator[Drill]:
    """Yield the two paths in pieces, a note to the beat and a rest after each."""
    up, down = _from_sa(mode.ascent), _to_sa(mode.descent)
    pieces = [*_pieces(mode, up), *_pieces(mode, down)]
    yield from _in_breaths("pieces", pieces, beats)


def _phrases(mode: Mode, beats: Fraction) -> Iterator[Drill]:
    """Yield the mode's own phrases, a note to the beat and a rest after each."""
    resting = tones_to_end_on(mode)
    own = [phrase for phrase in mode.phrases if not resting or phrase[-1] % 12 in resting]
    yield from _in_breaths("phrases", own, beats)


def _in_breaths(name: str, breaths: Sequence[tuple[int, ...]], beats: Fraction) -> Iterator[Drill]:
    """Yield a drill of such breaths; their last notes are held so that it lands."""
    if not breaths:
        return
    held = _filling(sum(len(breath) + 1 for breath in breaths), beats)
    if held is None:
        return
    row: list[tuple[int, ...] | None] = []
    for number, breath in enumerate(breaths):
        share = held // len(breaths) + (number < held % len(breaths))
        row += [*((pitch,) for pitch in breath), *[()] * share, None]
    yield Drill(name, tuple(row))


def _long_tones(mode: Mode, beats: Fraction, others: Sequence[Drill]) -> Iterator[Drill]:
    """Yield long tones: Sa, then the chief tones in turn, often enough that with the ``others`` the
    chief tones sound for their share."""
    resting = tones_to_end_on(mode)
    chief = [tone for tone in chief_tones(mode) if not resting or tone in resting]
    if not chief:
        return
    all_time = sum(_time(drill, range(12)) for drill in others)
    chief_time = sum(_time(drill, chief_tones(mode)) for drill in others)
    for rounds in range(1, MOST_ROUNDS + 1):
        tones = [0, *chief * rounds]
        held = _filling(len(tones) * (HELD + 1), beats)
        if held is None:
            return
        row: list[tuple[int, ...] | None] = []
        for number, tone in enumerate(tones):
            share = held // len(tones) + (number < held % len(tones))
            row += [(tone,), *[()] * (HELD - 1 + share), None]
        made = Drill("long-tones", tuple(row))
        share_of_chief = Fraction(
            chief_time + _time(made, chief_tones(mode)), all_time + _time(made, range(12))
        )
        if share_of_chief >= even_share(mode) or rounds == MOST_ROUNDS:
            yield made
            return


def _time(drill: Drill, tones: Sequence[int]) -> Fraction:
    """Return the beats that some tones have in a drill, the landing one of Sa."""
    wanted = set(tones)
    total = Fraction(int(0 in wanted))
    sounding: int | None = None
    for beat in drill.beats:
        if beat is None:
            sounding = None
        elif not beat:
            total += sounding is not None and sounding % 12 in wanted
        else:
            sounding = beat[-1]
            total += Fraction(sum(pitch % 12 in wanted for pitch in beat), len(beat))
    return total


def _goes_straight(path: Sequence[int]) -> bool:
    """Return whether a path only rises or only falls."""
    return list(path) in (sorted(set(path)), sorted(set(path), reverse=True))


def _filling(length: int, beats: Fraction) -> int | None:
    """Return the fewest beats that fill so many up to whole cycles; None where none do."""
    # A cycle may be in quarters of a beat.
    return next((more for more in range(int(4 * beats) + 1) if (length + more) % beats == 0), None)


def _pieces(mode: Mode, path: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Yield a path in pieces, each from the last tone of the one before; a piece ends on a tone
    that the mode rests on."""
    resting = tones_to_end_on(mode)
    start = 0
    for at in range(1, len(path)):
        long_enough = at - start + 1 >= SHORTEST_PIECE
        ends = path[at] % 12 in resting if resting else at - start + 1 >= LONGEST_PIECE
        if (long_enough and ends) or at == len(path) - 1:
            yield path[start : at + 1]
            start = at


def _from_sa(ascent: tuple[int, ...]) -> tuple[int, ...]:
    """The ascent up to the upper Sa; a path that begins below Sa begins there."""
    return ascent[: ascent.index(12) + 1] if 12 in ascent else ascent


def _to_sa(descent: tuple[int, ...]) -> tuple[int, ...]:
    """The descent from the upper Sa down to Sa."""
    first = descent.index(12) if 12 in descent else 0
    last = len(descent) - descent[::-1].index(0) if 0 in descent else len(descent)
    return descent[first:last]


def _groups(path: tuple[int, ...], steps: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """The pattern from each tone of a path from which it stays on the path; the last tone of a
    path said straight is left to what follows."""
    reach = max(max(steps), 1)
    return tuple(tuple(path[at + step] for step in steps) for at in range(len(path) - reach))
