"""The mode rules: what is judged is movement, not membership in a list of tones.

Mode grammars differ by teacher and lineage. These rules hold a line against the mode as it is
written in the piece, the band's folder or the catalogue; a player's own teacher goes before them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from functools import cached_property, lru_cache

from cyclechart.finding import Finding
from cyclechart.piece.lines import script_named
from cyclechart.piece.model import Line, Note, Piece
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.scripts import Script
from cyclechart.theory.grammar import Fault, Verdict, judge_breath, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, show_path, show_pitch, tone

MOST_SHOWN = 24
NEIGHBOURS = 2
"""A suggestion shows the changed notes up to so many notes from the one at fault, and on."""


@rule("error")
def foreign_tone(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A tone that is in neither the ascent, the descent nor any phrase of the mode.

    Grace notes are judged by this rule alone.

    wrong:  (charukeshi, jhaptal)  sargam: S R | G m P | d N | S' n d
    right:  (charukeshi, jhaptal)  sargam: S R | G m P | d n | S' n d
    """
    for line, breath, index in _faults(piece, "foreign-tone"):
        note = breath.notes[index]
        held = " ".join(SARGAM[semitone] for semitone in sorted(piece.mode.tones))
        message = f"{tone(_pitch(note))} is not in {piece.mode.name} ({held})"
        yield _found(piece, this, line, breath, index, message)
    for line in piece.lines.values():
        for note in line.notes:
            for grace in note.grace:
                if isinstance(grace, int) and grace % 12 not in piece.mode.tones:
                    yield this.found(
                        note.spot,
                        f"the grace note {tone(grace)} is not in {piece.mode.name}",
                        f"leave it out, or take {_nearest_tone(piece.mode, grace)}",
                        place=place_of(piece, line, note.start),
                        tone=tone(grace),
                    )


def _nearest_tone(mode: Mode, pitch: int) -> str:
    near = min(
        mode.tones, key=lambda semitone: min((semitone - pitch) % 12, (pitch - semitone) % 12)
    )
    return SARGAM[near]


