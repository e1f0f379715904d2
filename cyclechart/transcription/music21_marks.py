"""What stands at the notes of a part that music21 read, by the names that our lines have for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, TypeAlias

from cyclechart.transcription.losses import Losses

Music: TypeAlias = Any

_MARKS = {
    "Accent": "accent", "StrongAccent": "accent", "Staccato": "staccato",
    "Staccatissimo": "staccato", "Tenuto": "tenuto", "DetachedLegato": "tenuto",
    "Trill": "trill", "HalfStepTrill": "trill", "WholeStepTrill": "trill", "Mordent": "mordent",
    "HalfStepMordent": "mordent", "WholeStepMordent": "mordent", "InvertedMordent": "mordent",
    "HalfStepInvertedMordent": "mordent", "WholeStepInvertedMordent": "mordent",
    "GeneralMordent": "mordent", "Fermata": "fermata",
}  # fmt: skip
_DYNAMICS = {
    "ppppp": "pp", "pppp": "pp", "ppp": "pp", "pp": "pp", "p": "p", "mp": "mp", "mf": "mf",
    "f": "f", "ff": "ff", "fff": "ff", "ffff": "ff", "fffff": "ff",
}  # fmt: skip
_HAIRPINS = {"Crescendo": "cresc", "Diminuendo": "dim"}
_SAID_ELSEWHERE = {"TextExpression", "RehearsalMark", "TremoloSpanner"}


def marks_of(note: Music, where: str, losses: Losses) -> tuple[str, ...]:
    """Return the decorations of a note, each once; others are losses."""
    found: dict[str, None] = {}
    for one in (*note.articulations, *note.expressions):
        kind = type(one).__name__
        if kind in _MARKS:
            found[_MARKS[kind]] = None
        elif kind not in _SAID_ELSEWHERE:
            losses.add(f"{_spaced(kind)} signs are left out", where)
    return tuple(found)


def _spaced(kind: str) -> str:
    """Return the name of a class as words: UpBow is up bow."""
    return "".join(f" {sign.lower()}" if sign.isupper() else sign for sign in kind).strip()


def dynamics_of(part: Music, losses: Losses) -> list[tuple[Fraction, str]]:
    """Return the dynamics of a part with their times, in order."""
    found = []
    for one in part.recurse().getElementsByClass("Dynamic"):
        name = _DYNAMICS.get(str(one.value))
        if name is None:
            losses.add(f"the dynamic {str(one.value)[:8]} is left out")
            continue
        if str(one.value) != name:
            losses.add(f"{one.value} is written {name}")
        found.append((Fraction(one.getOffsetInHierarchy(part)), name))
    return sorted(found)


def slurs_of(part: Music, places: Mapping[int, int]) -> Iterator[tuple[int, int]]:
    """Yield the slurs of a voice: the places of their first and last notes."""
    for slur in part.recurse().getElementsByClass("Slur"):
        first, last = slur.getFirst(), slur.getLast()
        if id(first) in places and id(last) in places:
            yield places[id(first)], places[id(last)]


def glides_of(part: Music, places: Mapping[int, int]) -> Iterator[int]:
    """Yield the places of the notes of a voice that glide into the next."""
    for glide in part.recurse().getElementsByClass("Glissando"):
        first, last = places.get(id(glide.getFirst())), places.get(id(glide.getLast()))
        if first is not None and last == first + 1:
            yield first


def hairpins_of(part: Music, places: Mapping[int, int]) -> Iterator[tuple[int, str]]:
    """Yield the places of the notes of a voice at which a hairpin begins, with its name."""
    for kind, name in _HAIRPINS.items():
        for hairpin in part.recurse().getElementsByClass(kind):
            first = places.get(id(hairpin.getFirst()))
            if first is not None:
                yield first, name
