"""How near a line is to another mode, worked out anew from the weights that are documented."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.landing import stand
from cyclechart.theory.likeness import Heard, Nearer, compare, says_enough
from cyclechart.theory.mode import Mode
from cyclechart.theory.turns import turns

F = Fraction
UP, DOWN = (0, 2, 4, 7, 9, 12), (12, 9, 7, 4, 2, 0)
MODES = [
    Mode(name="evening", ascent=UP, descent=DOWN, vadi=4, samvadi=9, rests=(0, 4, 7),
         phrases=((7, 4, 9, 7, 4), (4, 2, 0))),
    Mode(name="morning", ascent=UP, descent=DOWN, vadi=9, samvadi=4, rests=(0, 7, 9),
         phrases=((9, 7, 4, 7, 9), (12, 9, 7, 9), (9, 12, 9, 9))),
    Mode(name="bent", ascent=(0, 4, 2, 7, 9, 12), descent=(12, 7, 9, 4, 2, 0), vadi=7, samvadi=0,
         phrases=((0, 4, 2, 7), (9, 9, 12), (4, 7, 4), (2, 4, 7))),
    Mode(name="gapped", ascent=(0, 2, 7, 9, 12), descent=DOWN, vadi=0, phrases=((2, 7, 2),)),
    Mode(name="bare", ascent=UP, descent=DOWN),
]  # fmt: skip
PITCHES = st.sampled_from([-3, 0, 2, 4, 7, 9, 12, 14, 16])
BREATHS = st.lists(st.lists(PITCHES, min_size=1, max_size=9), min_size=1, max_size=5)


def heard(breaths: list[list[int]]) -> Heard:
    """Notes as long as each other; each breath ends in a rest."""
    count = Counter(pitch % 12 for breath in breaths for pitch in breath)
    shares = {tone: number / count.total() for tone, number in count.items()}
    rests = tuple(breath[-1] % 12 for breath in breaths)
    return Heard(shares, rests, tuple(map(tuple, breaths)))


def plain(pitches: tuple[int, ...] | list[int]) -> list[int]:
    return [p for at, p in enumerate(pitches) if at == 0 or p != pitches[at - 1]]


def stands(phrase: tuple[int, ...], line: list[int]) -> bool:
    wanted = plain(phrase)
    return any(
        line[at : at + len(wanted)] == [pitch + 12 * octave for pitch in wanted]
        for at in range(len(line))
        for octave in range(-3, 4)
    )


def chief(mode: Mode) -> dict[int, int]:
    """The chief tones but for Sa, each with its weight: the vadi counts twice."""
    weights: dict[int, int] = {}
    for tone, weight in ((mode.vadi, 2), (mode.samvadi, 1)):
        if tone:
            weights.setdefault(tone, weight)
    return weights


def leaning(mode: Mode, line: Heard) -> float:
    """The part of an even share that the chief tones have."""
    weights = chief(mode)
    time = sum(weight * line.shares.get(tone, 0.0) for tone, weight in weights.items())
    return time / sum(weights.values()) * len(mode.up | mode.down)


def resting(mode: Mode) -> set[int]:
    named = {tone for tone in (mode.vadi, mode.samvadi) if tone is not None}
    return set(mode.rests) or (named | {0, 7} if named else set())


def own_phrases(mode: Mode, other: Mode, line: Heard) -> list[tuple[int, ...]]:
    """Of three tones at least, in the line, and nowhere in the other mode's phrases or paths."""
    elsewhere = [plain(phrase) for phrase in other.phrases]
    for path, by in ((other.ascent, 12), (other.descent, -12)):
        copy = [pitch + by for pitch in path]
        elsewhere.append(list(path))
        for at, pitch in enumerate(path):
            if pitch in copy:
                elsewhere.append([*path[:at], *copy[copy.index(pitch) :]])
    return [
        phrase
        for phrase in mode.phrases
        if len(plain(phrase)) >= 3
        and any(stands(phrase, plain(breath)) for breath in line.breaths)
        and not any(stands(phrase, way) for way in elsewhere)
    ]


