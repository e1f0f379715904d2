"""The mode rules: they judge movement, not membership in a list of tones.

Mode grammars differ by teacher and lineage. These rules compare a line with the mode as it is
written in the piece, the band's folder or the catalogue; a player's own teacher comes first.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from functools import cached_property, lru_cache

from cyclechart.finding import Finding, Spot
from cyclechart.piece.line_text import script_named
from cyclechart.piece.model import Liberty, Line, Note, Piece
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.scripts import Script
from cyclechart.theory.grammar import Verdict, judge_breath, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Fault
from cyclechart.theory.tones import SARGAM, show_path, show_pitch, tone

MOST_SHOWN = 24
MOST_ROUNDS = 8
"""The rounds in which all breaths are repaired: a change in one may break another."""
NEIGHBOURS = 2
"""A suggestion shows the changed notes up to this many notes away from the fault."""


@rule("error")
def foreign_tone(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The tone is in neither the ascent, the descent nor any phrase of the mode.

    Grace notes are judged by this rule only.

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
                        f"leave it out, or use {_nearest_tone(piece.mode, grace)}",
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

    Only a tone passed on the way counts; for one that the line turns on see `turns-on-left-out`.
    A move found in one of the mode's phrases is allowed.

    wrong:  (bhimpalasi, keherwa)  sargam: n, S m P | P D n S'
    right:  (bhimpalasi, keherwa)  sargam: n, S m g | P n - S'
    """
    yield from _passed(piece, this, "left-out-going-up", "going up", "ascent", piece.mode.ascent)


@rule("error")
def left_out_coming_down(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Coming down, the line passes through a tone that the mode's descent leaves out.

    wrong:  (khamaj, keherwa)  sargam: S' N D m | P D m G || G m G - | S G m G
    right:  (khamaj, keherwa)  sargam: S' n D m | P D m G || G m G - | S G m G
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
    """A run of notes without a rest, and its faults, worked out once."""

    def __init__(self, repair: _Repair, notes: tuple[Note, ...]) -> None:
        self.repair = repair
        self.notes = notes
        self.pitches = tuple(_pitch(note) for note in notes)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        return tuple(judge_breath(self.repair.mode, self.pitches))

    @cached_property
    def changed(self) -> list[int]:
        """The indices of the notes that the nearest legal text changes."""
        return self.changed_by(self.repair.shown_fix)

    def changed_by(self, fix: dict[Spot, int]) -> list[int]:
        """The indices of the notes that a way of writing them changes."""
        return [i for i, note in enumerate(self.notes) if note.spot in fix]


class _Repair:
    """Lines that have notes in common, and the nearest legal text of them.

    A note is written once and may sound often: in a repeat, in a cadence, in a line that is made of
    others. It can be rewritten in one way only, and not at all where a liberty covers it.
    """

    def __init__(self, mode: Mode, lines: tuple[Line, ...], liberties: tuple[Liberty, ...]) -> None:
        self.mode = mode
        self.lines = [
            (line, tuple(_Breath(self, notes) for notes in line.breaths)) for line in lines
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

    @cached_property
    def fix(self) -> dict[Spot, int] | None:
        """The pitch to write for each changed note; None where no legal text was found.

        Every breath is mended with what is rewritten already, until all of them are legal at once.
        """
        fix: dict[Spot, int] = {}
        left = [breath for _, breaths in self.lines for breath in breaths]
        for _ in range(MOST_ROUNDS):
            settled = True
            for breath in left:
                now = [fix.get(note.spot, _pitch(note)) for note in breath.notes]
                meant = [i for i, note in enumerate(breath.notes) if note.spot in self.meant]
                mended = repair_breath(self.mode, now, meant)
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

    @cached_property
    def cells(self) -> dict[tuple[int, int], dict[Spot, Note]]:
        """The notes of each cell as it is written, by its place in the file."""
        cells: dict[tuple[int, int], dict[Spot, Note]] = {}
        for line, _ in self.lines:
            for note in line.notes:
                cells.setdefault(_cell_of(note), {})[note.spot] = note
        return cells


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


@lru_cache(maxsize=256)
def _repair(mode: Mode, lines: tuple[Line, ...], liberties: tuple[Liberty, ...]) -> _Repair:
    return _Repair(mode, lines, liberties)


def _faults(piece: Piece, fault: Fault) -> Iterator[tuple[Line, _Breath, int]]:
    """Every note at fault by one rule: its line, its breath, its index in that breath."""
    for lines in _kin(piece):
        for line, breaths in _repair(piece.mode, lines, piece.liberties).lines:
            for breath in breaths:
                for verdict in breath.verdicts:
                    if verdict.fault == fault:
                        yield line, breath, verdict.index


def _kin(piece: Piece) -> list[tuple[Line, ...]]:
    """The melodies in groups that have notes in common: lines and those they are made of."""
    groups: list[tuple[set[str], list[Line]]] = []
    for line in piece.lines.values():
        if line.kind == "melody":
            names, lines = {line.name, *line.parts}, [line]
            for group in [group for group in groups if group[0] & names]:
                groups.remove(group)
                names |= group[0]
                lines = [*group[1], *lines]
            groups.append((names, lines))
    return [tuple(lines) for _, lines in groups]


def _found(
    piece: Piece, this: Rule, line: Line, breath: _Breath, index: int, message: str
) -> Finding:
    note = breath.notes[index]
    return this.found(
        note.spot,
        message,
        *_nearest_legal(piece, breath, index),
        place=place_of(piece, line, note.start),
        tone=tone(_pitch(note)),
    )


def _nearest_legal(piece: Piece, breath: _Breath, index: int) -> list[str]:
    """The changed cells of the nearest legal text, around one note at fault."""
    if not breath.changed:
        return []
    cells: dict[tuple[int, int], tuple[str, str]] = {}
    for i in _around(breath.changed, index):
        note = breath.notes[i]
        if _cell_of(note) not in cells:
            new = _rewritten(script_named(note.script, piece.tonic), breath.repair, note)
            cells[_cell_of(note)] = (note.cell, new)
    return ["write " + ", ".join(f"{new} for {old}" for old, new in cells.values())]


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


def _cell_of(note: Note) -> tuple[int, int]:
    """The place of a note's cell in the file."""
    return (note.spot.line, note.spot.column - note.within[0])


def _rewritten(script: Script, repair: _Repair, note: Note) -> str:
    """The text of a note's cell with its notes as the nearest legal text has them."""
    text = note.cell
    mates = repair.cells[_cell_of(note)].values()
    for mate in sorted(mates, key=lambda mate: mate.within, reverse=True):
        start, end = mate.within
        element = text[start:end]
        glide = "~" if element.endswith("~") else ""
        body = element.removesuffix("~")
        head = max(body.rfind("}"), body.rfind("!"), 0 if body.startswith("~") else -1) + 1
        new = script.write(repair.shown_fix.get(mate.spot, _pitch(mate)))
        text = text[:start] + body[:head] + new + glide + text[end:]
    return text
