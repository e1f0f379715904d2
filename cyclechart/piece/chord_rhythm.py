"""The rhythm in which a line of chords is struck: as written, or that of another line."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.note import Note
from cyclechart.text import reading_rules
from cyclechart.text.nodes import Scalar
from cyclechart.theory.cycle import Cycle

OWN, WRITTEN = "own", "written"
"""The rhythms that a line of chords may say: its players' own, or that of its text."""


def rhythm_of(line: Line, value: Scalar, lines: Iterable[str]) -> tuple[str, list[Finding]]:
    """Return the rhythm that a line says: its players' own, as written, or the name of one of the
    ``lines``."""
    name = value.text.strip()
    if line.kind != "chords":
        what = "only a line of chords has a rhythm beside its text"
        return OWN, [reading_rules.wrong_value(value.spot, what, ["leave 'rhythm' out"])]
    known = [OWN, WRITTEN, *lines]
    if name not in known:
        return OWN, [reading_rules.unknown_name(value.spot, "rhythm or line", name, known)]
    return name, []


def struck_in_rhythm(
    chords: Line, rhythm: Line, cycle: Cycle | None, most: int
) -> tuple[Note, ...] | None:
    """Return the chords of a line as they are struck in the rhythm of another, which goes round as
    long as the chords last; None where there are more than ``most``.

    A strike that is held ends where its chord ends. Bodies begin together; without a cycle the
    beginnings of the lines do.
    """
    starts = [note.start for note in chords.notes]
    struck: list[Note] = []
    for start, length in _strikes(chords, rhythm, cycle):
        at = bisect_right(starts, start) - 1
        if at < 0 or chords.notes[at].end <= start:
            continue
        chord = chords.notes[at]
        marks = chord.marks if not struck or struck[-1].spot != chord.spot else ()
        struck.append(
            replace(chord, start=start, length=min(length, chord.end - start), marks=marks)
        )
        if len(struck) > most:
            return None
    return tuple(struck)


def struck_end_to_end(links: Sequence[Line]) -> tuple[Note, ...] | None:
    """Return the chords of a chain in the rhythms of its links; None, for the players' own, where a
    link has none of its own."""
    struck: list[Note] = []
    at = Fraction(0)
    for link in links:
        if link.struck is None:
            return None
        struck += [replace(note, start=at + note.start) for note in link.struck]
        at += link.length
    return tuple(struck)


def _strikes(
    chords: Line, rhythm: Line, cycle: Cycle | None
) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield the start (beats of the chords) and length of each stroke of a rhythm that goes round,
    none longer than to the next."""
    notes = rhythm.notes
    if cycle is None:
        period, shift = rhythm.length, Fraction(0)
    else:
        offset = rhythm.standing(cycle).offset
        beats = cycle.beats
        period = max(1, -((-rhythm.length - offset) // beats)) * beats
        shift = offset - chords.standing(cycle).offset
    # A pickup sounds over the end of the round before; what comes home after it begins the next.
    places = {(note.start + shift) % period: note.length for note in notes}
    if not places:
        return
    order = sorted(places)
    first = -period
    while first < chords.length:
        for number, place in enumerate(order):
            start = first + place
            after = order[number + 1] if number + 1 < len(order) else order[0] + period
            if 0 <= start < chords.length:
                yield start, min(places[place], after - place)
        first += period
