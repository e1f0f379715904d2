"""The likeness of a line to one of two modes with the same tones: each of the four measures alone.

The measures are ours; what must come out is common practice (Sangeet Visharad p. 147 and Sitar
Malika p. 223 on Bhupali and Deshkar: the tones are the same, the vadi is not).
"""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.likeness import Heard, Nearer, compare, leaned_on, says_enough
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE


def path(text: str) -> tuple[int, ...]:
    return tuple(
        SEMITONE[tone[0]] + 12 * tone.count("'") - 12 * tone.count(",") for tone in text.split()
    )


def heard(*breaths: str) -> Heard:
    """Breaths of notes as long as each other; each ends in a rest."""
    read = tuple(path(breath) for breath in breaths)
    count = Counter(pitch % 12 for breath in read for pitch in breath)
    total = sum(count.values())
    shares = {tone: number / total for tone, number in count.items()}
    return Heard(shares, tuple(breath[-1] % 12 for breath in read), read)


UP, DOWN = path("S R G P D S'"), path("S' D P G R S")
BARE = Mode(name="bare", ascent=UP, descent=DOWN)
EVENING = Mode(
    name="evening",
    ascent=UP,
    descent=DOWN,
    vadi=4,
    samvadi=9,
    rests=path("S G P D"),
    phrases=(path("P G D P G"),),
)
MORNING = Mode(
    name="morning",
    ascent=UP,
    descent=DOWN,
    vadi=9,
    samvadi=4,
    rests=path("S P D"),
    phrases=(path("D P G P D"),),
)


def test_a_bare_scale_says_too_little() -> None:
    assert not says_enough(BARE)
    assert says_enough(Mode(name="rests", ascent=UP, descent=DOWN, rests=(0,)))
    assert says_enough(Mode(name="vadi", ascent=UP, descent=DOWN, vadi=0))
    assert says_enough(MORNING)


def test_the_vadi_tells_where_the_pair_is_the_same() -> None:
    line = heard("D D D S D")
    # (2·4 + 0) / 3 fifths of 5 shares against (0 + 4) / 3: 8/3 − 4/3 > 1, cut off at 1.
    assert compare(EVENING, MORNING, line).lean == 1.0
    assert compare(MORNING, EVENING, line).lean == -1.0
    line = heard("D D G S R")
    # D 2/5, G 1/5: (5 − 4) / 3 · 1/5 · 5 = 1/3
    assert compare(EVENING, MORNING, line).lean == pytest.approx(1 / 3)


def test_a_little_is_no_leaning() -> None:
    # D has an even share, G none: more than G, and still nothing to lean on.
    assert compare(EVENING, MORNING, heard("S R P D S")).lean == 0.0


def test_time_on_sa_tells_nothing() -> None:
    assert leaned_on(Mode(name="m", ascent=UP, descent=DOWN, vadi=0, samvadi=7)) == (7,)
    only_sa = Mode(name="sa", ascent=UP, descent=DOWN, vadi=0)
    assert compare(EVENING, only_sa, heard("S S S S R")).lean == 0.0


def test_rests_are_counted_against_both() -> None:
    line = heard("S R G", "D P G", "R S D", "D S P")
    assert compare(MORNING, EVENING, line).rests == pytest.approx(0.75 * 2 / 4)
    assert compare(EVENING, MORNING, line).rests == pytest.approx(-0.75 * 2 / 4)
    assert compare(EVENING, MORNING, heard("S R G")).rests == 0.0


def test_rests_that_nobody_named_speak_for_no_one() -> None:
    unnamed = Mode(name="unnamed", ascent=UP, descent=DOWN, vadi=2, samvadi=7)
    line = heard("G R", "P G R", "R")
    assert compare(MORNING, unnamed, line).rests == 0.0
    assert compare(unnamed, MORNING, line).rests < 0.0


def test_phrases_that_both_have_say_nothing() -> None:
    both = Mode(
        name="both",
        ascent=UP,
        descent=DOWN,
        vadi=9,
        samvadi=4,
        phrases=(path("D P G P D"), path("P G D P G")),
    )
    line = heard("S R G", "D P G P D")
    assert compare(EVENING, MORNING, line).has == (path("D P G P D"),)
    assert compare(EVENING, MORNING, line).phrases > 0
    assert compare(both, MORNING, line).phrases == 0.0
    assert compare(MORNING, EVENING, line).phrases < 0


def test_a_phrase_that_the_others_path_passes_through_says_nothing() -> None:
    low = Mode(
        name="low",
        ascent=path("P, D, S R G P D S'"),
        descent=DOWN,
        vadi=9,
        samvadi=4,
        phrases=(path("D, S R"),),
    )
    assert compare(EVENING, low, heard("D S' R' S' D P G R S")).has == ()
    two = Mode(name="two", ascent=UP, descent=DOWN, vadi=9, samvadi=4, phrases=(path("S D"),))
    assert compare(EVENING, two, heard("S D S D S D S D")).has == (), "two tones are anyone's"


def test_moves_that_one_has_not_speak_for_the_other() -> None:
    # Left out going up in the one (Sohni's r against Marwa's, from memory).
    high = Mode(
        name="high", ascent=path("S G M D N S'"), descent=path("S' N D M G r S"), vadi=9, samvadi=4
    )
    round_about = Mode(
        name="round",
        ascent=path("N, r G M D N D S'"),
        descent=path("S' N D M G r S"),
        vadi=1,
        samvadi=9,
    )
    line = heard("S G M D D", "N S' N D D", "M D N S' N D G")
    nearer = compare(round_about, high, line)
    assert nearer.against == (3, 0)
    assert nearer.moves == pytest.approx(0.6)
    assert nearer.is_clear
    assert compare(high, round_about, line).moves <= 0


def test_moves_that_neither_has_speak_for_no_one() -> None:
    one = Mode(
        name="one", ascent=path("S G P D S'"), descent=path("S' D P G R S"), vadi=4, samvadi=9
    )
    two = Mode(
        name="two",
        ascent=path("S R G D S'"),
        descent=path("S' D P G R S"),
        vadi=9,
        samvadi=4,
        phrases=(path("D R D"),),
    )
    line = heard("S R G D", "S R G P D", "D R D P D", "S R P D", "D D D D")
    nearer = compare(one, two, line)
    mine, others = nearer.against
    assert mine > others > mine / 2
    assert nearer.moves == 0.0


def test_one_thing_alone_is_not_enough() -> None:
    assert not Nearer(lean=1.0).is_clear
    assert not Nearer(lean=1.0, rests=0.2).is_clear
    assert Nearer(lean=0.5, rests=0.3).is_clear
    assert not Nearer(lean=0.5, rests=0.25).is_clear
    assert not Nearer(lean=0.8, phrases=0.6, moves=-1.0).is_clear


_BREATHS = st.lists(
    st.lists(st.sampled_from(["D,", "S", "R", "G", "P", "D", "S'"]), min_size=1, max_size=9).map(
        " ".join
    ),
    min_size=1,
    max_size=6,
)


@given(_BREATHS)
def test_no_line_is_nearer_to_each_of_two_than_to_the_other(breaths: list[str]) -> None:
    line = heard(*breaths)
    there, back = compare(EVENING, MORNING, line), compare(MORNING, EVENING, line)
    assert not (there.is_clear and back.is_clear)
    assert there.rests == -back.rests
    assert not compare(EVENING, EVENING, line).is_clear
