"""Played times on the coarsest cells."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from cyclechart.transcription.quantising import (
    PLAYED_RESIDUE,
    halved_beats,
    plainest,
    quantised,
    simplest_between,
    unswung,
)

TICK = Fraction(1, 480)


def spans(*starts: str) -> list[tuple[Fraction, Fraction]]:
    times = [Fraction(start) for start in starts]
    return [(start, after) for start, after in zip(times, [*times[1:], times[-1] + 1], strict=True)]


@pytest.mark.parametrize("parts", [*range(1, 17), 24])
def test_exact_times_stay(parts: int) -> None:
    given = spans(*(f"{number}/{parts}" for number in range(2 * parts)))
    ticks = [(Fraction(round(a * 480), 480), Fraction(round(b * 480), 480)) for a, b in given]
    found = quantised(ticks, TICK)
    assert list(found.spans) == given
    assert found.residue <= TICK


@pytest.mark.parametrize("seed", range(20))
def test_what_is_played_a_little_off_is_put_on_the_cells(seed: int) -> None:
    dice = random.Random(seed)
    parts = dice.choice([1, 2, 3, 4])
    meant = [Fraction(number, parts) for number in range(1, 12 * parts)]
    most = Fraction(1, 12 * parts)
    off = [start + most * dice.randint(-99, 99) / 100 for start in meant]
    played = [(Fraction(round(start * 480), 480), start + Fraction(1, 2 * parts)) for start in off]
    found = quantised(played, TICK)
    assert found.residue <= PLAYED_RESIDUE
    wrong = [one for one, (start, _) in zip(meant, found.spans, strict=True) if one != start]
    assert len(wrong) * 10 <= len(meant)


def test_a_gap_that_only_parts_two_notes_is_closed_and_a_rest_stays() -> None:
    found = quantised([(Fraction(0), Fraction(9, 10)), (Fraction(1), Fraction(3, 2)),
                       (Fraction(2), Fraction(3))], TICK)  # fmt: skip
    assert found.spans[0] == (0, 1)
    assert found.spans[1] == (1, Fraction(3, 2))


def test_plainest() -> None:
    assert plainest(Fraction(69, 480), TICK, 16) == Fraction(1, 7)
    assert plainest(Fraction(5, 480) + 3, TICK, 16) == Fraction(5, 480) + 3
    assert simplest_between(Fraction(3, 10), Fraction(4, 10)) == Fraction(1, 3)


def test_swung_halves_are_written_even() -> None:
    swung = spans("0", "2/3", "1", "5/3", "2", "8/3", "3", "11/3", "4", "13/3", "14/3")
    assert halved_beats([start for start, _ in swung]).swung == 4
    starts = [start for start, _ in unswung(swung, Fraction(2))]
    assert starts[:4] == [0, Fraction(1, 2), 1, Fraction(3, 2)]
    assert starts[-2:] == [Fraction(13, 3), Fraction(14, 3)]  # a triplet stays
