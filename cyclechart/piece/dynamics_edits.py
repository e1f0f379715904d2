"""Dynamics and hairpins of notes that are turned round, or cut out of a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cyclechart.piece.hairpins_and_slurs import Hairpin, hairpins_of
from cyclechart.piece.note import Note
from cyclechart.text.line_tree import DYNAMICS, HAIRPINS

PLAIN = "mf"
"""The dynamic of notes that have none, written where it would be that of the notes before."""

_OPPOSITE = {"cresc": "dim", "dim": "cresc"}


@dataclass(frozen=True, slots=True)
class _Dynamics:
    """The dynamics of a row of notes.

    ``levels``: of each note; "" for none yet, None where a hairpin is on its way. ``runs``: the
    number of the run of notes at one level that each is in. ``hairpins``: the notes that each
    begins with and leads to, and its kind.
    """

    levels: list[str | None]
    runs: list[int]
    hairpins: list[tuple[int, int, str]]

    @classmethod
    def of(cls, notes: Sequence[Note]) -> _Dynamics:
        """Return the dynamics of a row of notes.

        A hairpin leads to the dynamic or the hairpin that ends it, or to the last note; where no
        dynamic says how far, or one on the wrong side, by one step.
        """
        signs = {one.first: one for one in hairpins_of(notes)}
        levels: list[str | None] = []
        runs: list[int] = []
        goals: dict[int, str] = {}
        hairpins: list[tuple[int, int, str]] = []
        level: str | None = ""
        for index, note in enumerate(notes):
            own = _level_of(note) or goals.get(index, "")
            level = own or level
            levels.append(level)
            runs.append((runs[-1] if runs else 0) + bool(own))
            if index in signs:
                hairpin = signs[index]
                goal, there = _goal(hairpin, level or PLAIN, len(notes))
                if goal > index:
                    hairpins.append((index, goal, hairpin.kind))
                    goals[goal] = there
                    level = None
        return cls(levels, runs, hairpins)


def _goal(hairpin: Hairpin, level: str, count: int) -> tuple[int, str]:
    """Return the note that a hairpin leads to from a level, and the level that it has there."""
    louder = hairpin.kind == "cresc"
    at = DYNAMICS.index(level)
    if hairpin.to:
        to = DYNAMICS.index(hairpin.to)
        if to != at and (to > at) == louder:
            return hairpin.last + 1, hairpin.to
    step = DYNAMICS[min(max(at + (1 if louder else -1), 0), len(DYNAMICS) - 1)]
    return (hairpin.last if hairpin.to else min(hairpin.last + 1, count - 1)), step


def with_dynamics_turned(notes: Sequence[Note]) -> list[Note]:
    """Return notes, in their order, with the signs that they need where they are played from the
    last to the first: each is as loud as it was, and what grew louder grows softer."""
    if not any(_level_of(note) or _has_hairpin(note) for note in notes):
        return list(notes)
    known = _Dynamics.of(notes)
    kinds = {goal: _OPPOSITE[kind] for _, goal, kind in known.hairpins}
    turned: list[Note] = []
    run, signs = -1, False
    for index in range(len(notes) - 1, -1, -1):
        level = known.levels[index]
        marks: tuple[str, ...] = ()
        if level is None:
            run = -1
        elif run != known.runs[index]:
            run = known.runs[index]
            # What is under no sign at the beginning needs one where it comes after others.
            own = level or (PLAIN if signs else "")
            marks = (own,) if own else ()
        marks += (kinds[index],) if index in kinds else ()
        signs = signs or bool(marks)
        turned.append(replace(notes[index], marks=(*marks, *_others(notes[index]))))
    return turned[::-1]


def cut_out(notes: Sequence[Note], first: int, until: int) -> list[Note]:
    """Return some of the notes, with the dynamic or the hairpin that is under way where they
    begin, and without a hairpin that would begin on the last of them."""
    kept = list(notes[first:until])
    if not kept:
        return kept
    if first and not _level_of(kept[0]):
        known = _Dynamics.of(notes)
        level = known.levels[first]
        over = (kind for begin, goal, kind in known.hairpins if begin < first < goal)
        if level is None:
            kept[0] = _with_mark(kept[0], next(over))
        elif level:
            kept[0] = _with_mark(kept[0], level)
    if until < len(notes) and _has_hairpin(kept[-1]):
        last = kept[-1]
        marks = tuple(mark for mark in last.marks if mark not in HAIRPINS)
        kept[-1] = replace(last, marks=marks)
    return kept


def _with_mark(note: Note, mark: str) -> Note:
    return replace(note, marks=(mark, *note.marks))


def _level_of(note: Note) -> str:
    return next((mark for mark in note.marks if mark in DYNAMICS), "")


def _has_hairpin(note: Note) -> bool:
    return any(mark in HAIRPINS for mark in note.marks)


def _others(note: Note) -> tuple[str, ...]:
    return tuple(mark for mark in note.marks if mark not in (*DYNAMICS, *HAIRPINS))
