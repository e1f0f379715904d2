"""The nearest legal text of lines with faults, as changed cells.

Mode grammars differ by teacher and lineage; a player's own teacher comes first.
"""

from __future__ import annotations

import operator
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

from cyclechart.finding import Spot, Suggestion
from cyclechart.piece.line import Line
from cyclechart.piece.line_text import script_named
from cyclechart.piece.model import Liberty, Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import cell_edits, written_out_edits
from cyclechart.piece.written_line import written_out
from cyclechart.rules.piece.breath_faults import verdicts_of
from cyclechart.text.passage_edits import edits_of
from cyclechart.text.scripts import Script
from cyclechart.theory.grammar import Verdict, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Fault
from cyclechart.theory.tones import tone
from cyclechart.theory.turns import turns

MOST_SHOWN = 24
MOST_ROUNDS = 8
"""The rounds in which all breaths are repaired: a change in one may break another."""
MOST_FAULTS = 400
"""The faults of a breath up to which the nearest legal text is looked for."""
NEIGHBOURS = 2
"""A suggestion shows the changed notes up to this many notes away from the fault."""


class Breath:
    """A run of notes without a rest, and its faults, worked out once."""

    def __init__(self, repair: Repair, notes: tuple[Note, ...]) -> None:
        self.repair = repair
        self.notes = notes
        self.pitches = tuple(pitch_of(note) for note in notes)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        return verdicts_of(self.repair.mode, self.pitches)

    @cached_property
    def changed(self) -> list[int]:
        """The indices of the notes that the nearest legal text changes."""
        return self.changed_by(self.repair.shown_fix)

    def changed_by(self, fix: Mapping[Spot, int]) -> list[int]:
        """The indices of the notes that a way of writing them changes."""
        return [i for i, note in enumerate(self.notes) if note.spot in fix]


class Repair:
    """Lines that have notes in common, and the nearest legal text of them.

    A note is written once and may sound often: in a repeat, in a cadence, in a line that is made of
    others. It can be rewritten in one way only, and not at all where a liberty covers it.
    """

    def __init__(self, mode: Mode, lines: tuple[Line, ...], liberties: tuple[Liberty, ...]) -> None:
        self.mode = mode
        self.lines = [
            (line, tuple(Breath(self, notes) for notes in line.breaths)) for line in lines
        ]
        self.meant = {
            breath.notes[verdict.index].spot
            for line, breaths in self.lines
            for breath in breaths
            for verdict in breath.verdicts
            if any(
                liberty.covers(verdict.fault, line.name, tone(breath.pitches[verdict.index]))
                for liberty in liberties
            )
        }

    def is_of(self, lines: tuple[Line, ...]) -> bool:
        """Return whether these are its very lines."""
        mine = [line for line, _ in self.lines]
        return len(mine) == len(lines) and all(map(operator.is_, mine, lines))

    @cached_property
    def fix(self) -> dict[Spot, int] | None:
        """The pitch to write for each changed note; None where no clean text was found.

        The nearest text first; where that would skip a turn, the nearest of those that skip fewest.
        """
        for skips_first in (False, True):
            fix = self.legal_fix(skips_first=skips_first)
            if fix is not None and self.is_clean(fix):
                return fix
        return None

    def legal_fix(self, *, skips_first: bool) -> dict[Spot, int] | None:
        """Return the nearest legal text, or None.

        Every breath is mended with what is rewritten already, until all of them are legal at once.
        """
        fix: dict[Spot, int] = {}
        left = [breath for _, breaths in self.lines for breath in breaths]
        if any(len(breath.verdicts) > MOST_FAULTS for breath in left):
            return None
        for _ in range(MOST_ROUNDS):
            settled = True
            for breath in left:
                now = [fix.get(note.spot, pitch_of(note)) for note in breath.notes]
                meant = [i for i, note in enumerate(breath.notes) if note.spot in self.meant]
                mended = repair_breath(self.mode, now, meant, skips_first=skips_first)
                if mended is None:
                    return None
                for note, old, new in zip(breath.notes, now, mended, strict=True):
                    if old != new:
                        fix[note.spot] = new
                        settled = False
            if settled:
                return fix
        return None

    @cached_property
    def shown_fix(self) -> dict[Spot, int]:
        """The fix where suggestions at the faults show all of it, or else nothing.

        What is changed for a note that sounds again elsewhere may stand near no fault.
        """
        if not self.fix:
            return {}
        written = {
            note.spot: note.pitch
            for _, breaths in self.lines
            for breath in breaths
            for note in breath.notes
        }
        fix = {spot: new for spot, new in self.fix.items() if written[spot] != new}
        shown: set[Spot] = set()
        for _, breaths in self.lines:
            for breath in breaths:
                faults = [verdict.index for verdict in breath.verdicts]
                for run in _joined(breath.changed_by(fix)):
                    at = bisect_left(faults, run[0] - NEIGHBOURS)
                    if at < len(faults) and faults[at] <= run[-1] + NEIGHBOURS:
                        shown.update(breath.notes[i].spot for i in run)
        return fix if shown == set(fix) else {}

    def is_clean(self, fix: Mapping[Spot, int]) -> bool:
        """Return whether the lines skip no turn with a fix that they do not skip as written."""
        for _, breaths in self.lines:
            for breath in breaths:
                if not breath.changed_by(fix):
                    continue
                mended = [fix.get(note.spot, pitch_of(note)) for note in breath.notes]
                skips = {turn.index for turn in turns(self.mode, mended) if turn.skips}
                if skips - {turn.index for turn in turns(self.mode, breath.pitches) if turn.skips}:
                    return False
        return True

    @cached_property
    def cells(self) -> dict[tuple[int, int], dict[Spot, Note]]:
        """The notes of each cell as it is written, by its place in the file."""
        cells: dict[tuple[int, int], dict[Spot, Note]] = {}
        for line, _ in self.lines:
            for note in line.notes:
                cells.setdefault(cell_of(note), {})[note.spot] = note
        return cells


