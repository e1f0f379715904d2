"""Practice patterns (palta, alankar) bent to a mode's own ascent and descent.

A pattern is told as in 123 234 345: steps counted along the path, not along the scale, so that the
tones a mode leaves out and its turns stay its own. Patterns are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import chain

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.mode import Mode

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


@dataclass(frozen=True, slots=True)
class Drill:
    """A pattern up and down: a group to the beat, Sa above held between, the last Sa a landing.

    ``rise`` and ``fall`` are groups of pitches; ``held`` the beats that the upper Sa is held.
    """

    name: str
    rise: tuple[tuple[int, ...], ...]
    fall: tuple[tuple[int, ...], ...]
    held: int


def drill(mode: Mode, name: str, beats: Fraction) -> Drill | None:
    """A pattern in a mode, over a cycle of so many beats: begun on the first beat it lands on one.

    None where the pattern goes against the mode's own movement, or the paths are too short for it;
    or where no number of whole beats makes it land.
    """
    steps = PATTERNS[name]
    up, down = _from_sa(mode.ascent), _to_sa(mode.descent)
    rise, fall = _groups(up, steps), _groups(down, steps)
    if not rise or not fall:
        return None
    played = [*chain(*rise), 12, *chain(*fall), 0]
    if any(True for _ in judge_breath(mode, played)):
        return None
    for held in range(1, int(4 * beats) + 1):  # a cycle may be in quarters of a beat
        if (len(rise) + held + len(fall)) % beats == 0:
            return Drill(name, rise, fall, held)
    return None


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
