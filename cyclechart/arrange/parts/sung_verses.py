"""Which verses stand under a bar: those of the times in which it is played.

A bar that is written once for all times has all verses under it. Where a time is written out, only
its own verse is sung there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.bar_fragments import Fragment
from cyclechart.arrange.parts.repeats import WrittenBar, bars_in_order
from cyclechart.arrange.timeline import Timeline

Bars = Sequence[tuple[Fragment, ...]]


def with_own_verses(bars: Bars, written: Sequence[WrittenBar], timeline: Timeline) -> Bars:
    """Return the notes of a passage's bars, those that are written for one time of the step with
    the verse of that time alone."""
    if not any(fragment.note.verses for bar in bars for fragment in bar):
        return bars
    turn_of = _turns(timeline)
    turns: dict[tuple[int, int], set[int]] = {}
    for at, shown in enumerate(bars_in_order(written)):
        for number, fragment in enumerate(bars[at]):
            turns.setdefault((shown, number), set()).add(turn_of(fragment.note))
    sung = {place: here for place, here in turns.items() if bars[place[0]][place[1]].note.verses}
    in_rows = any(len(here) > 1 for here in sung.values())
    result = list(bars)
    for shown in {at for at, _ in sung}:
        result[shown] = tuple(
            Fragment(_for_turn(fragment.note, turns[shown, number], timeline, in_rows))
            for number, fragment in enumerate(bars[shown])
        )
    return result


def _turns(timeline: Timeline) -> Callable[[PartNote], int]:
    """Return a function from a note to the time of its step that its line belongs to: a pickup
    belongs to the next one. 0 for a step that is played once."""

    def turn_of(note: PartNote) -> int:
        if note.origin[0] < 0:
            return 0
        stretch = timeline.at(timeline.placed_lines[note.origin[0]].body_start)
        return stretch.turn if stretch.step in repeated else 0

    repeated = {stretch.step for stretch in timeline.stretches if stretch.turn > 1}
    return turn_of


def _for_turn(note: PartNote, turns: set[int], timeline: Timeline, in_rows: bool) -> PartNote:
    """Return a note with the verse of its time alone; as it is, if it belongs to several or to one
    that has no verse of its own. ``in_rows``: the verse keeps its row under the notes."""
    words = (note.word, *note.verses)
    (turn, *others) = turns
    if others or not 0 < turn <= len(words) or not note.verses:
        return note
    if in_rows:
        rows = [word if row == turn else "" for row, word in enumerate(words, start=1)]
        return replace(note, word=rows[0], verses=tuple(rows[1:]))
    word = words[turn - 1]
    if word and note.origin[1] == _first_sung(note, turn, timeline):
        word = f"{turn}.\N{NO-BREAK SPACE}{word}"
    return replace(note, word=word, verses=())


def _first_sung(note: PartNote, turn: int, timeline: Timeline) -> int:
    """Return the number of the first note of a note's line that has a word in a verse."""
    notes = timeline.placed_lines[note.origin[0]].line.notes
    sung = (at for at, one in enumerate(notes) if (one.word, *one.verses)[turn - 1 : turn] != ("",))
    return next(sung, -1)
