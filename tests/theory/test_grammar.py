"""The movement grammar: what is a fault, what is the mode's own way, and the nearest legal breath.

The rules are those of how-it-judges.md, 'The mode's grammar': a note is judged between the note
before and the note after, repeats passed over, octave-free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclechart.theory.grammar import REACH, around_of, judge_breath, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Fault
from cyclechart.theory.tones import SEMITONE
from cyclechart.theory.ways import runs_of


def path(text: str) -> tuple[int, ...]:
    """Tones in sargam as pitches: a reading of its own, so that the text rooms stay out of it."""
    return tuple(
        SEMITONE[tone[0]] + 12 * tone.count("'") - 12 * tone.count(",") for tone in text.split()
    )


def mode(ascent: str, descent: str, *phrases: str) -> Mode:
    return Mode(
        name="a mode", ascent=path(ascent), descent=path(descent), phrases=tuple(map(path, phrases))
    )


# Bhimpalasi leaves out R and D rising; Bageshri R (public raga pages); Marwa has no P (Sitar
# Malika p. 244).
BHIMPALASI = mode("n, S g m P n S'", "S' n D P m g R S")
MARWA = mode("N, r G M D N D S'", "S' N D M G r S")


def faults(judged: Mode, text: str) -> list[tuple[int, Fault]]:
    return [(verdict.index, verdict.fault) for verdict in judge_breath(judged, path(text))]


@pytest.mark.parametrize(
    "text",
    [
        "n, S g m P n S' n D P m g R S",  # the ascent and the descent
        "S",
        "P P P",
        "S R S",  # a turn passes nothing
        "P D P m",
        "m g R S n, S m",
        "R g",  # at the edge of a breath there is no neighbour to pass from
    ],
)
def test_the_modes_own_movement_has_no_fault(text: str) -> None:
    assert faults(BHIMPALASI, text) == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("S R g", [(1, "left-out-going-up")]),
        ("P D n", [(1, "left-out-going-up")]),
        ("n, R g", [(1, "left-out-going-up")]),  # across Sa
        ("n, R, g,", []),  # R, is the lowest of the three
        ("S G m", [(1, "foreign-tone")]),
        ("N S", [(0, "foreign-tone")]),
        ("S R R R g", [(1, "left-out-going-up")]),
        ("S R R S", []),
        ("S' R' g'", [(1, "left-out-going-up")]),
        ("S R g R g m", [(1, "left-out-going-up")]),
        ("N D n G", [(0, "foreign-tone"), (3, "foreign-tone")]),
    ],
)
def test_what_is_a_fault_in_bhimpalasi(text: str, expected: list[tuple[int, Fault]]) -> None:
    assert faults(BHIMPALASI, text) == expected


def test_a_tone_that_only_the_ascent_has_is_left_out_coming_down() -> None:
    # Khamaj rises with N and falls with n (public raga pages; an encyclopaedia page).
    khamaj = mode("S G m P D N S'", "S' n D P m G R S")
    assert faults(khamaj, "P N S'") == []
    assert faults(khamaj, "S' N P") == [(1, "left-out-coming-down")]
    assert faults(khamaj, "P n S'") == [(1, "left-out-going-up")]
    assert faults(khamaj, "S' N S'") == []


def test_an_absent_tone_is_foreign_wherever_it_stands() -> None:
    for text in ("G P D", "P", "D P M", "S P"):
        assert (text.split().index("P"), "foreign-tone") in faults(MARWA, text)


def test_a_move_of_the_modes_own_phrase_is_exempt() -> None:
    own = mode("S g m P n S'", "S' n D P m g R S", "S R g R S")
    assert faults(own, "S R g R S") == []
    assert faults(own, "S' R' g'") == []  # in any octave
    assert faults(own, "S R R g") == []  # repeats are passed over
    # Another step out of R is another move, and no exemption.
    assert faults(own, "S R m") == [(1, "left-out-going-up")]
    assert faults(own, "n, R g") == [(1, "left-out-going-up")]


def test_a_tone_that_only_a_phrase_has_is_not_foreign() -> None:
    # Maru Bihag lets the natural fourth in by the phrase S m m G (a public raga page).
    maru_bihag = mode("N, S G M P N S'", "S' N D P M G R S", "S m m G")
    assert faults(maru_bihag, "S m G") == []
    assert faults(maru_bihag, "G m P") == [(1, "left-out-going-up")]
    assert faults(mode("N, S G M P N S'", "S' N D P M G R S"), "S m G") == [(1, "foreign-tone")]


def test_a_note_is_judged_by_its_neighbours_alone() -> None:
    fault = BHIMPALASI.moves.fault
    assert fault(0, 2, 3) == "left-out-going-up"
    assert fault(None, 2, 3) is None
    assert fault(0, 2, None) is None
    assert fault(None, 4, None) == "foreign-tone"


# The nearest legal breath


@pytest.mark.parametrize(
    ("text", "repaired"),
    [
        ("S g m", "S g m"),  # nothing to mend
        ("S G m", "S g m"),  # a foreign tone goes to its nearest lawful one
        ("S R g m", "S g g m"),  # R would have to turn or go: g is the nearest tone
        ("P D n S'", "P n n S'"),
        ("S' N P", "S' n P"),
    ],
)
def test_the_nearest_legal_breath(text: str, repaired: str) -> None:
    mended = repair_breath(BHIMPALASI, path(text))
    assert mended is not None
    assert faults(BHIMPALASI, repaired) == []
    assert cost(BHIMPALASI, path(text), mended) == cost(BHIMPALASI, path(text), path(repaired))


def test_a_struck_again_note_counts_as_often_as_it_is_struck() -> None:
    # R or R' alone has to give way to make a turn of the other: the one struck once does.
    pair = mode("S m P S'", "S' P m g R S")
    mended = repair_breath(pair, path("S R R R g m"))
    assert mended is not None
    assert mended[1:4] == [2, 2, 2]
    assert mended[4] != 3


def test_where_no_tone_is_in_reach_there_is_no_answer() -> None:
    nothing = Mode(name="no tones at all", ascent=(), descent=())
    assert repair_breath(nothing, path("S R G")) is None
    assert repair_breath(nothing, ()) == []


def cost(judged: Mode, before: Sequence[int], after: Sequence[int]) -> tuple[int, int, int, int]:
    """Changed notes, those of another svara, skipped turns, semitones; the modes drawn here have
    straight paths and so no turns but in phrases."""
    pairs = list(zip(before, after, strict=True))
    doubled = sum(
        before[i] != before[i - 1] and after[i] == after[i - 1] for i in range(1, len(before))
    )
    different = [p for i, p in enumerate(after) if i == 0 or p != after[i - 1]]
    return (
        sum(a != b for a, b in pairs),
        sum(SVARA[a % 12] != SVARA[b % 12] for a, b in pairs),
        sum(judged.moves.never_straight(a, b) for a, b in pairwise(different)),
        sum(abs(a - b) for a, b in pairs) + 2 * doubled,
    )


SVARA = "SRRGGMMPDDNN"


def rising(tones: set[int]) -> tuple[int, ...]:
    return (*sorted({0, *tones}), 12)


tone_sets = st.sets(st.integers(1, 11), min_size=4, max_size=6)
pitches = st.integers(-3, 15)
breaths = st.lists(pitches, min_size=1, max_size=5)


@st.composite
def modes(draw: st.DrawFn) -> Mode:
    """Straight modes of five to seven tones, now and then with a phrase of their own."""
    phrases = draw(st.lists(st.lists(st.integers(0, 12), min_size=3, max_size=4), max_size=1))
    return Mode(
        name="drawn",
        ascent=rising(draw(tone_sets)),
        descent=rising(draw(tone_sets))[::-1],
        phrases=tuple(tuple(phrase) for phrase in phrases),
    )


def choices(judged: Mode, breath: list[int], free: set[int]) -> Iterator[list[int]]:
    """Every breath in which the free notes take any tone of the mode in reach.

    A note struck again and again changes as one (see repair_breath).
    """
    runs = [i for i, pitch in enumerate(breath) if i == 0 or pitch != breath[i - 1]]
    ends = [*runs[1:], len(breath)]
    options = []
    for number, start in enumerate(runs):
        near = range(breath[start] - REACH, breath[start] + REACH + 1)
        lawful = [pitch for pitch in near if pitch % 12 in judged.tones]
        options.append({breath[start], *lawful} if number in free else {breath[start]})
    for chosen in product(*options):
        yield [
            pitch
            for pitch, start, end in zip(chosen, runs, ends, strict=True)
            for _ in range(end - start)
        ]


@settings(max_examples=150, deadline=None)
@given(modes(), breaths)
def test_a_repair_is_legal_and_the_cheapest_of_all(judged: Mode, breath: list[int]) -> None:
    """Against brute force: first only the notes at fault may change, and where that cannot help
    their neighbours too, as in how-it-judges.md ('each offending note's candidates')."""
    mended = repair_breath(judged, breath)
    wrong = {verdict.index for verdict in judge_breath(judged, breath)}
    runs = [i for i, pitch in enumerate(breath) if i == 0 or pitch != breath[i - 1]]
    at_fault = {runs.index(index) for index in wrong}
    assert mended is not None
    assert len(mended) == len(breath)
    assert list(judge_breath(judged, mended)) == []
    if not at_fault:
        assert mended == breath
        return
    for spread in range(len(runs) + 1):
        free = {number + step for number in at_fault for step in range(-spread, spread + 1)}
        legal = [
            cost(judged, breath, other)
            for other in choices(judged, breath, free)
            if not list(judge_breath(judged, other))
        ]
        if legal:
            assert cost(judged, breath, mended) == min(legal)
            return
    raise AssertionError("brute force found no legal breath, but the repair did")


@settings(max_examples=200, deadline=None)
@given(modes(), st.lists(pitches, max_size=24))
def test_a_long_breath_is_mended_too(judged: Mode, breath: list[int]) -> None:
    mended = repair_breath(judged, breath)
    assert mended is not None
    assert len(mended) == len(breath)
    assert list(judge_breath(judged, mended)) == []
    assert all(abs(a - b) <= REACH for a, b in zip(breath, mended, strict=True))


@given(modes(), breaths, st.integers(-2, 2))
def test_the_grammar_is_octave_free(judged: Mode, breath: list[int], octaves: int) -> None:
    moved = [pitch + 12 * octaves for pitch in breath]
    assert list(judge_breath(judged, moved)) == list(judge_breath(judged, breath))


@given(modes(), breaths)
def test_every_note_is_judged_as_its_own_five_notes_are(judged: Mode, breath: list[int]) -> None:
    """What is passed over for speed has no fault either."""
    runs = runs_of(breath)
    different = [pitch for _, pitch in runs]
    one_by_one = [
        (start, fault)
        for number, (start, _) in enumerate(runs)
        if (fault := judged.moves.fault_at(around_of(different, number)))
    ]
    assert [
        (verdict.index, verdict.fault) for verdict in judge_breath(judged, breath)
    ] == one_by_one


@given(modes(), breaths)
def test_a_phrase_of_the_mode_is_never_passed_through_wrongly(
    judged: Mode, breath: list[int]
) -> None:
    """Whatever is made one of the mode's own phrases has no fault in it."""
    own = Mode(
        name=judged.name, ascent=judged.ascent, descent=judged.descent, phrases=(tuple(breath),)
    )
    assert list(judge_breath(own, breath)) == []
