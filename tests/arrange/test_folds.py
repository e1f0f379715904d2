"""Bars written once are played as often as they were."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.arrange.folding import LONGEST_ENDING, Fold, fold, unfolded

LETTERS = st.lists(st.sampled_from("abz/"), min_size=1, max_size=40)
GROUPS = st.builds(
    lambda group, times, tail: group * times + group[: len(group) - len(tail)] + tail,
    st.lists(st.sampled_from("abc/"), min_size=1, max_size=6),
    st.integers(1, 6),
    st.lists(st.sampled_from("xy"), max_size=3),
)


def folded(looks: list[str]) -> list[Fold]:
    """``z`` is a rest, ``/`` a plain bar."""
    return fold(looks, [look == "z" for look in looks], [look == "/" for look in looks])


@given(LETTERS | GROUPS)
def test_unfolded_again_it_is_what_was_played(looks: list[str]) -> None:
    folds = folded(looks)
    assert [looks[at] for at in unfolded(folds)] == looks


@given(LETTERS | GROUPS)
def test_endings_are_short_and_repeats_are_closed(looks: list[str]) -> None:
    folds = folded(looks)
    assert sum(one.opens for one in folds) == sum(one.times > 0 for one in folds)
    runs = [one.ending for one in folds if one.ending]
    assert all(runs.count(ending) <= LONGEST_ENDING for ending in runs)


def test_a_line_said_twice_is_a_repeat() -> None:
    assert folded(list("abab")) == [Fold(0, opens=True), Fold(1, times=2)]


def test_a_last_bar_of_its_own_is_an_ending() -> None:
    assert folded(list("abababax")) == [
        Fold(0, opens=True), Fold(1, ending=(1, 2, 3), times=4), Fold(7, ending=(4,)),
    ]  # fmt: skip


def test_rests_and_slashes_in_a_row_are_written_once() -> None:
    assert folded(list("zzzz")) == [Fold(0, rests=4)]
    assert folded(list("azzz////b")) == [
        Fold(0), Fold(1, rests=3), Fold(4, opens=True, times=4), Fold(8),
    ]  # fmt: skip
    assert folded(list("/a//")) == [Fold(0), Fold(1), Fold(2), Fold(3)]
