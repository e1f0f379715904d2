"""The landing of a line: it lands, loops, is early or late, or misses (piece-language.md, 'Where a
line stands'; how-it-judges.md, 'Landing').

Lines are drawn one sign a beat: ``x`` is struck, ``-`` goes on, ``.`` is silent.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cyclechart.theory.landing import NEAR, Shape, Standing, stand


def line(drawn: str, begins: F | int, beats: F | int, each: F | int = 1) -> Standing:
    """A drawn line that begins on a beat of a cycle of so many beats; a sign lasts ``each``."""
    signs = drawn.replace(" ", "")
    onsets = tuple(number * F(each) for number, sign in enumerate(signs) if sign == "x")
    return stand(onsets, len(signs) * F(each), F(begins), F(beats))


@pytest.mark.parametrize(
    ("drawn", "begins", "beats", "shape", "pickup", "hands_over"),
    [
        # Sixteen beats.
        ("x--- x--- x--- x--- x", 1, 16, "lands", 0, 16),
        ("xx xxxx x", 11, 16, "lands", 6, 16),
        # A landing note held less than a cycle: the line hands over on the landing.
        ("xx xxxx x--- ----", 11, 16, "lands", 6, 16),
        # A whole cycle written out after the landing: the last first beat not after its end.
        ("xx xxxx x--- ---- ---- ----", 11, 16, "lands", 6, 32),
        ("xx xxxx x--- ---- ---- ---- -...", 11, 16, "lands", 6, 32),
        ("x--- x--- x--- x---", 1, 16, "loops", 0, 16),
        ("x--- x--- x--- x--- x--- x--- x--- x---", 1, 16, "loops", 0, 32),
        # Pickup and body together are one cycle: the line ends on beat 12, and hands over on the
        # first beat after, so that a repeat's pickup of four fits in.
        ("xxxx x--- x--- x---", 13, 16, "loops", 4, 32),
        # The body alone is one cycle, with a pickup before it.
        ("xxxx x--- x--- x--- x---", 13, 16, "loops", 4, 32),
        ("x--- x--- x--- x-x.", 1, 16, "loops", 0, 16),
        # The same with its last stroke on beat 16 still loops: whole cycles, first beat struck.
        ("x--- x--- x--- x--x", 1, 16, "loops", 0, 16),
        ("x--- x--- x--- x--x -", 1, 16, "early", 0, 16),
        ("x--- x--- x--- x--- -x", 1, 16, "late", 0, 32),
        ("x--- x--- x---", 1, 16, "misses", 0, 16),
        # A loop must strike the first beat that opens its body.
        (".x-- x--- x--- x---", 1, 16, "misses", 0, 16),
        # Ten beats: the head of the example piece begins on 8 and lands two cycles later.
        ("xx xx- xx xxx xxx x--- ------", 8, 10, "lands", 3, 30),
        ("xx xx- xx x", 4, 10, "lands", 7, 10),
        # Seven beats.
        ("xxx xx xx x", 1, 7, "lands", 0, 7),
        ("xxx xx xx", 1, 7, "loops", 0, 7),
        ("xx xxx xx", 6, 7, "loops", 2, 14),
        ("xx xxx xx xx", 6, 7, "loops", 2, 14),
        ("xx xxx x", 6, 7, "misses", 2, 14),
        # A struck first beat at the end of a pickup is a landing, with no body to speak of.
        ("xx x", 6, 7, "lands", 2, 7),
        # Halfway between two first beats is early.
        (".x", 1, 2, "early", 0, 2),
        # It lands as it begins: without a pickup it holds the cycle that it opens.
        ("x", 1, 8, "lands", 0, 8),
        ("x--- ----", 1, 8, "lands", 0, 8),
        ("x--- ---- ----", 1, 8, "lands", 0, 8),
        ("x--- ---- ---- ----", 1, 8, "lands", 0, 16),
        # With a pickup, be it silent, it hands over on the first beat it lands on.
        ("..x---", 7, 8, "lands", 2, 8),
        # A line of rests has nothing to land.
        ("....", 1, 7, "empty", 0, 7),
    ],
)
def test_how_a_line_of_whole_beats_stands(
    drawn: str, begins: int, beats: int, shape: Shape, pickup: int, hands_over: int
) -> None:
    standing = line(drawn, begins, beats)
    assert standing.shape == shape
    assert standing.pickup == pickup
    assert standing.hands_over == hands_over


@pytest.mark.parametrize(
    ("drawn", "begins", "shape", "pickup", "hands_over"),
    [
        # Half beats in a cycle of eleven and a half: 23 signs are a cycle.
        ("x-x-x-x- x-x-x-x- x-x-x-x", 1, "loops", 0, F(23, 2)),
        ("x-x-x-x- x-x-x-x- x-x-x-x x", 1, "lands", 0, F(23, 2)),
        ("x-x-x- x", F(19, 2), "lands", 3, F(23, 2)),
        ("x-x-x- x-x-x-x- x-x-x-x- x-x-x-x", F(19, 2), "loops", 3, 23),
        ("x-x-x-x", F(19, 2), "lands", 3, F(23, 2)),
        ("x-x-x--x", F(19, 2), "late", 3, 23),
        ("x-x-x", F(19, 2), "early", 3, F(23, 2)),
        ("x-x-", F(19, 2), "misses", 3, F(23, 2)),
    ],
)
def test_how_a_line_of_half_beats_stands_in_a_cycle_of_eleven_and_a_half(
    drawn: str, begins: F | int, shape: Shape, pickup: F | int, hands_over: F | int
) -> None:
    standing = line(drawn, begins, F(23, 2), F(1, 2))
    assert standing.shape == shape
    assert standing.pickup == pickup
    assert standing.hands_over == hands_over


def test_a_miss_is_measured_to_both_sides() -> None:
    standing = line("x--- x--- x---", 1, 16)
    assert standing.over == standing.short == 8
    standing = line("x--- x--- x--- x--- x--- x--", 1, 16)
    assert standing.over == 4
    assert standing.short == 12


def test_anagat_and_atit_reach_one_beat_and_no_further() -> None:
    # Anagat is just before sam, atit just after; a beat or less is the measure of how-it-judges.md.
    assert NEAR == 1
    half = F(1, 2)
    assert line("." + "x" * 29 + "x", 1, 16, half).shape == "early"  # last stroke on 16
    assert line("." + "x" * 28 + "x", 1, 16, half).shape == "misses"  # on 15 1/2
    assert line("." + "x" * 33 + "x", 1, 16, half).shape == "late"  # on 2
    assert line("." + "x" * 34 + "x", 1, 16, half).shape == "misses"  # on 2 1/2


@pytest.mark.parametrize(
    ("drawn", "begins", "beats", "early", "late", "shape", "hands_over"),
    [
        # The line says it is anagat by two, and that is so: it aims at the next first beat.
        ("xxxx xxx- --", 1, 8, 2, None, "early", 8),
        ("xxxx xxxx x-", 1, 12, 4, None, "early", 12),
        # Whole cycles written out after the beat it aims at are still played.
        ("xxxx xxx- ---- ----", 1, 8, 2, None, "loops", 16),
        ("xxxx xxx- ---- ---- --", 1, 8, 2, None, "early", 16),
        # What it says is not so, or it says nothing: it is what it is.
        ("xxxx xxx- --", 1, 8, 3, None, "misses", 16),
        ("xxxx xxx- --", 1, 8, None, None, "misses", 16),
        # With a pickup and body of whole cycles it says where it aims, and need not loop.
        ("xxxx x--- ---- ---- ---x ---- ---- ----", 13, 16, 1, None, "loops", 32),
        # Atit by two: the first beat is gone by, so it hands over on the one after its end.
        ("x--- ---- --x-", 1, 8, None, 2, "late", 16),
        ("x--- ---- --x-", 1, 8, None, 1, "misses", 16),
    ],
)
def test_what_a_line_says_of_its_landing_is_believed_where_it_is_so(
    drawn: str,
    begins: int,
    beats: int,
    early: int | None,
    late: int | None,
    shape: Shape,
    hands_over: int,
) -> None:
    signs = drawn.replace(" ", "")
    onsets = tuple(F(number) for number, sign in enumerate(signs) if sign == "x")
    standing = stand(
        onsets,
        F(len(signs)),
        F(begins),
        F(beats),
        early=None if early is None else F(early),
        late=None if late is None else F(late),
    )
    assert (standing.shape, standing.hands_over) == (shape, hands_over)


times = st.fractions(0, 40, max_denominator=12)


@given(
    st.lists(times, min_size=1, max_size=12, unique=True).map(lambda found: tuple(sorted(found))),
    st.fractions(F(1, 12), 20, max_denominator=12),
    st.integers(8, 160).map(lambda eighths: F(eighths, 8)),
    st.fractions(1, 20, max_denominator=8),
)
def test_the_shape_follows_from_the_list_of_first_beats(
    onsets: tuple[F, ...], tail: F, beats: F, begins: F
) -> None:
    """Brute force: every first beat is written down, and the words of the rule are tried on it."""
    assume(begins < beats + 1)
    length = onsets[-1] + tail
    begin, last, end = begins - 1, begins - 1 + onsets[-1], begins - 1 + length
    firsts = [turn * beats for turn in range(-1, int(end / beats) + 3)]
    first = min(beat for beat in firsts if beat >= begin)
    struck = {begin + onset for onset in onsets}
    whole = {turn * beats for turn in range(1, len(firsts) + 1)}
    lands = last in firsts
    loops = first in struck and end > first and (end - first in whole or length in whole)
    before = min(beat - last for beat in firsts if beat >= last)
    after = min(last - beat for beat in firsts if beat <= last)

    standing = stand(onsets, length, begins, beats)
    assert (standing.shape == "lands") == lands
    assert (standing.shape == "loops") == (loops and not lands)
    if not lands and not loops:
        near = min(before, after) <= 1
        assert (standing.shape == "misses") == (not near)
        if near and before != after:
            assert standing.shape == ("early" if before < after else "late")
    assert (standing.short, standing.over) == (before, after)
    assert standing.pickup == first - begin

    assert standing.hands_over in firsts
    if lands:
        behind = max(beat for beat in firsts if beat <= end)
        held = beats if len(onsets) == 1 and begin == last == first else 0
        assert standing.hands_over == max(behind if end - last >= beats else last, first + held)
    elif loops:
        assert standing.hands_over == min(beat for beat in firsts if beat >= end)


@given(
    st.text("x-.", min_size=1, max_size=20),
    st.integers(1, 8),
    st.sampled_from([3, 4, 5, 8]),
    st.sampled_from([F(0), F(1, 2), F(1), F(3, 2), F(5, 2)]),
)
def test_an_eduppu_stands_for_the_first_beat(
    drawn: str, begins: int, beats: int, eduppu: F
) -> None:
    # The same line so much earlier, against the first beat itself, stands alike in all respects.
    assume(begins <= beats)
    onsets = tuple(F(number) for number, sign in enumerate(drawn) if sign == "x")
    length = F(len(drawn))
    late = stand(onsets, length, begins + eduppu, F(beats), eduppu=eduppu)
    plain = stand(onsets, length, F(begins), F(beats))
    assert (late.shape, late.short, late.over) == (plain.shape, plain.short, plain.over)
    assert (late.first, late.hands_over) == (plain.first, plain.hands_over)
    for name in ("begin", "last", "end", "home"):
        assert getattr(late, name) == getattr(plain, name) + (late.eduppu)
    assert late.pickup == max(plain.pickup - late.eduppu, F(0))
    assert late.offset == late.begin - late.first
