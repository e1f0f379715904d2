"""Measures of a cycle and of a free line, and measures cut: against the sections' own sums."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from support.making import piece_of
from support.timelines import CYCLES, ODD, cycle

from cyclechart.arrange.sheet.measures import CLOSING, OPENING, Measure, free_measures, measures_of
from cyclechart.theory.cycle import Cycle

EVERY = st.sampled_from([*map(cycle, CYCLES), *ODD])
TIMES = st.fractions(-40, 40, max_denominator=4)


def edges(one: Cycle, begin: F, end: F) -> list[F]:
    """Where sections begin from the cycle before ``begin`` to the one after ``end``."""
    found = []
    turn = begin // one.beats - 1
    while turn * one.beats <= end + one.beats:
        at = turn * one.beats
        for size in one.sections:
            found.append(F(at))
            at += size
        turn += 1
    return found


@given(EVERY, TIMES, st.fractions(F(1, 4), 40, max_denominator=4), st.booleans())
def test_measures_are_the_sections(one: Cycle, begin: F, length: F, pads: bool) -> None:
    end = begin + length
    found = measures_of(one, begin, end, pads)
    every = edges(one, begin, end)
    inside = [at for at in every if begin < at < end]
    last = next(at for at in every if at >= end) if pads else end
    starts = [begin, *inside]
    assert [m.start for m in found] == starts
    assert [m.end for m in found] == [*inside, last]
    for m in found:
        turn = m.start // one.beats
        within = m.start - turn * one.beats
        assert (m.cycle, m.beat) == (turn + 1, within + 1)
        assert m.opens == (within == 0)
        assert m.closes == (m.end % one.beats == 0)
        assert m.whole == (m.start in every and m.end in every)
        assert m.sign == one.signs.get(within, "")
        assert (m.forward, m.times, m.ending, m.rests, m.jumps) == (False, 0, (), 0, ())


@given(st.sets(st.fractions(-1, 12, max_denominator=3)), st.sampled_from([(), OPENING, CLOSING]))
def test_a_measure_cut_is_the_measure_in_pieces(times: set[F], jumps: tuple[str, ...]) -> None:
    whole = Measure(
        start=F(2), length=F(7), cycle=3, beat=F(4), sign="2", opens=True, closes=True, whole=True,
        forward=True, times=2, ending=(1, 2), jumps=(*jumps, "segno", "Fine"),
    )  # fmt: skip
    pieces = list(whole.cut(times))
    inside = sorted(time for time in times if 2 < time < 9)
    assert [(one.start, one.end) for one in pieces] == list(pairwise([F(2), *inside, F(9)]))
    if not inside:
        assert pieces == [replace(whole, jumps=pieces[0].jumps)]
    first, last = pieces[0], pieces[-1]
    assert (first.opens, first.forward, first.sign) == (True, True, "2")
    assert (last.closes, last.times) == (True, 2)
    assert [one.opens or one.forward or one.sign != "" for one in pieces[1:]] == [False] * len(
        pieces[1:]
    )
    assert [one.closes or one.times != 0 for one in pieces[:-1]] == [False] * len(pieces[:-1])
    for one in pieces:
        assert one.beat == 4 + one.start - 2
        assert one.ending == (1, 2)
        assert one.whole == (not inside)
        wanted = (one is first and set(OPENING)) or set()
        wanted = wanted | ((one is last and set(CLOSING)) or set())
        assert one.jumps == tuple(jump for jump in whole.jumps if jump in wanted)
    assert not any(
        one.opens or one.closes for one in replace(whole, opens=False, closes=False).cut(times)
    )


@given(
    st.lists(
        st.sampled_from(["S", "S -", "R - - -", "G/2", "z -", "P - - - - - - - - -"]), max_size=30
    )
)
def test_a_free_line_is_cut_where_a_note_begins(cells: list[str]) -> None:
    text = " ".join(["S", *cells])
    line = piece_of(f'lines:\n  a: {{lands: free, sargam: "{text}"}}\n').lines["a"]
    found = free_measures(line)
    assert [m.start for m in found[1:]] == [m.end for m in found[:-1]]
    assert (found[0].start, found[-1].end) == (0, line.length)
    begun = {note.start for note in line.notes}
    for number, (m, after) in enumerate(pairwise(found), start=1):
        assert m.length >= 8
        assert after.start in begun
        # At the first note that may stand at the head of one.
        assert not any(m.start + 8 <= at < after.start for at in begun)
        assert line.length - after.start >= 2
        assert (m.cycle, m.opens, m.closes, m.whole, m.beat, m.sign) == (
            number, number == 1, False, True, 1, "",
        )  # fmt: skip
    tail = found[-1]
    assert not any(at - tail.start >= 8 and line.length - at >= 2 for at in begun)