def against(mode: Mode, line: Heard) -> int:
    return sum(
        len(list(judge_breath(mode, breath))) + len(list(turns(mode, breath)))
        for breath in line.breaths
    )


def in_register(own: Mode, other: Mode, line: Heard) -> float:
    """The time in the other's register less that in its own, by the names of the registers."""
    if not own.register or not other.register or own.register == other.register:
        return 0.0
    return line.registers.get(other.register, 0.0) - line.registers.get(own.register, 0.0)


def without(own: Mode, other: Mode, line: Heard) -> float:
    """0.3 for each tone that only its own mode has and the line has not, 0.6 at most; less 0.3 for
    each that only the other has; nothing in a line of fewer than twelve notes."""
    if sum(len(plain(breath)) for breath in line.breaths) < 12:
        return 0.0
    ours, theirs = own.up | own.down, other.up | other.down
    missing = [tone for tone in ours - theirs if tone not in line.shares]
    needless = [tone for tone in theirs - ours if tone not in line.shares]
    return min(0.6, 0.3 * len(missing)) - 0.3 * len(needless)


@given(st.sampled_from(MODES), st.sampled_from(MODES), BREATHS)
def test_the_six_weights_are_those_that_are_written_down(
    own: Mode, other: Mode, breaths: list[list[int]]
) -> None:
    line = heard(breaths)
    lean = rests = 0.0
    if chief(own) and chief(other):
        theirs, mine = leaning(other, line), leaning(own, line)
        if not mine < theirs < 1.25:
            lean = min(1.0, max(-1.0, theirs - mine))
    if len(line.rests) >= 2:
        on_theirs = sum(tone in resting(other) for tone in line.rests)
        on_mine = sum(tone in resting(own) for tone in line.rests)
        if other.rests or on_theirs <= on_mine:
            rests = 0.75 * (on_theirs - on_mine) / len(line.rests)
    worth = {0: 0.0, 1: 0.6}
    has = own_phrases(other, own, line)
    theirs = worth.get(len(has), 0.9)
    mine = worth.get(len(own_phrases(own, other, line)), 0.9)
    notes = sum(len(plain(breath)) for breath in line.breaths)
    a, b = against(own, line), against(other, line)
    moves = max(-1.0, min(0.6, 4 * (a - b) / max(1, notes)))
    if 0 < a < 2 * b or a == 1:
        moves = min(moves, 0.0)
    register, unused = in_register(own, other, line), without(own, other, line)

    nearer = compare(own, other, line)
    assert nearer.lean == pytest.approx(lean)
    assert nearer.rests == pytest.approx(rests)
    assert nearer.has == tuple(has)
    assert nearer.register == pytest.approx(register)
    assert nearer.unused == pytest.approx(unused)
    # What cannot reach the margin of 0.8 any more is not worked out to its end.
    so_far = lean + rests + theirs + register + unused
    if so_far + 0.6 >= 0.8 + 1e-9:
        assert nearer.phrases == pytest.approx(theirs - mine)
        if so_far - mine + 0.6 >= 0.8 + 1e-9:
            assert nearer.moves == pytest.approx(moves)
            assert nearer.against == (a, b)
    six = (lean, rests, theirs - mine, moves, register, unused)
    if abs(sum(six) - 0.8) > 1e-9 and all(abs(one - 0.25) > 1e-9 for one in six):
        clear = sum(six) > 0.8 and sum(one > 0.25 for one in six) >= 2
        assert nearer.is_clear == clear


def test_what_is_just_enough_to_speak_of() -> None:
    assert Nearer(lean=0.5, rests=0.3).is_clear
    assert Nearer(lean=0.55, rests=0.25).is_clear
    assert not Nearer(lean=0.75, rests=0.2).is_clear
    assert Nearer(phrases=0.5, moves=0.25, lean=0.25).is_clear
    assert not Nearer(phrases=0.6, moves=0.6, lean=-0.5).is_clear
    assert Nearer(lean=1.0, rests=-0.5, phrases=0.25, moves=0.25).total == 1.0
    assert [says_enough(mode) for mode in MODES] == [True, True, True, True, False]


