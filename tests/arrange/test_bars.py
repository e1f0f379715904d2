"""The bars of a piece: they fill its time, are counted as the MIDI file counts, step by step."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from support.making import (
    CHANGING_SEEDS,
    DEMO_BOOK,
    PIECE_SEEDS,
    ROOT,
    load_text,
    piece_of,
    random_changing_piece,
    random_piece,
)

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.bars import bars_of, passages_of
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece

LINES = "lines:\n  head: {sargam: S R G m P d n S' n d}\n  up: {begins: 8, sargam: P d n S' -}\n"


def read(text: str) -> Piece:
    piece = load_text(text, ROOT).piece
    assert piece is not None
    return piece


def check(piece: Piece) -> None:
    timeline = unroll(piece)
    bars = bars_of(timeline)
    # They fill the time, and none is empty.
    assert bars[0].start == 0 and bars[-1].end == timeline.end
    assert all(one.end == two.start for one, two in pairwise(bars))
    assert all(bar.start < bar.end for bar in bars)
    # One turn of the cycle; but for what is free only the last may be cut off.
    for bar in bars[:-1]:
        assert bar.whole or bar.stretch.kind == "free"
    for bar in bars:
        assert bar.stretch.start <= bar.start < bar.end <= bar.stretch.end
        assert (bar.number > 0) == (bar.stretch.kind == "metered")
        assert bar.length <= bar.stretch.cycle.beats or bar.stretch.kind == "free"
    numbers = [bar.number for bar in bars if bar.number]
    assert numbers == list(range(1, len(numbers) + 1))
    # The markers of the MIDI file, on beat 1 of each cycle.
    marked = {
        marker.at: int(marker.text.split()[1])
        for marker in arrange(piece).markers
        if marker.text.startswith("cycle ") and f"{marker.text} ".split(" beat ")[1][:2] == "1 "
    }
    assert {bar.start: bar.number for bar in bars if bar.number} == marked
    passages = passages_of(timeline)
    assert tuple(bar for passage in passages for bar in passage.bars) == bars
    steps = [passage.step for passage in passages]
    assert steps == sorted(set(steps)) and set(steps) <= {-1, *range(len(piece.steps))}
    for passage in passages:
        assert {bar.stretch.step for bar in passage.bars} == {passage.step}
        free = {bar.stretch.kind == "free" for bar in passage.bars}
        assert free == {passage.free}
        if passage.step >= 0:
            step = piece.steps[passage.step]
            assert passage.free != piece.is_metered(step)
            turns = [bar.stretch.turn for bar in passage.bars]
            assert turns == sorted(turns) and set(turns) <= set(range(1, step.times + 1))
            # A step's own bars are in its cycle; what a pickup waits in before it is not its own.
            own = [bar.stretch for bar in passage.bars if bar.number]
            assert all(one.cycle == step.cycle for one in own)


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_bars_of_the_demo_book(path: Path) -> None:
    piece = load(path).piece
    assert piece is not None
    check(piece)


@pytest.mark.parametrize("seed", PIECE_SEEDS)
def test_the_bars_of_random_pieces(seed: int) -> None:
    check(read(random_piece(seed)))


@pytest.mark.parametrize("seed", CHANGING_SEEDS)
def test_the_bars_of_random_pieces_that_change_their_cycle(seed: int) -> None:
    check(read(random_changing_piece(seed)))


def test_the_count_in_is_not_counted_and_belongs_to_the_first_step() -> None:
    timeline = unroll(piece_of(f"{LINES}form: [{{play: head}}, {{play: up}}]\n"))
    bars = bars_of(timeline)
    assert [(bar.stretch.kind, bar.number) for bar in bars[:3]] == [
        ("count-in", 0),
        ("metered", 1),
        ("metered", 2),
    ]
    assert bars[0].stretch.step == 0


def test_what_leads_in_after_a_free_passage_is_not_counted() -> None:
    text = f"{LINES}form:\n  - {{play: head}}\n  - {{free: melody, seconds: 9}}\n  - {{play: up}}\n"
    bars = bars_of(unroll(piece_of(text)))
    found = [(bar.stretch.kind, bar.number) for bar in bars]
    assert found[:5] == [
        ("count-in", 0), ("metered", 1), ("free", 0), ("lead-in", 0), ("metered", 2),
    ]  # fmt: skip


def test_the_last_bar_ends_where_the_piece_ends() -> None:
    bars = bars_of(unroll(piece_of(f"{LINES}form: [{{play: up}}]\n")))
    assert not bars[-1].whole
    assert Fraction(0) < bars[-1].length < 10
