"""The mode rules: they judge movement, not membership in a list of tones.

Mode grammars differ by teacher and lineage. These rules compare a line with the mode as it is
written in the piece, the band's folder or the catalogue; a player's own teacher comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import cell_edits
from cyclechart.rules.piece.printed_paths import Going, printed_path, printed_rows
from cyclechart.rules.piece.repair import (
    Breath,
    derived_line_of,
    faults_of,
    in_place_of_derivation,
    nearest_legal,
    pitch_of,
    with_graces,
)
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Fault
from cyclechart.theory.tones import SARGAM, show_pitch, tone


@rule("error")
def foreign_tone(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The tone is in neither the ascent, the descent nor any phrase of the mode.

    Grace notes are judged by this rule only.

    wrong:  (charukeshi, jhaptal)  sargam: S R | G m P | d N | S' n d
    right:  (charukeshi, jhaptal)  sargam: S R | G m P | d n | S' n d
    """
    for line, breath, index in faults_of(piece, "foreign-tone"):
        note = breath.notes[index]
        held = " ".join(SARGAM[semitone] for semitone in sorted(piece.mode.tones))
        message = f"{tone(pitch_of(note))} is not in {piece.mode.name} ({held})"
        yield _found(piece, this, line, breath, index, message)
    for line in piece.lines.values():
        for note in line.notes:
            for grace in note.grace:
                if isinstance(grace, int) and grace % 12 not in piece.mode.tones:
                    yield this.found(
                        note.spot,
                        f"the grace note {tone(grace)} is not in {piece.mode.name}",
                        *_without_grace(piece, note, grace),
                        place=place_of(piece, line, note.start),
                        tone=tone(grace),
                    )


def _without_grace(piece: Piece, note: Note, grace: int) -> list[Suggestion]:
    """What to try for a foreign grace note: in a line from another, all of the text without it."""
    source = derived_line_of(piece, note)
    if source is None:
        words = f"leave it out, or use {_nearest_tone(piece.mode, grace)}"
        cell = with_graces(piece, note, _legal_graces(piece.mode, note))
        return [Suggestion(words, cell_edits(piece, note, cell))]
    notes = tuple(replace(one, grace=_legal_graces(piece.mode, one)) for one in source.notes)
    changed = replace(source, phrase=replace(source.phrase, notes=notes))
    return in_place_of_derivation(piece, source, changed)


def _legal_graces(mode: Mode, note: Note) -> tuple[int | str, ...]:
    return tuple(one for one in note.grace if not isinstance(one, int) or one % 12 in mode.tones)


def _nearest_tone(mode: Mode, pitch: int) -> str:
    near = min(
        mode.tones, key=lambda semitone: min((semitone - pitch) % 12, (pitch - semitone) % 12)
    )
    return SARGAM[near]


@rule("error")
def left_out_going_up(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Going up, the line passes through a tone that the mode's ascent leaves out.

    Only a tone passed on the way counts; for one that the line turns on see `turns-on-left-out`.
    What one of the mode's phrases or paths does in the same surroundings is allowed.

    wrong:  (bhimpalasi, keherwa)  sargam: n, S m P | P D n S'
    right:  (bhimpalasi, keherwa)  sargam: n, S m g | P n - S'
    """
    yield from _passed(piece, this, "left-out-going-up", going="up")


@rule("error")
def left_out_coming_down(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Coming down, the line passes through a tone that the mode's descent leaves out.

    wrong:  (khamaj, keherwa)  sargam: S' N D m | P D m G || G m G - | S G m G
    right:  (khamaj, keherwa)  sargam: S' n D m | P D m G || G m G - | S G m G
    """
    yield from _passed(piece, this, "left-out-coming-down", going="down")


def _passed(piece: Piece, this: Rule, fault: Fault, *, going: Going) -> Iterator[Finding]:
    which, leaves = printed_path(piece.mode, going, "leaves out", "leave out")
    for line, breath, index in faults_of(piece, fault):
        pitches = breath.pitches
        here = pitches[index]
        before = next(pitches[i] for i in range(index - 1, -1, -1) if pitches[i] != here)
        after = next(pitches[i] for i in range(index, len(pitches)) if pitches[i] != here)
        move = "going up" if going == "up" else "coming down"
        message = (
            f"{move} from {show_pitch(before)} to {show_pitch(after)} the line passes "
            f"{tone(here)}, which the {which}, as printed here, {leaves} "
            f"({printed_rows(piece.mode, going)})"
        )
        yield _found(piece, this, line, breath, index, message)


def _found(
    piece: Piece, this: Rule, line: Line, breath: Breath, index: int, message: str
) -> Finding:
    note = breath.notes[index]
    return this.found(
        note.spot,
        message,
        *nearest_legal(piece, breath, index),
        place=place_of(piece, line, note.start),
        tone=tone(pitch_of(note)),
    )
