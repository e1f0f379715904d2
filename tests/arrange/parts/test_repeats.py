"""Bars folded in every way: all short passages, and longer ones at random, read by the rules."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.arrange.parts.repeats import (
    LONGEST_ENDING,
    SHORTEST_RUN,
    WrittenBar,
    fold_bars,
    played_order,
)

Bar = tuple[str, bool, bool]
"""What it looks like, whether it rests, whether it is plain."""

KINDS: tuple[Bar, ...] = (
    ("a", False, False),
    ("b", False, False),
    ("z", True, False),
    ("y", True, False),
    ("/", False, True),
    ("%", False, True),
)


@st.composite
def passages(draw: st.DrawFn) -> list[Bar]:
    """A group played over and over; its last time may end otherwise, and a bar here or there may be
    another."""
    bars = st.sampled_from(KINDS)
    made = draw(st.lists(bars, min_size=1, max_size=6)) * draw(st.integers(1, 6))
    tail = draw(st.lists(bars, max_size=3))
    if tail:
        made[-len(tail) :] = tail
    for at in draw(st.lists(st.integers(0, len(made) - 1), max_size=2)):
        made[at] = draw(bars)
    return made


def folded(bars: Sequence[Bar]) -> list[WrittenBar]:
    looks: list[Hashable] = [look for look, _, _ in bars]
    return fold_bars(looks, [rests for _, rests, _ in bars], [plain for _, _, plain in bars])


def read(folds: Sequence[WrittenBar]) -> list[int]:
    """The bars as a reader plays them: back from a repeat's end to its beginning until it has been
    played so often; an ending only in its own times."""
    heard: list[int] = []
    at, back, turn = 0, 0, 1
    while at < len(folds):
        one = folds[at]
        if one.repeat_start and back != at:
            back, turn = at, 1
        if not one.ending or turn in one.ending:
            heard += [one.at] * max(1, one.rests)
            if one.times and turn < one.times:
                turn += 1
                at = back
                continue
        at += 1
    return heard


def check(bars: Sequence[Bar]) -> None:
    folds = folded(bars)
    # Of bars that rest nothing but that can be heard, whatever else they look like.
    heard = [("z" if bars[at][1] else bars[at][0]) for at in read(folds)]
    assert heard == ["z" if rests else look for look, rests, _ in bars]
    assert played_order(folds) == read(folds)


@pytest.mark.parametrize("count", range(1, 6))
def test_every_short_passage_is_read_as_it_was_played(count: int) -> None:
    for bars in product(KINDS, repeat=count):
        check(bars)


@given(passages())
def test_a_long_passage_is_read_as_it_was_played(bars: list[Bar]) -> None:
    check(bars)


@given(passages())
def test_no_repeat_is_in_another_and_endings_stand_at_the_end_of_one(bars: list[Bar]) -> None:
    inside = False
    for one in folded(bars):
        assert not (one.repeat_start and inside)
        inside = (inside or one.repeat_start) and not one.times
        assert one.times != 1 and one.rests >= 0
        assert not one.ending or one.ending == tuple(range(one.ending[0], one.ending[-1] + 1))
    assert not inside


@given(passages())
def test_every_time_has_one_ending_of_few_bars(bars: list[Bar]) -> None:
    # A rest of several bars is one that is written.
    endings = [one.ending for one in folded(bars) for _ in range(max(1, one.rests)) if one.ending]
    if endings:
        early, late = dict.fromkeys(endings)
        assert (*early, *late) == tuple(range(1, late[-1] + 1)) and len(late) == 1
        assert endings.count(early) == endings.count(late) <= LONGEST_ENDING


@given(passages())
def test_never_are_more_bars_written_than_played(bars: list[Bar]) -> None:
    folds = folded(bars)
    assert len(folds) <= len(bars)
    # In the order of time: a reader never goes back to what was written before.
    assert [one.at for one in folds] == sorted({one.at for one in folds})


@given(st.lists(st.sampled_from(KINDS), min_size=1, max_size=8), st.integers(2, 5))
def test_a_passage_said_again_costs_no_more_bars(bars: list[Bar], times: int) -> None:
    assert len(folded(bars * times)) <= len(bars)


def test_a_repeat_is_as_short_as_it_can_be() -> None:
    a, b = KINDS[:2]
    assert folded([a] * 4) == [WrittenBar(0, repeat_start=True, times=4)]
    assert folded([a, b] * 4) == [WrittenBar(0, repeat_start=True), WrittenBar(1, times=4)]


def test_an_ending_that_is_longer_is_written_out() -> None:
    a, b, _, _, slash, other = KINDS
    # Three of six bars differ: too long for an ending.
    line = [a, b, a, slash, b, slash]
    ended = [a, b, a, other, a, other]
    assert folded(line + ended) == [WrittenBar(at) for at in range(12)]
    assert folded([*line[:5], a, *line]) == [
        *[WrittenBar(at, repeat_start=at == 0) for at in range(5)],
        WrittenBar(5, ending=(1,), times=2),
        WrittenBar(11, ending=(2,)),
    ]


def test_two_endings_of_two_bars() -> None:
    a, b = KINDS[:2]
    rest = KINDS[2]
    assert folded([a, a, b, b, a, a, rest, b]) == [
        WrittenBar(0, repeat_start=True),
        WrittenBar(1),
        WrittenBar(2, ending=(1,)),
        WrittenBar(3, ending=(1,), times=2),
        WrittenBar(6, ending=(2,), rests=1),
        WrittenBar(7, ending=(2,)),
    ]


def test_rests_in_a_row_are_one_and_plain_bars_from_three_on() -> None:
    a, _, rest, _, slash, other = KINDS
    assert folded([rest]) == [WrittenBar(0, rests=1)]
    assert folded([a, *[rest] * 5, a, a]) == [
        WrittenBar(0),
        WrittenBar(1, rests=5),
        WrittenBar(6),
        WrittenBar(7),
    ]
    few, many = SHORTEST_RUN - 1, SHORTEST_RUN
    assert folded([a, *[slash] * few, other]) == [WrittenBar(at) for at in range(few + 2)]
    assert folded([a, *[slash] * many, other]) == [
        WrittenBar(0),
        WrittenBar(1, repeat_start=True, times=many),
        WrittenBar(many + 1),
    ]


def letters(looks: list[str]) -> list[WrittenBar]:
    """``z`` is a rest, ``/`` a plain bar."""
    return fold_bars(looks, [look == "z" for look in looks], [look == "/" for look in looks])


def test_a_line_said_twice_is_a_repeat() -> None:
    assert letters(list("abab")) == [WrittenBar(0, repeat_start=True), WrittenBar(1, times=2)]


def test_a_last_bar_of_its_own_is_written_after_a_short_repeat() -> None:
    # Gould, Behind Bars, "Repeat signs" (from memory): different endings serve a long passage; a
    # short one is clearer repeated as often as it is the same, and its last time written out.
    assert letters(list("abababax")) == [
        WrittenBar(0, repeat_start=True), WrittenBar(1, times=3), WrittenBar(6), WrittenBar(7),
    ]  # fmt: skip
    assert letters(list("aaaaaaax")) == [
        WrittenBar(0, repeat_start=True, times=7),
        WrittenBar(7),
    ]


def test_a_long_line_with_a_last_bar_of_its_own_has_endings() -> None:
    assert letters(list("abcdabcdabcx")) == [
        WrittenBar(0, repeat_start=True),
        WrittenBar(1),
        WrittenBar(2),
        WrittenBar(3, ending=(1, 2), times=3),
        WrittenBar(11, ending=(3,)),
    ]


def test_rests_and_slashes_in_a_row_are_written_once() -> None:
    assert letters(list("zzzz")) == [WrittenBar(0, rests=4)]
    assert letters(list("azzz////b")) == [
        WrittenBar(0),
        WrittenBar(1, rests=3),
        WrittenBar(4, repeat_start=True, times=4),
        WrittenBar(8),
    ]
    assert letters(list("/a//")) == [WrittenBar(0), WrittenBar(1), WrittenBar(2), WrittenBar(3)]


def test_rests_before_an_entry_are_counted_rather_than_repeated() -> None:
    assert letters(list("zzzzzzzzzzza")) == [WrittenBar(0, rests=11), WrittenBar(11)]
    assert letters(list("///////a")) == [WrittenBar(0, repeat_start=True, times=7), WrittenBar(7)]


def test_what_comes_round_within_a_passage_is_written_once() -> None:
    # A line of three cycles under sixteen of a solo: five times, and the first of it once more.
    assert letters(list("abc" * 5 + "a")) == [
        WrittenBar(0, repeat_start=True), WrittenBar(1), WrittenBar(2, times=5), WrittenBar(15),
    ]  # fmt: skip
    assert letters(list("x" + "ab" * 4)) == [
        WrittenBar(0),
        WrittenBar(1, repeat_start=True),
        WrittenBar(2, times=4),
    ]
    assert letters(list("xabab")) == [WrittenBar(at) for at in range(5)]
