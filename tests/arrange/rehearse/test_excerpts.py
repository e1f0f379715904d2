"""A score cut and joined: what stays whole, where tempi and bars stand, how curves are cut."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.scores import check_score, part_of, scores

from cyclechart.arrange.rehearse.excerpts import (
    MOST_BEATS,
    Excerpt,
    cut_hit,
    cut_sound,
    join_excerpts,
    meter_at,
    tempo_at,
)
from cyclechart.arrange.score import Hit, Marker, Meter, Part, Score, Sound, TempoMark
from cyclechart.catalog.roles import MELODY
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


def plain(**changes: Any) -> Score:
    """A score of eight beats in which nothing stands but what is given."""
    score = Score(
        title="",
        composer="",
        tonic=Tonic("D"),
        tuning=JUST_TUNING,
        tempos=(),
        meters=(),
        markers=(),
        parts=(),
        end=Fraction(8),
    )
    return replace(score, **changes)


def excerpt(start: int, end: int, **more: Any) -> Excerpt:
    return Excerpt(Fraction(start), Fraction(end), **more)


def tempos(*marks: tuple[int, int]) -> tuple[TempoMark, ...]:
    return tuple(TempoMark(Fraction(at), Fraction(tempo)) for at, tempo in marks)


def test_bars_stand_where_they_stood_after_a_splice_within_one() -> None:
    score = plain(meters=(Meter(Fraction(0), Fraction(10)),), end=Fraction(40))
    made = join_excerpts(
        score, [Excerpt(Fraction(0), Fraction(13)), Excerpt(Fraction(7), Fraction(40))]
    )
    assert made.meters == (
        Meter(Fraction(0), Fraction(10)),
        Meter(Fraction(13), Fraction(3)),
        Meter(Fraction(16), Fraction(10)),
    )


def test_bars_begin_where_the_score_first_has_them() -> None:
    score = plain(meters=(Meter(Fraction(2), Fraction(3)),))
    assert join_excerpts(score, [excerpt(0, 8)]).meters == score.meters
    assert join_excerpts(score, [excerpt(0, 2)]).meters == ()
    # Three beats on the bars go on; one beat on a bar is two beats short of its end.
    whole = join_excerpts(score, [excerpt(2, 5), excerpt(5, 8)])
    assert whole.meters == (Meter(Fraction(0), Fraction(3)),)
    short = join_excerpts(score, [excerpt(2, 5), excerpt(3, 8)])
    assert short.meters == (
        Meter(Fraction(0), Fraction(3)),
        Meter(Fraction(3), Fraction(2)),
        Meter(Fraction(5), Fraction(3)),
    )
    # An excerpt that ends with the short bar has no bar after it.
    assert join_excerpts(score, [excerpt(3, 5)]).meters == (Meter(Fraction(0), Fraction(2)),)


def test_a_mark_at_the_end_of_the_score_belongs_to_the_last_excerpt_alone() -> None:
    marks = (Marker(Fraction(0), "head"), Marker(Fraction(4), "tail"), Marker(Fraction(8), "end"))
    score = plain(markers=marks)

    def heard(*excerpts: Excerpt) -> list[tuple[int, str]]:
        return [(int(mark.at), mark.text) for mark in join_excerpts(score, excerpts).markers]

    assert heard(excerpt(0, 8), excerpt(4, 8)) == [
        (0, "head"),
        (4, "tail"),
        (8, "tail"),
        (12, "end"),
    ]
    assert heard(excerpt(0, 8), excerpt(0, 4)) == [(0, "head"), (4, "tail"), (8, "head")]
    assert heard(excerpt(1, 4)) == []


def test_an_excerpt_has_its_own_texts_and_an_opening() -> None:
    score = plain(markers=(Marker(Fraction(4), "tail"), Marker(Fraction(6), "")))
    again = excerpt(4, 8, opening="again", marker_text=lambda mark: mark.text and f"{mark.text} 2")
    silent = excerpt(4, 8, marker_text=lambda mark: None)
    made = join_excerpts(score, [again, silent, excerpt(4, 8)])
    assert made.markers == (
        Marker(Fraction(0), "again"),
        Marker(Fraction(0), "tail 2"),
        Marker(Fraction(2), ""),
        Marker(Fraction(8), "tail"),
        Marker(Fraction(10), ""),
    )


def test_tempi_are_in_force_from_each_seam_and_stand_once() -> None:
    score = plain(tempos=tempos((0, 60), (4, 90)))
    made = join_excerpts(score, [excerpt(4, 8), excerpt(0, 8), excerpt(4, 8)])
    assert made.tempos == tempos((0, 90), (4, 60), (8, 90))


def test_a_score_without_a_tempo_has_the_usual_one() -> None:
    """120 beats a minute, as in a MIDI file (Standard MIDI Files 1.0)."""
    assert tempo_at(plain(), Fraction(0)) == 120
    assert join_excerpts(plain(), [excerpt(0, 8), excerpt(0, 8)]).tempos == ()
    late = plain(tempos=tempos((2, 60)))
    assert [tempo_at(late, Fraction(time, 2)) for time in (0, 3, 4, 5)] == [120, 120, 60, 60]
    assert join_excerpts(late, [excerpt(0, 4)]).tempos == tempos((2, 60))
    assert join_excerpts(late, [excerpt(0, 4), excerpt(0, 4)]).tempos == tempos(
        (2, 60), (4, 120), (6, 60)
    )


def test_bars_are_found_by_their_time() -> None:
    first, second = Meter(Fraction(2), Fraction(3)), Meter(Fraction(5), Fraction(4))
    score = plain(meters=(first, second))
    assert [meter_at(score, Fraction(time)) for time in (0, 2, 4, 5, 8)] == [
        None, first, first, second, second,
    ]  # fmt: skip


def test_what_begins_before_an_excerpt_or_after_it_is_left_out() -> None:
    sounds = tuple(Sound(Fraction(at), Fraction(3), at, 90) for at in (0, 2, 4, 6))
    hits = tuple(Hit(Fraction(at), Fraction(3), 40 + at, 90) for at in (0, 2, 4, 6))
    score = plain(parts=(Part("reed", MELODY, 0, sounds, hits),))
    made = join_excerpts(score, [excerpt(2, 6), excerpt(0, 2, silent=frozenset({"reed"}))])
    (part,) = made.parts
    assert [(one.start, one.length, one.pitch) for one in part.sounds] == [(0, 3, 2), (2, 2, 4)]
    assert [(one.start, one.length, one.key) for one in part.hits] == [(0, 3, 42), (2, 2, 44)]
    assert made.end == 6


@pytest.mark.parametrize(("end", "length"), [(5, 2), (6, 3), (7, 3)])
def test_a_hit_is_cut_just_where_it_rings_beyond(end: int, length: int) -> None:
    assert cut_hit(Hit(Fraction(3), Fraction(3), 40, 90), Fraction(end)).length == length


def test_a_score_has_just_so_many_beats() -> None:
    score = plain(end=Fraction(MOST_BEATS))
    assert join_excerpts(score, [excerpt(0, MOST_BEATS)]).end == MOST_BEATS == 100_000
    with pytest.raises(ValueError, match="that makes 100,001 beats; 100,000 is the most"):
        join_excerpts(score, [excerpt(0, MOST_BEATS), excerpt(0, 1)])


def test_a_curve_is_cut_with_points_where_its_lines_are_cut() -> None:
    """From 0 up to 4 in four beats: a beat later it is at 1, at its third beat at 3."""
    curve = ((Fraction(0), 0.0), (Fraction(4), 4.0))
    sound = Sound(Fraction(10), Fraction(6), 0, 90, curve=curve)
    cut = cut_sound(sound, Fraction(11), Fraction(13))
    assert cut.curve == ((Fraction(0), 1.0), (Fraction(2), 3.0))
    assert cut_sound(sound, Fraction(10), Fraction(14)).curve == curve
    assert cut_sound(sound, Fraction(10), Fraction(15)).curve == curve
    assert cut_sound(sound, Fraction(9), Fraction(20)) is sound
    assert cut_sound(sound, Fraction(10), Fraction(16)) is sound
    # On a point there is one already; beyond the last one the pitch is held.
    assert cut_sound(sound, Fraction(14), Fraction(16)).curve == ((Fraction(0), 4.0),)
    assert cut_sound(sound, Fraction(15), Fraction(16)).curve == ((Fraction(0), 4.0),)