@rule("error")
def left_out_going_up(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Going up, the line passes through a tone that the mode's ascent leaves out.

    Only a tone passed on the way counts: one that the line turns on is judged elsewhere, and a
    move that stands in one of the mode's phrases is the mode's own way.

    wrong:  (bhimpalasi, keherwa)  sargam: S R g m | P D n S'
    right:  (bhimpalasi, keherwa)  sargam: S g - m | P n - S'
    """
    yield from _passed(piece, this, "left-out-going-up", "going up", "ascent", piece.mode.ascent)


@rule("error")
def left_out_coming_down(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Coming down, the line passes through a tone that the mode's descent leaves out.

    wrong:  (khamaj, keherwa)  sargam: S G m P | S' N D P
    right:  (khamaj, keherwa)  sargam: S G m P | S' n D P
    """
    yield from _passed(
        piece, this, "left-out-coming-down", "coming down", "descent", piece.mode.descent
    )


def _passed(
    piece: Piece, this: Rule, fault: Fault, going: str, which: str, path: tuple[int, ...]
) -> Iterator[Finding]:
    for line, breath, index in _faults(piece, fault):
        pitches = breath.pitches
        here = pitches[index]
        before = next(pitches[i] for i in range(index - 1, -1, -1) if pitches[i] != here)
        after = next(pitches[i] for i in range(index, len(pitches)) if pitches[i] != here)
        message = (
            f"{going} from {show_pitch(before)} to {show_pitch(after)} the line passes "
            f"{tone(here)}, which the {which} of {piece.mode.name} leaves out "
            f"({show_path(path)})"
        )
        yield _found(piece, this, line, breath, index, message)


def _pitch(note: Note) -> int:
    assert note.pitch is not None
    return note.pitch


class _Breath:
    """A run of notes without a rest: its faults and the nearest legal one, worked out once."""

    def __init__(self, mode: Mode, notes: tuple[Note, ...]) -> None:
        self.mode = mode
        self.notes = notes
        self.pitches = tuple(_pitch(note) for note in notes)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        return tuple(judge_breath(self.mode, self.pitches))

    @cached_property
    def repaired(self) -> list[int] | None:
        return repair_breath(self.mode, self.pitches)

    @cached_property
    def changed(self) -> list[int]:
        """The indices of the notes that the nearest legal breath changes."""
        pairs = enumerate(zip(self.pitches, self.repaired or self.pitches, strict=True))
        return [i for i, (old, new) in pairs if old != new]


@lru_cache(maxsize=256)
def _breaths(mode: Mode, line: Line) -> tuple[_Breath, ...]:
    return tuple(_Breath(mode, notes) for notes in line.breaths)


def _faults(piece: Piece, fault: Fault) -> Iterator[tuple[Line, _Breath, int]]:
    """Every note at fault by one rule: its line, its breath, its index in that breath."""
    for line in piece.lines.values():
        if line.kind == "melody":
            for breath in _breaths(piece.mode, line):
                for verdict in breath.verdicts:
                    if verdict.fault == fault:
                        yield line, breath, verdict.index


def _found(
    piece: Piece, this: Rule, line: Line, breath: _Breath, index: int, message: str
) -> Finding:
    note = breath.notes[index]
    return this.found(
        note.spot,
        message,
        *_nearest_legal(piece, line, breath, index),
        place=place_of(piece, line, note.start),
        tone=tone(_pitch(note)),
    )


def _nearest_legal(piece: Piece, line: Line, breath: _Breath, index: int) -> list[str]:
    """The changed cells of the nearest legal line, around one note at fault."""
    if breath.repaired is None or not breath.changed:
        return []
    cells: dict[tuple[int, int], tuple[str, str]] = {}
    for i in _around(breath.changed, index):
        note = breath.notes[i]
        if _cell_of(note) not in cells:
            new = _rewritten(script_named(note.script, piece.tonic), breath, i)
            cells[_cell_of(note)] = (note.cell, new)
    return ["write " + ", ".join(f"{new} for {old}" for old, new in cells.values())]


def _around(changed: list[int], index: int) -> list[int]:
    """The changes that belong to a fault: those a few notes away, and all that join on to them."""
    first = bisect_left(changed, index - NEIGHBOURS)
    last = bisect_right(changed, index + NEIGHBOURS)
    if first == last:  # none near: the one nearest
        nearest = min(max(first - 1, 0), len(changed) - 1)
        return changed[nearest : nearest + 1]
    while first and changed[first - 1] == changed[first] - 1:
        first -= 1
    while last < len(changed) and changed[last] == changed[last - 1] + 1:
        last += 1
    return changed[first : min(last, first + MOST_SHOWN)]


def _mates(notes: tuple[Note, ...], index: int) -> range:
    """The notes that stand in one cell with a note."""
    cell = _cell_of(notes[index])
    first = last = index
    while first and _cell_of(notes[first - 1]) == cell:
        first -= 1
    while last + 1 < len(notes) and _cell_of(notes[last + 1]) == cell:
        last += 1
    return range(first, last + 1)


def _cell_of(note: Note) -> tuple[int, int]:
    """The place of a note's cell in the file."""
    return (note.spot.line, note.spot.column - note.within[0])


def _rewritten(script: Script, breath: _Breath, index: int) -> str:
    """The text of a note's cell with its notes as the nearest legal breath has them."""
    assert breath.repaired is not None
    text = breath.notes[index].cell
    for i in reversed(_mates(breath.notes, index)):
        start, end = breath.notes[i].within
        element = text[start:end]
        glide = "~" if element.endswith("~") else ""
        body = element.removesuffix("~")
        head = max(body.rfind("}"), body.rfind("!"), 0 if body.startswith("~") else -1) + 1
        new = script.write(breath.repaired[i])
        text = text[:start] + body[:head] + new + glide + text[end:]
    return text
