"""Drum syllables: splitting of run-together ones, the sound of each hand, stand-in MIDI keys."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Literal, NamedTuple

import yaml

from cyclechart.text.scripts import Script, strokes_script

MAX_CUTS = 8


class DrumSound(NamedTuple):
    """The stroke of one hand: an open one rings, a closed one does not. ``key`` is a General MIDI
    percussion key (a stand-in: General MIDI has no tabla) of the instrument ``like``, ``velocity``
    its plain loudness."""

    name: str
    hand: Literal["treble", "bass"]
    ring: Literal["open", "closed"]
    key: int
    velocity: int
    says: str = ""
    like: str = ""


class SyllableGroup(NamedTuple):
    """Syllables of one kind: their description, the drums that they are for, and the source."""

    says: str
    drums: tuple[str, ...]
    source: str
    syllables: tuple[str, ...]


class Otherwise(NamedTuple):
    """Another sound of a syllable, right after one of ``follows`` in a quick run.

    After the syllables ``anew`` with their plain sounds, a new group begins with its plain sound.
    """

    follows: tuple[str, ...]
    anew: tuple[str, ...]
    sounds: tuple[DrumSound, ...]
    says: str
    source: str


class TimedSyllable(NamedTuple):
    """A syllable in time. ``quick``: written shorter than a whole beat."""

    start: Fraction
    end: Fraction
    syllable: str
    quick: bool


@dataclass(frozen=True)
class Strokes:
    """The syllables of the catalogue, each with one sound or one for each hand.

    ``after``: the syllables that sound otherwise right after some others.
    """

    syllables: dict[str, tuple[DrumSound, ...]]
    groups: tuple[SyllableGroup, ...] = ()
    after: dict[str, Otherwise] = field(default_factory=dict)

    def cut(self, run: str) -> list[tuple[str, ...]]:
        """Every way (at most ``MAX_CUTS``) of cutting a run of letters into syllables."""
        ways: list[list[tuple[str, ...]]] = [[] for _ in range(len(run) + 1)]
        ways[0].append(())
        longest = max(map(len, self.syllables))
        for end in range(1, len(run) + 1):
            for start in range(max(0, end - longest), end):
                syllable = run[start:end]
                if ways[start] and syllable in self.syllables:
                    ways[end].extend((*way, syllable) for way in ways[start])
                    del ways[end][MAX_CUTS:]
        return ways[len(run)]

    def script(self) -> Script:
        """The script that drum lines are written in."""
        return strokes_script(self.cut, tuple(self.syllables))

    def group(self, syllable: str) -> SyllableGroup | None:
        """The group that a syllable stands in."""
        return next((group for group in self.groups if syllable in group.syllables), None)

    def sounding(self, said: Iterable[TimedSyllable]) -> list[tuple[DrumSound, ...]]:
        """Return the sounds of each syllable in its place; ``said`` is in the order of time."""
        found = []
        run: list[tuple[str, bool]] = []  # the quick run so far; whether each sounds otherwise
        before: TimedSyllable | None = None
        for one in said:
            joins = before is not None and before.end == one.start and before.quick and one.quick
            run = run if joins else []
            other = self.after.get(one.syllable)
            otherwise = other is not None and _applies(other, run)
            found.append(other.sounds if other and otherwise else self.syllables[one.syllable])
            run.append((one.syllable, otherwise))
            before = one
        return found

    def open_bass(self, syllable: str) -> bool:
        """Return whether the bass rings in a syllable."""
        return any(s.hand == "bass" and s.ring == "open" for s in self.syllables[syllable])


def _applies(other: Otherwise, run: list[tuple[str, bool]]) -> bool:
    """Return whether what was said before makes a syllable sound otherwise."""
    if not run or run[-1][0] not in other.follows:
        return False
    as_ever = [(syllable, False) for syllable in other.anew]
    return not as_ever or run[-len(as_ever) :] != as_ever


def _borrowers(drums: list[str], also_on: dict[str, list[str]]) -> Iterator[str]:
    """Yield the drums that play the syllables of any of these."""
    for drum, others in also_on.items():
        if drum not in drums and not set(others).isdisjoint(drums):
            yield drum


@lru_cache(maxsize=1)
def strokes() -> Strokes:
    """The catalogue's strokes."""
    text = (Path(__file__).parent / "strokes.yaml").read_text("utf-8")
    data = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    sounds = {name: DrumSound(name, **row) for name, row in data["sounds"].items()}
    return Strokes(
        {
            syllable: tuple(sounds[name] for name in names)
            for group in data["groups"]
            for syllable, names in group["syllables"].items()
        },
        tuple(
            SyllableGroup(
                row["says"],
                (*row["drums"], *_borrowers(row["drums"], data["also_on"])),
                row["source"],
                tuple(row["syllables"]),
            )
            for row in data["groups"]
        ),
        {
            syllable: Otherwise(
                tuple(row["follows"]),
                tuple(row["anew"]),
                tuple(sounds[name] for name in row["sounds"]),
                row["says"],
                row["source"],
            )
            for syllable, row in data["after"].items()
        },
    )
