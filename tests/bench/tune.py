"""The tune that everything is timed on: a clean line of so many notes, the same on every run.

Charukeshi in D over jhaptal (10 beats), just tuning. Tones walk by step, at random with seed 1,
between low S and high m. Each beat is a plain note, two halves, three in the time of a beat, four
quarters, a half and two quarters, or a beat more of the plain note or second half before. The last
note is S on a first beat, so that no rule finds anything.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Score, Sound
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import read_piece
from cyclechart.piece.model import Piece
from cyclechart.rules.judge import RULE_NAMES, judge

SIZES = (300, 3_000, 30_000)
"""Melody notes."""

BEATS = 10
TONES = tuple(tone + mark for mark in (",", "", "'") for tone in "SRGmPdn")[: 2 * 7 + 4]
SHAPES = (("?",) * 5, ("??",) * 5, ("???",) * 2, ("????",) * 2, ("?-??",), ("-",) * 3)
SEED = 1

HEADING = """\
title: A long line
composer: The bench
tonic: D
mode: charukeshi
cycle: jhaptal
tempo: 92
tuning: just
count-in: 0
lines:
  head:
    sargam: |
"""


@cache
def text_of(count: int) -> str:
    """The piece file with ``count`` notes, one cycle of the cycle a row."""
    cells = _cells(count)
    rows = [cells[at : at + BEATS] for at in range(0, len(cells), BEATS)]
    return HEADING + "".join(f"      {' '.join(row)}\n" for row in rows)


def _cells(count: int) -> list[str]:
    """A cell a beat."""
    dice = random.Random(SEED)
    shapes = [shape for group in SHAPES for shape in group]
    cells: list[str] = []
    left, at = count - 1, 7
    before = ""
    while left:
        shape = dice.choice(shapes)
        held = shape == "-" and len(before) < 3 and len(cells) % BEATS
        if shape.count("?") > left or (shape == "-" and not held):
            shape = "?"
        before = shape
        left -= shape.count("?")
        while "?" in shape:
            at += 1 if at == 0 else -1 if at == len(TONES) - 1 else dice.choice((-1, 1))
            shape = shape.replace("?", TONES[at], 1)
        cells.append(shape)
    cells += ["-"] * (-len(cells) % BEATS)
    return [*cells, "S", *["-"] * (BEATS - 1)]


@cache
def piece_of(count: int) -> Piece:
    """The tune read; it must be whole and clean."""
    loaded = read_piece("bench.yaml", text_of(count).encode(), RULE_NAMES)
    assert loaded.piece is not None
    found = [*loaded.findings, *judge(loaded.piece)]
    assert not found, found[:3]
    assert len(loaded.piece.lines["head"].notes) == count
    return loaded.piece


@cache
def score_of(count: int) -> Score:
    """The tune arranged, its melody alone: without drums and drone."""
    score = arrange(piece_of(count))
    (melody,) = (part for part in score.parts if part.role.name == "melody")
    assert len(melody.sounds) == count
    return replace(score, parts=(melody,))


def sounds_of(count: int) -> tuple[Sound, ...]:
    """The melody's sounds: what the other libraries are given too."""
    return score_of(count).parts[0].sounds


@cache
def sheet_for(count: int) -> Sheet:
    """Return the tune formatted for reading."""
    return sheet_of(piece_of(count))
