"""Cycles dealt out to systems: as few systems as hold them, none much the fuller.

Checked against every way to deal them out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.arrange.sheet.measures import Measure
from cyclechart.write.engraving.engraver import MARGIN
from cyclechart.write.engraving.system_breaks import IN_REPEAT, ROOMY, deal

LINE = 1000
ROOM = (LINE - MARGIN) * 10


def cycles(count: int, sections: int = 1) -> list[Measure]:
    return [
        Measure(
            start=Fraction(4 * number),
            length=Fraction(4),
            cycle=number // sections + 1,
            beat=Fraction(4 * (number % sections) + 1),
            sign="",
            opens=number % sections == 0,
            closes=number % sections == sections - 1,
            whole=True,
        )
        for number in range(count * sections)
    ]


def every_deal(widths: Sequence[int]) -> Iterator[tuple[list[int], list[int]]]:
    """Every way to break cycles into systems that hold them: the breaks, and the widths."""
    count = len(widths)
    for systems in range(1, count + 1):
        for breaks in combinations(range(1, count), systems - 1):
            edges = [0, *breaks, count]
            sums = [sum(widths[a:b]) for a, b in pairwise(edges)]
            single = [b - a == 1 for a, b in pairwise(edges)]
            if all(one or w <= ROOM * ROOMY for w, one in zip(sums, single, strict=True)):
                yield list(breaks), sums


@given(st.lists(st.integers(ROOM // 9, ROOM), min_size=1, max_size=9))
def test_the_fewest_systems_are_taken_and_none_is_much_the_fuller(widths: list[int]) -> None:
    breaks, _ = deal(cycles(len(widths)), widths, 0, LINE)
    found = {tuple(breaks): sums for breaks, sums in every_deal(widths)}
    assert tuple(breaks) in found
    fewest = min(map(len, found))
    assert len(breaks) == fewest
    mean = sum(widths) / (fewest + 1)

    def unevenness(sums: Sequence[int]) -> float:
        return sum(((width - mean) / ROOM) ** 2 for width in sums)

    best = min(unevenness(sums) for breaks, sums in found.items() if len(breaks) == fewest)
    assert unevenness(found[tuple(breaks)]) <= best + 1e-6


def test_four_equal_cycles_are_two_and_two_where_three_would_fit() -> None:
    assert deal(cycles(4), [ROOM // 4 + 10] * 4, 0, LINE)[0] == [2]


def test_a_break_rather_stands_before_a_repeat_than_within_it() -> None:
    measures = cycles(5)
    measures[3] = replace(measures[3], forward=True)
    measures[4] = replace(measures[4], times=2)
    width = ROOM // 5 + 100
    # 3 + 2 and 2 + 3 are as even: the break stands where the repeat begins.
    assert deal(measures, [width] * 5, 0, LINE)[0] == [3]
    measures = cycles(5)
    measures[1] = replace(measures[1], forward=True)
    measures[2] = replace(measures[2], times=2)
    assert deal(measures, [width] * 5, 0, LINE)[0] == [3]
    assert IN_REPEAT > 0


def test_a_wide_cycle_breaks_at_its_sections_and_its_neighbours_stay_whole() -> None:
    measures = cycles(3, sections=4)
    narrow, wide = ROOM // 12, ROOM // 3
    widths = [narrow] * 4 + [wide] * 4 + [narrow] * 4
    breaks, fullest = deal(measures, widths, 0, LINE)
    assert breaks == [4, 6, 8]
    assert fullest <= 1
