"""Notes that never sound, held against the timeline that the parts are made from."""

from __future__ import annotations

import re

import pytest
from support.bands import random_form
from support.making import DEMO_BOOK, findings_of, load_text, random_changing_piece

from cyclechart.arrange.part_notes import line_notes
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.rules.piece.unheard import unheard_notes


def _sounding(piece: Piece) -> dict[str, int]:
    """How many notes of each metered line of the form sound in some pass, by the timeline."""
    timeline = unroll(piece)
    counts = {name: 0 for name in piece.used_lines if not piece.lines[name].free}
    for player in piece.players:
        kind = player.role.lines
        for note in line_notes(timeline, player, kind) if kind else ():
            placed, index = note.origin
            name = timeline.placed_lines[placed].line.name
            counts[name] = max(counts[name], index + 1)
    return counts


def _told(piece: Piece) -> dict[str, int]:
    """How many last notes of each line never sound, as the rule has it."""
    told = {}
    for finding in unheard_notes.check(piece, unheard_notes):
        name = re.search(r"of '([^']+)'", finding.message)
        count = re.search(r"the last (\d+) notes", finding.message)
        assert name
        told[name[1]] = int(count[1]) if count else 1
    return told


def _compared(piece: Piece) -> int:
    told = _told(piece)
    for name, sounding in _sounding(piece).items():
        line = piece.lines[name]
        players = any(piece.players_of(step, name) for step in piece.steps if name in step.uses)
        lost = len(line.notes) - sounding
        if not players or any(name in other.parts for other in piece.lines.values()):
            assert name not in told
        elif lost == 1 and not line.notes[-1].word:
            assert told.get(name, 1) == 1  # an arrival on the next line's first beat is no loss
        else:
            assert told.get(name, 0) == lost, (name, lost, told)
    return len(told)


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_demo_book_loses_nothing(path: object) -> None:
    piece = load(path).piece  # type: ignore[arg-type]
    assert piece is not None
    assert _compared(piece) == 0


def test_what_is_told_is_what_the_timeline_leaves_out() -> None:
    told = 0
    for seed in range(120):
        for text in (random_changing_piece(seed), random_form(seed)):
            piece = load_text(text).piece
            assert piece is not None
            told += _compared(piece)
    assert told > 20


def test_a_groove_behind_it_lets_the_tail_be_heard() -> None:
    head = "head: {begins: 7, sargam: P d || S R G m P m G R || S - - - - - m G}"
    other = "other: {begins: 7, sargam: P d || S - - - - - - -}"
    text = (
        "title: A\ntonic: D\nmode: charukeshi\ntempo: 90\ncycle: keherwa\n"
        f"lines:\n  {head}\n  {other}\nform:\n  - play: head\n"
    )
    lost = [f for f in findings_of(text + "  - play: other\n") if f.rule == "unheard-notes"]
    assert [f.tries[1] for f in lost] == ["leave a cycle free behind 'head' once: - groove: 1"]
    mended = findings_of(text + "  - groove: 1\n  - play: other\n")
    assert not [f for f in mended if f.rule == "unheard-notes"]
