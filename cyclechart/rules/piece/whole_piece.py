"""Rules over the piece as a whole: lines that are never played, rhythm too fine for MIDI."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from cyclechart.finding import Finding, Place, Suggestion
from cyclechart.piece.model import Piece
from cyclechart.piece.note import CUT_TO
from cyclechart.piece.piece_edits import liberty_removed, step_added
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.line_tree import CUT
from cyclechart.theory.ticks import FINEST, grid_for, largest_error


@rule("advice")
def unused_line(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The piece has a form, and no step of it plays this line.

    wrong:  lines: {head: …, answer: …}    form: [{play: head}]
    right:  form: [{play: head}, {play: answer}]
    """
    if not piece.form:
        return
    for line in piece.lines.values():
        if line.name not in piece.needed_lines:
            yield this.found(
                line.spot,
                f"the form never plays '{line.name}'",
                Suggestion(f"- play: {line.name}", step_added(piece, line.name)),
                place=Place(line.name, None, Fraction(1)),
            )


@rule("warning")
def too_fine(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The piece divides the beat in more ways than the ticks of a MIDI file can hold exactly.

    A Standard MIDI File has at most 32767 ticks a beat. Each note starts on the nearest tick, so
    that nothing drifts; the chart stays exact.

    wrong:  sargam: SRGmPdnS'ndP SRGmPdnS'ndPmG SRGmPdn SRGmP SRGmPdnS'n -    (11 13 7 5 9)
    right:  sargam: SRGmPdn SRGmP SRGmPdnS'n -                               (7 5 9)
    """
    if _holds_all(piece):
        return
    onsets: dict[int, list[Fraction]] = {}
    spots = {}
    for line in piece.lines.values():
        for note in line.notes:
            at = line.begins - 1 + note.start
            half = at + note.length / 2 if "staccato" in note.marks else at
            cut = (at + note.length * CUT_TO,) if CUT in note.marks else ()
            for time in (at, at + note.length, half, *cut):
                if time.denominator not in onsets:
                    onsets[time.denominator] = []
                    spots[time.denominator] = (line, note)
                if len(onsets[time.denominator]) < 64:
                    onsets[time.denominator].append(time)
    # In the form every line is moved by whole cycles, whose lengths have divisions of their own.
    ticks, lost = grid_for({*onsets, *(cycle.beats.denominator for cycle in piece.cycles)})
    if not lost:
        return
    worst = max(largest_error(onsets[part], ticks) for part in lost)
    error = float(worst * 60_000 / piece.tempo)
    line, note = spots[lost[0]]
    cells = sorted({spots[part][1].cell for part in lost})
    message = (
        f"these divisions together need more than {FINEST} ticks a beat; in the MIDI file "
        f"{', '.join(cells[:5])} {'are' if len(cells) > 1 else 'is'} up to {error:.3f} ms off"
    )
    yield this.found(
        note.spot, message, "use fewer odd divisions", place=place_of(piece, line, note.start)
    )


def _holds_all(piece: Piece) -> bool:
    """Return whether a quarter of what all notes have in common can be held: then every time that
    a note begins, ends or is cut at is one of these."""
    parts = {cycle.beats.denominator for cycle in piece.cycles}
    for line in piece.lines.values():
        parts |= line.divisions
    return not grid_for([CUT_TO.denominator * math.lcm(*parts)])[1]


@rule("warning")
def unused_liberty(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The liberty is not needed: the piece has no finding of its rule, line and tone.

    wrong:  liberties: [{rule: foreign-tone, tone: N, why: …}]    and no N in any line
    right:  delete it, or name the line and tone that it is about
    """
    for liberty in piece.liberties:
        tone = f" with {liberty.tone}" if liberty.tone else ""
        where = f" in '{liberty.line}'" if liberty.line else ""
        edits = liberty_removed(piece, liberty)
        message = f"this liberty covers nothing: there is no {liberty.rule}{tone}{where}"
        yield this.found(liberty.spot, message, Suggestion("delete it", edits))
