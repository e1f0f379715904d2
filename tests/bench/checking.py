"""Checking one long clean line: the judge and the reader against a bare loop over the notes."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import tune
from table import Subject, growth_of
from timing import Contender, medians

from cyclechart.piece.load import read_piece
from cyclechart.piece.model import Piece
from cyclechart.rules.judge import RULE_NAMES, judge

JUDGE, READ, LOOP = "judge", "read", "bare loop"

ABOUT = f"""
{JUDGE}: all rules over the piece, its line made anew so that nothing of it is remembered.
{READ}: the piece from the bytes of its file.
{LOOP}: for each note and the one after it, whether its tone is in the mode and where it leads.
"""


def judged(piece: Piece) -> int:
    """Return the number of findings about a piece with empty caches."""
    lines = {name: replace(line) for name, line in piece.lines.items()}
    return len(judge(replace(piece, lines=lines)))


def bare_loop(piece: Piece) -> int:
    """The least that judging needs: every note looked at once."""
    tones = piece.mode.up | piece.mode.down
    found = 0
    for note, following in pairwise(piece.lines["head"].notes):
        assert note.pitch is not None and following.pitch is not None
        rises = following.pitch > note.pitch
        if note.pitch % 12 not in tones and rises:
            found += 1
    return found


def contenders(count: int) -> list[Contender]:
    """The judge, the reader and the loop over ``count`` notes."""
    piece = tune.piece_of(count)
    data = tune.text_of(count).encode()
    return [
        Contender(JUDGE, lambda: judged(piece)),
        Contender(READ, lambda: read_piece("bench.yaml", data, RULE_NAMES)),
        Contender(LOOP, lambda: bare_loop(piece)),
    ]


def subject() -> Subject:
    """The whole table."""
    seconds = {count: medians(contenders(count), count) for count in tune.SIZES}
    rows = []
    for count, times in seconds.items():
        for name, taken in times.items():
            grown = growth_of(seconds, name) if count == tune.SIZES[-1] else None
            cells = (f"{taken:.5f}", f"{count / taken:,.0f}", f"{taken / times[LOOP]:.1f}")
            last = "" if grown is None else f"{grown:.2f}"
            rows.append((f"{count:>6,} {name}", *cells, last))
    head = ("notes  work", "seconds", "notes/second", f"/ {LOOP}", "growth")
    return Subject("Checking", ABOUT, head, tuple(rows), ())
