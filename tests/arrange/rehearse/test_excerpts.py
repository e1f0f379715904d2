"""A score cut and joined: what stays whole, where tempi and bars stand, how curves are cut."""

from __future__ import annotations

from fractions import Fraction

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.scores import check_score, part_of, scores

from cyclechart.arrange.rehearse.excerpts import Excerpt, cut_sound, join_excerpts, tempo_at
from cyclechart.arrange.score import Meter, Score, Sound
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import JUST_TUNING

FEW = settings(max_examples=30)


@FEW
@given(scores())
def test_a_whole_score_in_one_take_is_itself(score: Score) -> None:
    assert join_excerpts(score, [Excerpt(Fraction(0), score.end)]) == score


@FEW
@given(scores(), st.data())
def test_a_drone_is_not_heard_to_be_spliced(score: Score, data: st.DataObject) -> None:
    at = score.end * data.draw(st.fractions(Fraction(1, 50), Fraction(49, 50), max_denominator=50))
    made = join_excerpts(score, [Excerpt(Fraction(0), at), Excerpt(at, score.end)])
    check_score(made)
    assert part_of(made, "drone") == part_of(score, "drone")
    assert made.markers == score.markers
    times = [score.end * Fraction(n, 40) for n in range(41)]
    assert [tempo_at(made, time) for time in times] == [tempo_at(score, time) for time in times]


@given(
    st.lists(st.tuples(st.integers(0, 40), st.floats(-12, 12)), min_size=1, max_size=6),
    st.integers(0, 20),
    st.integers(21, 40),
)
def test_a_cut_curve_goes_where_it_went(
    points: list[tuple[int, float]], start: int, end: int
) -> None:
    curve = tuple(sorted({Fraction(at, 4): by for at, by in points}.items()))
    sound = Sound(Fraction(3), Fraction(10), 0, 90, curve=curve)
    begin = Fraction(start, 4)
    cut = cut_sound(sound, 3 + begin, 3 + Fraction(end, 4))
    assert (cut.start, cut.length) == (3 + begin, Fraction(end - start, 4))
    if not cut.curve:
        assert not any(start <= at * 4 <= end for at, _ in curve)
        return
    # numpy.interp joins points by straight lines and holds the first and last, as a curve does.
    times = [float(cut.length) * n / 16 for n in range(17)]
    was = numpy.interp(
        [float(begin) + time for time in times], [float(t) for t, _ in curve], [b for _, b in curve]
    )
    now = numpy.interp(times, [float(t) for t, _ in cut.curve], [b for _, b in cut.curve])
    assert now == pytest.approx(was, abs=1e-9)


def test_bars_stand_where_they_stood_after_a_splice_within_one() -> None:
    score = Score(
        title="",
        composer="",
        tonic=Tonic("D"),
        tuning=JUST_TUNING,
        tempos=(),
        meters=(Meter(Fraction(0), Fraction(10)),),
        markers=(),
        parts=(),
        end=Fraction(40),
    )
    made = join_excerpts(
        score, [Excerpt(Fraction(0), Fraction(13)), Excerpt(Fraction(7), Fraction(40))]
    )
    assert made.meters == (
        Meter(Fraction(0), Fraction(10)),
        Meter(Fraction(13), Fraction(3)),
        Meter(Fraction(16), Fraction(10)),
    )