@given(BREATHS)
def test_a_line_as_it_is_heard(breaths: list[list[int]]) -> None:
    line = heard(breaths)
    assert line.notes == sum(len(plain(breath)) for breath in breaths)
    flat = [pitch % 12 for breath in breaths for pitch in breath]
    assert line.time_on((4, 9)) == pytest.approx(sum(t in (4, 9) for t in flat) / len(flat))
    assert line.rests_on((0, 0, 7)) == sum(breath[-1] % 12 in (0, 7) for breath in breaths)


# Where a line stands that says so itself.

_TIMES = st.integers(0, 80).map(lambda quarter: F(quarter, 4))
_SAID = st.one_of(st.none(), st.integers(0, 20).map(lambda quarter: F(quarter, 4)))


@given(
    st.lists(_TIMES, min_size=1, max_size=6, unique=True).map(sorted),
    st.integers(1, 40).map(lambda quarter: F(quarter, 4)),
    st.sampled_from([F(3), F(4), F(8), F(23, 2)]),
    st.sampled_from([F(1), F(2), F(5, 2)]),
    _SAID,
    _SAID,
)
def test_what_a_line_says_of_itself_is_believed_just_where_it_is_so(
    onsets: list[F], tail: F, beats: F, begins: F, early: F | None, late: F | None
) -> None:
    length = onsets[-1] + tail
    begin, last, end = begins - 1, begins - 1 + onsets[-1], begins - 1 + length
    firsts = [turn * beats for turn in range(60)]
    first = min(beat for beat in firsts if beat >= begin)
    here = min(beat for beat in firsts if beat >= last)
    over = 0 if last == here else last - (here - beats)
    standing = stand(tuple(onsets), length, begins, beats, early=early, late=late)
    loops = any(begin + onset == first for onset in onsets) and end > first
    loops = loops and ((end - first) % beats == 0 or length % beats == 0)
    short = here - last
    if short == 0:
        shape = "lands"
    elif loops:
        shape = "loops"
    elif early == short:
        shape = "early"
    elif late == over:
        shape = "late"
    elif min(short, over) > 1:
        shape = "misses"
    else:
        shape = "early" if short <= over else "late"
    assert standing.shape == shape
    behind = max(beat for beat in firsts if beat <= end)
    after = min(beat for beat in firsts if beat >= end)
    if short == 0 or early == short or shape == "early":
        expected = behind if end - here >= beats else here
        if begin == last == first and short == 0:
            expected = max(expected, first + beats)
    else:
        expected = after
    assert standing.hands_over == expected
    assert (standing.begin, standing.first, standing.last, standing.end) == (
        begin, first, last, end,
    )  # fmt: skip
    assert (standing.short, standing.over) == (short, over)


def test_a_line_of_rests_stands_where_it_begins() -> None:
    standing = stand((), F(9), F(3), F(8))
    numbers = (standing.begin, standing.first, standing.last, standing.end)
    assert numbers == tuple(map(F, (2, 8, 2, 11)))
    assert standing.short == standing.over == 0
    assert standing.hands_over == 16


@pytest.mark.parametrize(
    ("breaths", "wrong", "moves"),
    [
        # Going up by 4 is what "gapped" leaves out and "evening" does: once is a slip.
        ([[7, 4], [2, 4, 7, 4]], 1, 0.0),
        ([[2, 4, 7, 4], [2, 4, 7, 4]], 2, 0.6),
        ([[7, 4], [7, 4]], 0, 0.0),
    ],
)
def test_one_move_against_its_own_mode_does_not_speak_for_another(
    breaths: list[list[int]], wrong: int, moves: float
) -> None:
    evening, gapped = MODES[0], MODES[3]
    nearer = compare(gapped, evening, heard(breaths))
    assert nearer.against == (wrong, 0)
    assert nearer.moves == moves
