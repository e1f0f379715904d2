"""Cuts in sections that are wider than a system, at places where the notes stay as they are."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.musicxml.measure_contents import (
    MeasureContent,
    measure_contents,
    ticks_per_beat,
)
from cyclechart.write.musicxml.note_ids import written_values


def struck_beats(strain: Strain, wide: Collection[int]) -> set[Fraction]:
    """Return the places in the ``wide`` measures (their indices) where a note or rest begins on a
    beat.

    No tie or tuplet crosses such a place, so that a cut leaves the notes spelled as they are. In a
    long rest there is one after every whole rest, but none in a tuplet that it is a part of.
    """
    beat = ticks_per_beat([strain])
    found = set()
    measures = zip(strain.measures, measure_contents(strain, beat), strict=True)
    for index, (measure, filled) in enumerate(measures):
        if index not in wide:
            continue
        tuplets = list(_tuplets(filled, beat))
        for (start, end), rest in zip(pairwise(filled.bounds), filled.rests, strict=True):
            line = start + (filled.lead - start) % beat
            cuts = range(line, end, 4 * beat) if rest else range(line, start + 1)
            found |= {
                measure.start + Fraction(at, beat)
                for at in cuts
                if at and not any(first < at < last for first, last in tuplets)
            }
    return found


def _tuplets(content: MeasureContent, beat: int) -> Iterator[tuple[int, int]]:
    """Yield from where to where each tuplet of a measure goes, in ticks."""
    start = 0
    for value, _ in written_values(content, beat):
        if value.opens:
            start = value.start
        if value.closes:
            yield start, value.start + value.length


def struck_within_beats(strain: Strain, wide: Collection[int]) -> set[Fraction]:
    """Return the places in the ``wide`` measures where a written note or rest begins that is tied
    to none before it and stands in no tuplet that goes on: what is left where beats are too
    full."""
    beat = ticks_per_beat([strain])
    found = set()
    for index, (measure, filled) in enumerate(
        zip(strain.measures, measure_contents(strain, beat), strict=True)
    ):
        inside = False
        if index not in wide or filled.rests == (True,):
            continue
        for piece, _ in written_values(filled, beat):
            if piece.start and not inside and not piece.from_tie:
                found.add(measure.start + Fraction(piece.start, beat))
            inside = (inside or piece.opens) and not piece.closes
    return found


def shared_places(
    places: Callable[[Strain, Collection[int]], set[Fraction]],
    strains: Sequence[Strain],
    wide: Collection[int],
) -> set[Fraction]:
    """Return the places where all the strains of a score can be cut in the ``wide`` measures, or
    where there are none those of the busiest: notes of the others are tied over a cut.

    ``places``: finds those of one strain.
    """
    playing = [strain for strain in strains if not strain.silent]
    shared: set[Fraction] = set()
    for measure in wide:
        found = [places(strain, {measure}) for strain in playing]
        shared |= set.intersection(*found) or max(found, key=len)
    return shared


def cut_at(strain: Strain, times: Collection[Fraction]) -> Strain:
    """Return the strain with its measures cut at these times."""
    cut = [piece for measure in strain.measures for piece in measure.cut(times)]
    return replace(strain, measures=tuple(cut))