def pitch_of(note: Note) -> int:
    """Return the pitch of a melody's note."""
    assert note.pitch is not None
    return note.pitch


def _joined(changed: list[int]) -> Iterator[list[int]]:
    """Indices in runs of one after the other."""
    run: list[int] = []
    for index in changed:
        if run and index != run[-1] + 1:
            yield run
            run = []
        run.append(index)
    if run:
        yield run


def repair_of(mode: Mode, lines: tuple[Line, ...], liberties: tuple[Liberty, ...]) -> Repair:
    """Return the repair of lines, worked out once for the rules that ask for it."""
    known = lines[0].worked_out
    key = (Repair, mode, liberties)
    repair = known.get(key)
    if not isinstance(repair, Repair) or not repair.is_of(lines):
        repair = known[key] = Repair(mode, lines, liberties)
    return repair


def faults_of(piece: Piece, fault: Fault) -> Iterator[tuple[Line, Breath, int]]:
    """Every note at fault by one rule: its line, its breath, its index in that breath."""
    for lines in lines_with_common_notes(piece):
        for line, breaths in repair_of(piece.mode, lines, piece.liberties).lines:
            for breath in breaths:
                for verdict in breath.verdicts:
                    if verdict.fault == fault:
                        yield line, breath, verdict.index


def lines_with_common_notes(piece: Piece) -> list[tuple[Line, ...]]:
    """The melodies in groups that have notes in common: lines and those they are made of."""
    groups: list[tuple[set[str], list[Line]]] = []
    parts = {part for line in piece.lines.values() for part in line.parts}
    for line in piece.lines.values():
        if line.kind == "melody":
            names, lines = {line.name, *line.parts}, [line]
            shares = bool(line.parts) or line.name in parts
            for group in [group for group in groups if shares and group[0] & names]:
                groups.remove(group)
                names |= group[0]
                lines = [*group[1], *lines]
            groups.append((names, lines))
    return [tuple(lines) for _, lines in groups]


def nearest_legal(piece: Piece, breath: Breath, index: int) -> list[Suggestion]:
    """The changed cells of the nearest legal text, around one note at fault; all of the text for a
    line that comes from another, which has no cells to change."""
    if breath.notes[index].spot.serial:
        return _legal_text(piece, breath, breath.notes[index])
    if not breath.changed:
        return []
    cells: dict[tuple[int, int], tuple[Note, str]] = {}
    for i in _around(breath.changed, index):
        note = breath.notes[i]
        if cell_of(note) not in cells:
            repair = breath.repair
            script = script_named(note.script, piece.tonic)
            new = rewritten(script, repair.cells[cell_of(note)].values(), repair.shown_fix, note)
            cells[cell_of(note)] = (note, new)
    words = ", ".join(f"{new} for {note.cell}" for note, new in cells.values())
    edits = edits_of(*(cell_edits(piece, note, new) for note, new in cells.values()))
    return [Suggestion(f"write {words}", edits)]


def _legal_text(piece: Piece, breath: Breath, note: Note) -> list[Suggestion]:
    """The nearest legal text of the line that comes from another and has a note, in one try."""
    fix = breath.repair.fix
    line = derived_line_of(piece, note)
    if not fix or line is None:
        return []
    notes = tuple(
        replace(one, pitch=fix[one.spot]) if one.spot in fix else one for one in line.notes
    )
    changed = replace(line, phrase=replace(line.phrase, notes=notes))
    return in_place_of_derivation(piece, line, changed)


def in_place_of_derivation(piece: Piece, line: Line, changed: Line) -> list[Suggestion]:
    """Return the suggestion to write out a line that comes from another, with the music of the
    changed line; none where it comes from no other."""
    text = written_out(piece, line, changed)
    return [Suggestion(text, written_out_edits(piece, line.name, text))] if text else []


def derived_line_of(piece: Piece, note: Note) -> Line | None:
    """Return the line from another that a note stands in, maybe as a part of a third one; None for
    a note with a place of its own."""
    if not note.spot.serial:
        return None
    key = replace(note.spot, serial=0)
    return next((line for line in piece.lines.values() if line.spot == key), None)


def _around(changed: list[int], index: int) -> list[int]:
    """The changes that belong to a fault: those a few notes away, and all that adjoin them."""
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


def cell_of(note: Note) -> tuple[int, int]:
    """The place of a note's cell in the file."""
    return (note.spot.line, note.spot.column - note.within[0])


def with_graces(piece: Piece, note: Note, graces: Iterable[int | str]) -> str:
    """Return the text of a note's cell with other grace notes before that note."""
    script = script_named(note.script, piece.tonic)
    start, end = note.within
    written = "".join(map(script.write, graces))
    opening = note.cell.rfind("{", start, end)
    closing = note.cell.find("}", opening) + 1
    return note.cell[:opening] + (written and f"{{{written}}}") + note.cell[closing:]


def rewritten(script: Script, mates: Iterable[Note], fix: Mapping[Spot, int], note: Note) -> str:
    """Return the text of a note's cell with its notes (``mates``) changed as ``fix`` has them."""
    text = note.cell
    for mate in sorted(mates, key=lambda mate: mate.within, reverse=True):
        start, end = mate.within
        element = text[start:end]
        glide = "~" if element.endswith("~") else ""
        body = element.removesuffix("~")
        head = max(body.rfind("}"), body.rfind("!"), 0 if body.startswith("~") else -1) + 1
        new = script.write(fix.get(mate.spot, pitch_of(mate)))
        text = text[:start] + body[:head] + new + glide + text[end:]
    return text
