"""Chord symbols as MusicXML harmony: root, kind, bass, and the degrees by which they differ."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from cyclechart.theory.chord_qualities import MAJOR, Degree
from cyclechart.theory.chord_symbols import ChordSymbol, shown_suffix
from cyclechart.theory.spelling import Spelled, Tonic
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub

AIR = "\u00a0\u00a0"
"""The space behind a symbol in a picture: the page's letters are wider than the engraver's."""

KINDS: dict[str, tuple[Degree, ...]] = {
    "major": ((1, 0), (3, 4), (5, 7)),
    "minor": ((1, 0), (3, 3), (5, 7)),
    "augmented": ((1, 0), (3, 4), (5, 8)),
    "diminished": ((1, 0), (3, 3), (5, 6)),
    "dominant": ((1, 0), (3, 4), (5, 7), (7, 10)),
    "major-seventh": ((1, 0), (3, 4), (5, 7), (7, 11)),
    "minor-seventh": ((1, 0), (3, 3), (5, 7), (7, 10)),
    "diminished-seventh": ((1, 0), (3, 3), (5, 6), (7, 9)),
    "augmented-seventh": ((1, 0), (3, 4), (5, 8), (7, 10)),
    "half-diminished": ((1, 0), (3, 3), (5, 6), (7, 10)),
    "major-minor": ((1, 0), (3, 3), (5, 7), (7, 11)),
    "major-sixth": ((1, 0), (3, 4), (5, 7), (6, 9)),
    "minor-sixth": ((1, 0), (3, 3), (5, 7), (6, 9)),
    "dominant-ninth": ((1, 0), (3, 4), (5, 7), (7, 10), (9, 14)),
    "major-ninth": ((1, 0), (3, 4), (5, 7), (7, 11), (9, 14)),
    "minor-ninth": ((1, 0), (3, 3), (5, 7), (7, 10), (9, 14)),
    "dominant-11th": ((1, 0), (3, 4), (5, 7), (7, 10), (9, 14), (11, 17)),
    "major-11th": ((1, 0), (3, 4), (5, 7), (7, 11), (9, 14), (11, 17)),
    "minor-11th": ((1, 0), (3, 3), (5, 7), (7, 10), (9, 14), (11, 17)),
    "dominant-13th": ((1, 0), (3, 4), (5, 7), (7, 10), (9, 14), (11, 17), (13, 21)),
    "major-13th": ((1, 0), (3, 4), (5, 7), (7, 11), (9, 14), (11, 17), (13, 21)),
    "minor-13th": ((1, 0), (3, 3), (5, 7), (7, 10), (9, 14), (11, 17), (13, 21)),
    "suspended-second": ((1, 0), (2, 2), (5, 7)),
    "suspended-fourth": ((1, 0), (4, 5), (5, 7)),
    "power": ((1, 0), (5, 7)),
}
"""The kinds of chords of MusicXML 4.0 that are used here, with the tones that each has."""


class DegreeChange(NamedTuple):
    """A degree by which a chord differs from its kind: ``add``, ``alter`` or ``subtract``.

    ``alter``: semitones from the degree of the kind, or if it is added from that of a dominant
    chord, as MusicXML counts them.
    """

    value: int
    alter: int
    type: str


def kind_of(degrees: Sequence[Degree]) -> tuple[str, tuple[DegreeChange, ...]]:
    """Return the kind of a chord of these tones, and how they differ from it: the kind with the
    fewest differences, of equals the one of most tones."""
    changes = {kind: tuple(_changes(tones, degrees)) for kind, tones in KINDS.items()}
    kind = min(KINDS, key=lambda one: (_weight(changes[one]), -len(KINDS[one])))
    return kind, changes[kind]


_WEIGHTS = {"add": 2, "alter": 3, "subtract": 4}
ADDED_SEVENTH = 20


def _weight(changes: Sequence[DegreeChange]) -> int:
    """Return how far a chord is from a kind; what is added is read most easily, but for a seventh,
    which programs count from a major chord or from a dominant one."""
    return sum(
        ADDED_SEVENTH if change[::2] == (7, "add") else _WEIGHTS[change.type] for change in changes
    )


def _changes(kind: Sequence[Degree], degrees: Sequence[Degree]) -> Iterator[DegreeChange]:
    """Yield the changes that make the tones of a kind those of a chord."""
    missing = [tone for tone in kind if tone not in degrees]
    for number, tone in degrees:
        if (number, tone) in kind:
            continue
        own = next((old for old in missing if old[0] == number), None)
        if own is not None:
            missing.remove(own)
            yield DegreeChange(number, tone - own[1], "alter")
        else:
            # A dominant chord has a minor seventh.
            usual = 10 if number == 7 else MAJOR[number]
            yield DegreeChange(number, tone - usual, "add")
    yield from (DegreeChange(number, 0, "subtract") for number, _ in missing)


def add_chord_symbol(
    measure: Element,
    symbol: ChordSymbol,
    tonic: Tonic,
    *,
    staff: int = 0,
    offset: int = 0,
    engraved: bool = False,
) -> None:
    """Add a chord symbol over the next note, in the letters of a reader whose Sa is ``tonic``.

    ``staff``: the number of its staff, 0 for the only one; ``offset``: the ticks from the next note
    to where it stands; ``engraved``: it is for a picture, where
    degrees would be drawn beside the text of the kind, which says them already, and all of it is
    one text that keeps the next symbol away.
    """
    harmony = _sub(measure, "harmony", placement="above")
    _add_tone(_sub(harmony, "root"), "root", symbol.spelled_root(tonic))
    kind, changes = kind_of(symbol.degrees)
    bass = symbol.spelled_bass(tonic)
    text = shown_suffix(symbol.suffix)
    if engraved:
        text += (f"/{bass}" if bass is not None else "") + AIR
    _sub(harmony, "kind", text=text).text = kind
    if bass is not None and not engraved:
        _add_tone(_sub(harmony, "bass"), "bass", bass)
    for change in () if engraved else changes:
        degree = _sub(harmony, "degree", {"print-object": "no"})
        _sub(degree, "degree-value").text = str(change.value)
        _sub(degree, "degree-alter").text = str(change.alter)
        _sub(degree, "degree-type").text = change.type
    if offset:
        _sub(harmony, "offset").text = str(offset)
    if staff:
        _sub(harmony, "staff").text = str(staff)


def _add_tone(element: Element, name: str, tone: Spelled) -> None:
    _sub(element, f"{name}-step").text = tone.step
    if tone.alter:
        _sub(element, f"{name}-alter").text = str(tone.alter)
