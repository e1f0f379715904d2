"""What a player reads in a passage without meter: its line, what lands in it, slashes, a rest.

Its seconds are said in words; on paper it is as long as its line, or ``FREE_BEATS``.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.bars import Passage
from cyclechart.arrange.part_notes import NOWHERE, Written, from_note
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_places import Knot, free_knots
from cyclechart.arrange.sheet.brackets import Span, spans_of
from cyclechart.arrange.sheet.measures import Measure, free_measures
from cyclechart.piece.model import Line
from cyclechart.piece.player import Player

FREE_BEATS = Fraction(4)
"""What a free passage without a line is written as."""


class FreeLayout(NamedTuple):
    """Notes, measures, brackets and places of the bars of a passage; times in beats on paper from
    its start."""

    notes: tuple[Written, ...]
    measures: tuple[Measure, ...]
    spans: tuple[Span, ...]
    places: tuple[tuple[Fraction, tuple[Knot, ...]], ...]
    """Of each bar where it begins, and its knots."""


def free_layout(
    band: Band, player: Player, passage: Passage, first: int, together: bool
) -> FreeLayout:
    """A free passage as a player reads it; ``first`` is the index of its first bar among all bars.

    In a score (``together``) its measures are the same for everybody.
    """
    step = band.piece.steps[passage.step]
    line = band.piece.lines.get(step.uses[0]) if step.uses else None
    times = len(passage.bars)
    if line is not None and player in band.piece.players_of(step, line.name):
        notes = tuple(from_note(note, note.start, note.length) for note in line.notes)
        once = free_measures(line)
        knots = [free_knots((), once[-1].end, bar.length) for bar in passage.bars]
        places = tuple((Fraction(0), one) for one in knots)
        return FreeLayout(notes, _repeated(once, times), spans_of(line), places)
    measures = _measures(band, line, first, together)
    length = measures[-1].end
    begun = [_begun(band, player, at) for at in range(first, first + times)]
    knots = [
        free_knots(starts, length, bar.length)
        for starts, bar in zip(begun, passage.bars, strict=True)
    ]
    lands = [_landing(band, player, at, length) for at in range(first, first + times)]
    alike = all(one == lands[0] for one in lands)
    if together:
        everybody = (one.name for one in band.piece.players)
        alike = all(_same(band, name, first, times) for name in everybody)
    if alike:
        places = tuple((Fraction(0), one) for one in knots)
        return FreeLayout(lands[0], _repeated(measures, times), (), places)
    later = tuple(replace(m, start=m.start + length) for m in measures)
    after = tuple(replace(note, start=note.start + length) for note in lands[1])
    places = tuple((length if at else Fraction(0), one) for at, one in enumerate(knots))
    return FreeLayout((*lands[0], *after), (*measures, *_repeated(later, times - 1)), (), places)


def _begun(band: Band, player: Player, at: int) -> list[Fraction]:
    """Where in a bar something of a player's begins."""
    held = band.fragments[player.name][at]
    return [one.note.start for one in held if not one.note.tied_in]


def _same(band: Band, player: str, first: int, times: int) -> bool:
    """Whether a player has the same notes in every one of so many bars."""
    held = [band.fragments[player][at] for at in range(first, first + times)]
    return all([f.look for f in one] == [f.look for f in held[0]] for one in held)


def _measures(band: Band, line: Line | None, first: int, together: bool) -> tuple[Measure, ...]:
    """The paper of one time through."""
    if line is not None and together:
        return free_measures(line)
    length = line.length if line is not None else FREE_BEATS
    begun = [f.note.start for held in band.fragments.values() for f in held[first]]
    length = max([length, *(Fraction(start // 1 + 1) for start in begun)])
    return (
        Measure(
            start=Fraction(0),
            length=length,
            cycle=0,
            beat=Fraction(1),
            sign="",
            opens=True,
            closes=True,
            whole=True,
        ),
    )


def _landing(band: Band, player: Player, at: int, length: Fraction) -> tuple[Written, ...]:
    """What begins in the bar, and slashes on the beats after it where the passage is his own."""
    held = [fragment.note for fragment in band.fragments[player.name][at]]
    notes = [
        replace(note, length=min(note.length, length - note.start), tied_out=False)
        for note in held
        if not note.tied_in
    ]
    content = band.contents[player.name]
    stretch = band.bars[at].stretch
    if stretch.soloist == player.name and content.staff == "pitched":
        if notes:
            last = notes[-1]
            beat = last.start // 1 + 1
            notes[-1] = replace(last, length=min(last.length, beat - last.start))
        begun = int(notes[-1].start) + 1 if notes else 0
        notes += [
            Written(Fraction(beat), Fraction(1), NOWHERE, syllable="/", head="slash", under=())
            for beat in range(begun, int(length))
        ]
    return tuple(notes)


def _repeated(measures: tuple[Measure, ...], times: int) -> tuple[Measure, ...]:
    if times == 1:
        return measures
    opened = (replace(measures[0], forward=True), *measures[1:])
    return (*opened[:-1], replace(opened[-1], times=times))
