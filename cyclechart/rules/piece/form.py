"""Rules over the form: covered notes, open endings and lines that nobody can play."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise, product

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import line_key_removed, player_added, step_added
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Play, Step
from cyclechart.rules.piece.cadence_tries import gap_and_begins
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats


@rule("warning")
def covered_notes(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A pickup overlaps the step before it and covers more than half of that step's notes.

    A player who has both lines leaves the old one when the pickup begins. A pickup of a few beats
    is normal, but here the old line is hardly heard: hold its landing for a whole cycle, or begin
    the next line later.

    wrong:  head: {begins: 9, sargam: P d n S' n d P m || S R G m P d n S' n d P m G R S R || S}
    right:  the same with the landing held for fifteen more beats: || S - - - …
    """
    told: set[tuple[str, str]] = set()
    for (old_name, old_cycle), (new_name, new_cycle) in _in_turn(piece):
        if (old_name, new_name) in told:
            continue
        told.add((old_name, new_name))
        old, new = piece.line_in(old_name, old_cycle), piece.line_in(new_name, new_cycle)
        covered = _covered(old, old_cycle, new, new_cycle)
        body = old.standing(old_cycle)
        said = old.notes[_from(old, body.home - body.begin) :]
        # Of a cadence not even its last stroke may be lost.
        cut_short = covered and old.closes_with_cadence(old_cycle)
        if 2 * len(covered) <= len(said) and not cut_short:
            continue
        entry = new.standing(new_cycle)
        pickup = entry.home - entry.begin
        again = "when it is repeated" if old is new else f"when '{new.name}' follows"
        message = (
            f"the pickup of {show_beats(pickup)} of '{new.name}' covers {len(covered)} of the "
            f"{len(said)} notes of '{old.name}', {again}"
        )
        tries: list[str | Suggestion] = []
        if body.shape == "lands":
            tries.append(f"hold the last note of '{old.name}' for a whole cycle after its landing")
        tries += _later(piece, new, pickup)
        place = place_of(piece, old, covered[0].start, old_cycle)
        yield this.found(covered[0].spot, message, *tries, place=place)


_LACKING = {
    "melody": ("melodies", "flute: {plays: melody}"),
    "strokes": ("the drums", "tabla: {plays: theka}"),
    "chords": ("chords", "guitar: {plays: voicings}"),
    "kit": ("the drum kit", "drum-kit: {plays: theka}"),
}
"""What nobody plays, and a player who would, by the kind of the line."""

_LineInCycle = tuple[str, Cycle]
"""A line by name, in the cycle it is played in."""


def _in_turn(piece: Piece) -> Iterator[tuple[_LineInCycle, _LineInCycle]]:
    """Lines that are played one right after the other by one player."""
    for step in piece.steps:
        if step.times > 1:
            yield from _by_one_player(piece, step, step)
    for before, after in pairwise(piece.steps):
        yield from _by_one_player(piece, before, after)


def _by_one_player(
    piece: Piece, before: Step, after: Step
) -> Iterator[tuple[_LineInCycle, _LineInCycle]]:
    for old, new in product(_by_line(piece, before), _by_line(piece, after)):
        if set(old[1]) & set(new[1]):
            yield (old[0], before.cycle), (new[0], after.cycle)


def _by_line(piece: Piece, step: Step) -> list[tuple[str, tuple[Player, ...]]]:
    """The lines that a step plays in its cycle, each with its players."""
    if not isinstance(step, Play) or not piece.is_metered(step):
        return []
    return [(name, piece.players_of(step, name)) for name in step.uses if name in piece.lines]


def _covered(old: Line, old_cycle: Cycle, new: Line, new_cycle: Cycle) -> list[Note]:
    """The notes of a line that the pickup of the next one covers.

    A pickup that would cover the whole of it waits for whole cycles, and covers none.
    """
    standing = old.standing(old_cycle)
    entry = new.standing(new_cycle).offset
    ends = standing.hands_over
    if entry >= standing.eduppu or -entry >= ends - standing.first:
        return []
    begins, home = ends + entry, ends + standing.eduppu
    first, end = _from(old, begins - standing.begin), _from(old, home - standing.begin)
    return list(old.notes[first:end])


def _from(line: Line, beat: Fraction) -> int:
    """Return the index of the first note of a line that begins at a beat of it or later."""
    return bisect_left(line.notes, beat, key=lambda note: note.start)


def _later(piece: Piece, line: Line, pickup: Fraction) -> list[Suggestion]:
    """Another answer of a line's cadence with a shorter pickup."""
    for cadence in line.cadences:
        if cadence.chained or cadence.cycle is None or cadence.start:
            continue
        for other in cadence.solved.found:
            if (1 + line.eduppu - other.begins) % cadence.cycle.beats < pickup:
                return [gap_and_begins(piece, line, cadence, other)]
    return []


@rule("advice")
def open_ending(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The form does not end on a first beat: its last step stops at the end of a cycle.

    End the piece with a line that lands on the first beat. A free ending over the drone is fine
    too.

    wrong:  form: - solo: flute …          (and nothing after it)
    right:  form: - solo: flute … - play: closing
    """
    last = piece.form[-1] if piece.form else None
    if last is None or not last.keeps_time or not piece.is_metered(last):
        return
    if isinstance(last, Play):
        lines = [piece.line_in(name, last.cycle) for name in last.uses if name in piece.lines]
        shapes = {line.standing(last.cycle).shape for line in lines}
        if shapes != {"loops"} or not all(line.whole for line in lines):
            return
        what = f"'{' and '.join(line.name for line in lines)}' stops at the end of its cycle"
    else:
        what = "the last step stops at the end of its last cycle"
    landing = [
        line.name
        for line in piece.standing_lines
        if not line.free and line.standing(last.cycle).shape == "lands"
    ]
    tries: list[str | Suggestion] = [
        Suggestion(f"- play: {name}", step_added(piece, name)) for name in landing[:2]
    ]
    tries = tries or ["end with a cadence, or with a line that lands on the first beat"]
    yield this.found(last.spot, f"{what}, before the first beat that would end the piece", *tries)


@rule("warning")
def unplayed_line(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The form has a line that nobody in the band can play, so there would be silence.

    So has one whose chords or kit would be played outside the meter: ``lands: free`` lets them
    cross the cycle under other music.

    wrong:  players: {tabla: , tanpura: }                and a melody in the form
    right:  players: {flute: , tabla: , tanpura: }
    """
    told: set[str] = set()
    for step in piece.steps:
        for name in step.uses:
            line = piece.lines.get(name)
            if line is None or name in told:
                continue
            tries: list[str | Suggestion]
            if line.kind in ("chords", "kit") and not piece.is_metered(step):
                message = f"a line of {line.kind} keeps time, and '{name}' is free of it"
                measured = line_key_removed(piece, name, "lands")
                tries = [Suggestion("leave 'lands: free' out", measured), "loop it with under"]
            elif not piece.players_of(step, name):
                what, player = _LACKING[line.kind]
                message = f"nobody plays {what}"
                tries = [Suggestion(player, player_added(piece, player))]
            else:
                continue
            told.add(name)
            yield this.found(step.spot, f"{message}, so '{name}' is silent", *tries)
