"""Free passages in a part: the line, notes that begin in the passage, slashes or a rest.

The seconds are given in words; on paper a passage is as long as its line, or ``FREE_BEATS``.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.bars import Passage
from cyclechart.arrange.part_notes import NO_SPOT, PartNote, from_note, with_octaves
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_places import Knot, free_knots
from cyclechart.arrange.sheet.brackets import Bracket, line_brackets
from cyclechart.arrange.sheet.measures import Measure, free_measures
from cyclechart.arrange.timeline import FERMATA
from cyclechart.piece.hairpins_and_slurs import slurred_notes, with_hairpin_ends
from cyclechart.piece.line import Line
from cyclechart.piece.player import Player

FREE_BEATS = Fraction(4)
"""Beats on paper of a free passage without a line."""


class FreePassage(NamedTuple):
    """A free passage on paper: notes, measures, brackets and places of its bars; times in beats on
    paper from its start."""

    notes: tuple[PartNote, ...]
    measures: tuple[Measure, ...]
    brackets: tuple[Bracket, ...]
    places: tuple[tuple[Fraction, tuple[Knot, ...]], ...]
    """For each bar, its start and its knots."""


def free_passage(
    band: Band, player: Player, passage: Passage, first: int, together: bool
) -> FreePassage:
    """Return a free passage as a player reads it; ``first`` is the index of its first bar.

    In a score (``together``) its measures are the same for everybody.
    """
    step = band.piece.steps[passage.step]
    line = band.piece.lines.get(step.uses[0]) if step.uses else None
    times = len(passage.bars)
    if line is not None and player in band.piece.players_of(step, line.name):
        octaves = player.octave_in_notes + step.directions.octave_of(player.name)
        slurred = slurred_notes(line.notes)
        notes = tuple(
            from_note(note, note.start, note.length, slurred=index in slurred)
            for index, note in enumerate(with_hairpin_ends(line.notes))
        )
        notes = tuple(with_octaves(note, octaves) if octaves else note for note in notes)
        line_measures = free_measures(line)
        knots = [free_knots((), line_measures[-1].end, bar.length) for bar in passage.bars]
        places = tuple((Fraction(0), bar_knots) for bar_knots in knots)
        return FreePassage(notes, _with_repeat(line_measures, times), line_brackets(line), places)
    measures = _blank_measures(band, line, first, together)
    length = measures[-1].end
    note_starts = [_note_starts(band, player, at) for at in range(first, first + times)]
    knots = [
        free_knots(starts, length, bar.length)
        for starts, bar in zip(note_starts, passage.bars, strict=True)
    ]
    notes_by_bar = [_landing_notes(band, player, at, length) for at in range(first, first + times)]
    alike = all(bar_knots == notes_by_bar[0] for bar_knots in notes_by_bar)
    if together:
        everybody = (bar_knots.name for bar_knots in band.piece.players)
        alike = all(_same_in_every_bar(band, name, first, times) for name in everybody)
    if alike:
        places = tuple((Fraction(0), bar_knots) for bar_knots in knots)
        return FreePassage(notes_by_bar[0], _with_repeat(measures, times), (), places)
    later = tuple(replace(m, start=m.start + length) for m in measures)
    after = tuple(replace(note, start=note.start + length) for note in notes_by_bar[1])
    places = tuple((length if at else Fraction(0), bar_knots) for at, bar_knots in enumerate(knots))
    return FreePassage(
        (*notes_by_bar[0], *after), (*measures, *_with_repeat(later, times - 1)), (), places
    )


def _note_starts(band: Band, player: Player, at: int) -> list[Fraction]:
    """Return the starts of a player's notes in a bar, in beats from the bar's start."""
    fragments = band.fragments[player.name][at]
    return [fragment.note.start for fragment in fragments if not fragment.note.tied_in]


def _same_in_every_bar(band: Band, player: str, first: int, times: int) -> bool:
    """Return True if a player has the same notes in ``times`` bars from index ``first`` on."""
    bars = [band.fragments[player][at] for at in range(first, first + times)]
    return all([f.content_key for f in bar] == [f.content_key for f in bars[0]] for bar in bars)


def _blank_measures(
    band: Band, line: Line | None, first: int, together: bool
) -> tuple[Measure, ...]:
    """Return the measures for one time through a passage whose line the player does not read."""
    if line is not None and together:
        return free_measures(line)
    length = line.length if line is not None else FREE_BEATS
    starts = [f.note.start for bars in band.fragments.values() for f in bars[first]]
    length = max([length, *(Fraction(start // 1 + 1) for start in starts)])
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


def _landing_notes(band: Band, player: Player, at: int, length: Fraction) -> tuple[PartNote, ...]:
    """Return the notes that begin in a bar, followed by slashes for the passage's soloist."""
    fragments = [fragment.note for fragment in band.fragments[player.name][at]]
    stretch = band.bars[at].stretch
    notes = [
        replace(note, length=min(note.length, length - note.start), tied_out=False)
        for note in fragments
        if not note.tied_in or stretch.label == FERMATA
    ]
    content = band.contents[player.name]
    if stretch.label == FERMATA:
        return tuple(
            replace(note, length=length - note.start, marks=with_fermata(note.marks))
            for note in notes
        )
    if player.name in stretch.soloists and content.staff == "pitched":
        if notes:
            last = notes[-1]
            beat = last.start // 1 + 1
            notes[-1] = replace(last, length=min(last.length, beat - last.start))
        first_free_beat = int(notes[-1].start) + 1 if notes else 0
        notes += [
            PartNote(Fraction(beat), Fraction(1), NO_SPOT, syllable="/", head="slash", under=())
            for beat in range(first_free_beat, int(length))
        ]
    return tuple(notes)


def with_fermata(marks: tuple[str, ...]) -> tuple[str, ...]:
    """Return the marks of a note that is held."""
    return marks if "fermata" in marks else (*marks, "fermata")


def _with_repeat(measures: tuple[Measure, ...], times: int) -> tuple[Measure, ...]:
    if times == 1:
        return measures
    opened = (replace(measures[0], forward=True), *measures[1:])
    return (*opened[:-1], replace(opened[-1], times=times))
