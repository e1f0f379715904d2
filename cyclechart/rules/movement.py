"""The mode rules: what is judged is movement, not membership in a list of tones.

Mode grammars differ by teacher and lineage. These rules hold a line against the mode as it is
written in the piece, the band's folder or the catalogue; a player's own teacher goes before them.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from cyclechart.finding import Finding
from cyclechart.piece.lines import script_named
from cyclechart.piece.model import Line, Note, Piece
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.grammar import Fault, judge_breath, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, show_path, show_pitch, tone

NEIGHBOURS = 2
"""A suggestion shows the changed notes up to so many notes from the one at fault."""


@rule("error")
def foreign_tone(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A tone that is in neither the ascent, the descent nor any phrase of the mode.

    Grace notes are judged by this rule alone.

    wrong:  (in Charukeshi: S R G m P d n)  P d N S'
    right:  (in Charukeshi: S R G m P d n)  P d n S'
    """
    for line, notes, index in _faults(piece, "foreign-tone"):
        note = notes[index]
        held = " ".join(SARGAM[semitone] for semitone in sorted(piece.mode.tones))
        message = f"{tone(_pitch(note))} is not in {piece.mode.name} ({held})"
        yield _found(piece, this, line, notes, index, message)
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

    wrong:  (in Bhimpalasi, ascent n, S g m P n S')  P d n S'      or  S R g
    right:  (in Bhimpalasi)                          P n S'        or  S g
    """
    yield from _passed(piece, this, "left-out-going-up", "going up", "ascent", piece.mode.ascent)


@rule("error")
def left_out_coming_down(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Coming down, the line passes through a tone that the mode's descent leaves out.

    wrong:  (in Deshkar, descent S' D P G R S)  P m G
    right:  (in Deshkar)                        P G
    """
    yield from _passed(
        piece, this, "left-out-coming-down", "coming down", "descent", piece.mode.descent
    )


def _passed(
    piece: Piece, this: Rule, fault: Fault, going: str, which: str, path: tuple[int, ...]
) -> Iterator[Finding]:
    for line, notes, index in _faults(piece, fault):
        pitches = [_pitch(note) for note in notes]
        before = next(p for p in reversed(pitches[:index]) if p != pitches[index])
        after = next(p for p in pitches[index:] if p != pitches[index])
        message = (
            f"{going} from {show_pitch(before)} to {show_pitch(after)} the line passes "
            f"{tone(pitches[index])}, which the {which} of {piece.mode.name} leaves out "
            f"({show_path(path)})"
        )
        yield _found(piece, this, line, notes, index, message)


def _pitch(note: Note) -> int:
    assert note.pitch is not None
    return note.pitch


def _faults(piece: Piece, fault: Fault) -> Iterator[tuple[Line, tuple[Note, ...], int]]:
    """Every note at fault by one rule: its line, its breath, its index in that breath."""
    for line in piece.lines.values():
        if line.kind != "melody":
            continue
        for notes in line.breaths:
            pitches = tuple(_pitch(note) for note in notes)
            for index in _indices(piece.mode, pitches, fault):
                yield line, notes, index


@lru_cache(maxsize=4096)
def _indices(mode: Mode, pitches: tuple[int, ...], fault: Fault) -> tuple[int, ...]:
    return tuple(v.index for v in judge_breath(mode, pitches) if v.fault == fault)


@lru_cache(maxsize=4096)
def _repaired(mode: Mode, pitches: tuple[int, ...]) -> tuple[int, ...] | None:
    repaired = repair_breath(mode, pitches)
    return tuple(repaired) if repaired is not None else None


def _found(
    piece: Piece, this: Rule, line: Line, notes: tuple[Note, ...], index: int, message: str
) -> Finding:
    note = notes[index]
    tries = _nearest_legal(piece, line, notes, index)
    return this.found(
        note.spot,
        message,
        *tries,
        place=place_of(piece, line, note.start),
        tone=tone(_pitch(note)),
    )


def _nearest_legal(piece: Piece, line: Line, notes: tuple[Note, ...], index: int) -> list[str]:
    """The changed cells of the nearest legal line, around one note at fault."""
    pitches = tuple(_pitch(note) for note in notes)
    repaired = _repaired(piece.mode, pitches)
    if repaired is None:
        return []
    changed = [i for i, (old, new) in enumerate(zip(pitches, repaired, strict=True)) if old != new]
    near = [i for i in changed if abs(i - index) <= NEIGHBOURS] or sorted(
        changed, key=lambda i: abs(i - index)
    )[:1]
    cells: dict[tuple[int, int], tuple[str, str]] = {}
    for i in near:
        cell = _cell_of(notes[i])
        if cell not in cells:
            mates = [j for j in range(len(notes)) if _cell_of(notes[j]) == cell and notes[j].cell]
            cells[cell] = (notes[i].cell, _rewritten(piece, line, notes, repaired, mates))
    return ["write " + ", ".join(f"{new} for {old}" for old, new in cells.values())]


def _cell_of(note: Note) -> tuple[int, int]:
    """The place of a note's cell in the file."""
    return (note.spot.line, note.spot.column - note.within[0])


def _rewritten(
    piece: Piece,
    line: Line,
    notes: tuple[Note, ...],
    repaired: tuple[int, ...],
    mates: list[int],
) -> str:
    """A cell's text with its notes changed; a note that repeats in the line changes once."""
    script = script_named(line.script, piece.tonic)
    text = notes[mates[0]].cell
    new = {notes[j].within: repaired[j] for j in mates}
    for (start, end), pitch in sorted(new.items(), reverse=True):
        element = text[start:end]
        glide = "~" if element.endswith("~") else ""
        body = element.removesuffix("~")
        head = max(body.rfind("}"), body.rfind("!"), 0 if body.startswith("~") else -1) + 1
        text = text[:start] + body[:head] + script.write(pitch) + glide + text[end:]
    return text
