"""Rows of cells: what is written reads back to the same notes."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest
from support.making import piece_of

from cyclechart.draft.line_cells import DraftNote, cell, rows_of, statement_of


def note(start: str, length: str, pitch: int) -> DraftNote:
    return DraftNote(Fraction(start), Fraction(length), pitch)


def test_cells() -> None:
    notes = [note("0", "1/2", 0), note("1/2", "1", 4), note("2", "1/2", -1)]
    assert [cell(notes, Fraction(at), Fraction(1)) for at in range(4)] == ["SG", "-z", "N,z", "z"]
    assert cell([note("0", "1", 7)], Fraction(0), Fraction(1, 2)) == "P/2"
    assert cell([note("0", "2/3", 7), note("2/3", "1/3", 9)], Fraction(0), Fraction(1)) == "P-D"
    assert statement_of([note("0", "1", 0), note("1", "3/2", 7)], Fraction(5, 2)) == "S P -/2"


CHROMATIC = "{ascent: S r R g G m M P d D n N S', descent: S' N n D d P M m G g R r S}"
ODD = "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}"


@pytest.mark.parametrize(
    "cycle", ["tintal", "rupak", ODD, "matta-halves", "{beats: 6 3/4, sections: [3, 3 3/4]}"]
)
def test_rows_read_back_to_the_same_notes(cycle: str) -> None:
    chosen = piece_of("lines: {head: {sargam: S}}\n", cycle=cycle).cycle
    chance = Random(cycle)
    end = 2 * chosen.beats
    for _ in range(5):
        at = -chosen.sections[-1]
        notes = []
        while at < end:
            whole = min(Fraction(chance.choice((1, 2, 1))), end - at)
            held = max(whole - Fraction(chance.choice((0, 0, 1)), 2), Fraction(1, 4))
            notes.append(DraftNote(at, min(held, whole), chance.randrange(-5, 15)))
            at += whole
        block = "\n      ".join(rows_of(notes, chosen, end))
        text = (
            f"lines:\n  head:\n    begins: {chosen.starts[-1] + 1}\n    sargam: |\n      {block}\n"
        )
        read = piece_of(text, cycle=cycle, mode=CHROMATIC).lines["head"]
        assert [(one.start, one.length, one.pitch) for one in read.notes] == [
            (one.start - notes[0].start, one.length, one.pitch) for one in notes
        ]
