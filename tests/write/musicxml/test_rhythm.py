"""The spelling of time: exact for any cells and groups, and right in the cases a reader knows."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclechart.write.musicxml.note_values import beam_levels, in_values, value_of
from cyclechart.write.musicxml.rests import Section
from cyclechart.write.musicxml.rhythm import WrittenValue, spell_measure

QUARTERS = {
    "whole": Fraction(4), "half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4), "32nd": Fraction(1, 8), "64th": Fraction(1, 16),
    "128th": Fraction(1, 32), "256th": Fraction(1, 64), "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256), "breve": Fraction(8), "long": Fraction(16),
}  # fmt: skip
FLAGGED = {name for name, quarters in QUARTERS.items() if quarters < 1}


def spelled(
    length: str | Fraction,
    inner: str = "",
    *,
    lead: str = "0",
    rests: tuple[int, ...] = (),
    whole_rest: bool = True,
    section: str = "",
    offset: str = "0",
) -> tuple[int, tuple[WrittenValue, ...]]:
    """A measure of so many beats cut at these positions: (ticks a beat, its pieces). It begins
    ``offset`` beats into a section of ``section`` beats, which is the measure's length if ""."""
    bounds = [Fraction(0), *map(Fraction, inner.split()), Fraction(length)]
    beat = math.lcm(*(bound.denominator for bound in bounds), Fraction(lead).denominator)
    ticks = tuple(int(bound * beat) for bound in bounds)
    silent = tuple(number in rests for number in range(len(ticks) - 1))
    around = Section(int(Fraction(offset) * beat), int(Fraction(section or length)))
    first_line = int(Fraction(lead) * beat)
    pieces = spell_measure(beat, ticks[-1], first_line, ticks, silent, whole_rest, around)
    check(beat, ticks, silent, pieces)
    return beat, pieces


def shown(length: str | Fraction, inner: str = "", **more: object) -> str:
    """A measure in short: values with dots, ~ for ties, tuplets in brackets with their ratio."""
    short = {"whole": "1", "half": "2", "quarter": "4", "eighth": "8"}
    words = []
    for piece in spelled(length, inner, **more)[1]:  # type: ignore[arg-type]
        word = short.get(piece.type, piece.type.rstrip("thnd") or "rest") + "." * piece.dots
        if piece.to_tie:
            word += "~"
        if piece.opens and piece.tuplet:
            word = f"[{piece.tuplet.actual}:{piece.tuplet.normal} {word}"
        if piece.closes:
            word += "]"
        words.append(word)
    return " ".join(words)


def check(
    beat: int, bounds: tuple[int, ...], rests: tuple[bool, ...], pieces: tuple[WrittenValue, ...]
) -> None:
    """Everything that holds of any measure."""
    assert sum(piece.length for piece in pieces) == bounds[-1]
    at = 0
    for piece in pieces:
        assert piece.start == at and piece.length > 0
        at += piece.length
        assert bounds[piece.span] <= piece.start
        assert piece.start + piece.length <= bounds[piece.span + 1]
        if piece.type:
            written = QUARTERS[piece.type] * (Fraction(3, 2) if piece.dots else 1)
            ratio = Fraction(1)
            if piece.tuplet:
                ratio = Fraction(piece.tuplet.normal, piece.tuplet.actual)
            assert written * ratio == Fraction(piece.length, beat)
            assert piece.dots <= (0 if rests[piece.span] else 1)
    for span in range(len(rests)):
        held = [piece for piece in pieces if piece.span == span]
        assert sum(piece.length for piece in held) == bounds[span + 1] - bounds[span]
        tied = not rests[span]
        assert [piece.from_tie for piece in held] == [False] + [tied] * (len(held) - 1)
        assert [piece.to_tie for piece in held] == [tied] * (len(held) - 1) + [False]
    check_tuplets(pieces)
    check_beams(pieces, rests)


def check_tuplets(pieces: tuple[WrittenValue, ...]) -> None:
    open_now = None
    for piece in pieces:
        if piece.opens:
            assert open_now is None, "tuplets are flat"
            open_now = piece.tuplet
        if piece.tuplet is None or piece.tuplet.shown:
            assert piece.tuplet == open_now
        if piece.closes:
            open_now = None
    assert open_now is None


def check_beams(pieces: tuple[WrittenValue, ...], rests: tuple[bool, ...]) -> None:
    """Each level begins, goes on and ends on notes next to each other; hooks stand alone."""
    for level in range(8):
        inside = False
        for piece in pieces:
            word = piece.beams[level] if level < len(piece.beams) else ""
            assert (word in ("continue", "end")) == inside
            inside = word in ("begin", "continue")
            if word.endswith("hook"):
                assert level > 0 and piece.beams[0] in ("begin", "continue", "end")
        assert not inside
    for piece in pieces:
        if piece.beams:
            assert piece.type in FLAGGED and not rests[piece.span]
            assert len(piece.beams) == int(math.log2(1 / QUARTERS[piece.type]))


@pytest.mark.parametrize(
    ("length", "inner", "wanted"),
    [
        ("4", "", "1"),
        ("3", "", "2."),
        ("5", "", "1~ 4"),
        ("7", "", "1~ 2."),
        ("3/2", "", "4."),
        ("7/2", "", "2.~ 8"),
        ("2", "1/2 3/2", "8 8~ 8 8"),
        ("3", "3/2", "4. 8~ 4"),
        ("2", "5/4", "4~ 16 8."),
        ("1", "1/4 3/4", "16 8 16"),
        ("1", "1/8 7/8", "32 16.~ 16. 32"),
        ("1", "1/64", "256 128.~ 64~ 32~ 16~ 8"),
        ("1", "1/3 2/3", "[3:2 8 8 8]"),
        ("1", "2/3", "[3:2 4 8]"),
        ("1", "1/6 2/6 3/6 4/6 5/6", "[6:4 16 16 16 16 16 16]"),
        ("1", "1/3 1/2 2/3 5/6", "[6:4 8 16 16 16 16]"),
        ("1", "1/6 1/3 1/2", "[3:2 16 16 16] 8"),
        ("1", "1/5 2/5 3/5 4/5", "[5:4 16 16 16 16 16]"),
        ("1", "3/7 5/7", "[7:4 8. 8 8]"),
        ("1", " ".join(f"{part}/9" for part in range(1, 9)), "[9:8" + " 32" * 9 + "]"),
        ("1", " ".join(f"{part}/11" for part in range(1, 11)), "[11:8" + " 32" * 11 + "]"),
        ("1", " ".join(f"{part}/13" for part in range(1, 13)), "[13:8" + " 32" * 13 + "]"),
        ("1", " ".join(f"{part}/15" for part in range(1, 15)), "[15:8" + " 32" * 15 + "]"),
        # Groups: adi (3/2), kuadi (5/4), biadi (7/4), 3/4, 5/3 and 5/2 of the speed.
        ("2", "2/3 4/3", "[3:2 4 4 4]"),
        ("4", "4/5 8/5 12/5 16/5", "[5:4 4 4 4 4 4]"),
        ("4", "4/7 8/7 12/7 16/7 20/7 24/7", "[7:4 4 4 4 4 4 4 4]"),
        ("4", "4/3 8/3", "[3:2 2 2 2]"),
        ("3", "3/5 6/5 9/5 12/5", "[5:3 4 4 4 4 4]"),
        ("2", "2/5 4/5 6/5 8/5", "[5:4 8 8 8 8 8]"),
        ("4", "1 5/3 7/3 3", "4 [3:2 4 4 4] 4"),
        # Eight beats are the most that a tuplet spans.
        ("8", "8/3 16/3", "[3:2 1 1 1]"),
        ("8", "8/5 16/5 24/5 32/5", "[5:4 2 2 2 2 2]"),
        ("16", "16/3 32/3", "[3:2 breve 1~] [3:2 1 breve]"),
        # A triplet that begins off the beat, as in a tihai with half a beat of gap.
        ("2", "1/2 5/6 7/6 3/2", "8 [3:2 8 8 8] 8"),
        # Ties rather than hidden beats, and no mixing of thirds and fifths.
        ("2", "1/3 2/3 4/3 5/3", "[3:2 8 8 8~] [3:2 8 8 8]"),
        (
            "2",
            "1/5 2/5 3/5 4/5 4/3 5/3",
            "[5:4 16 16 16 16 16~] [3:2 8 8 8]",
        ),
        ("4", "7/3 8/3 3", "2~ [3:2 8 8 8] 4"),
        # What is left of a beat at a measure's end.
        ("7/2", "3 19/6 10/3", "2. [3:2 16 16 16]"),
        ("2/3", "", "[3:2 4]"),
    ],
)
def test_values_a_reader_expects(length: str, inner: str, wanted: str) -> None:
    assert shown(length, inner) == wanted


def test_a_measure_that_begins_inside_a_beat_is_counted_from_the_beat_line() -> None:
    assert shown("5/2", "1/2 1 3/2", lead="1/2") == "8 8 8 4"
    assert shown("5/2", "1", lead="1/2") == "8~ 8 8~ 4"


# E. Gould, Behind Bars, the chapters Ground Rules and Rhythm; G. Read, Music Notation, chapter 7,
# Rests; K. Stone, Music Notation in the Twentieth Century, Rests (all from memory): in four no rest
# hides the middle, in three each beat has its own, in simple meters none is dotted.
@pytest.mark.parametrize(
    ("length", "inner", "rests", "wanted"),
    [
        ("4", "1 3", (1,), "4 4 4 4"),  # beats 2 and 3
        ("4", "2", (0,), "2 2"),
        ("4", "2", (1,), "2 2"),
        ("4", "1", (1,), "4 4 2"),
        ("4", "3", (0,), "2 4 4"),
        ("3", "1", (1,), "4 4 4"),
        ("3", "2", (0,), "4 4 4"),
        ("3", "", (0,), "rest"),
        ("2", "1/2 3/2", (1,), "8 8 8 8"),
        ("3", "3/2", (0, 1), "4 8 8 4"),
        ("4", "1/2", (1,), "8 8 4 2"),
        ("4", "7/2", (0,), "2 4 8 8"),
        ("5", "4", (0,), "1 4"),
        ("5", "1", (1,), "4 4 2 4"),
        ("7", "2", (1,), "2 2 2 4"),
        ("7/2", "1", (1,), "4 4 4 8"),  # three and a half: three beats, each shown
        ("8", "2", (1,), "2 2 1"),
        # In a beat: 16ths and 8ths at their own multiples, no dots.
        ("1", "3/4", (0,), "8 16 16"),
        ("1", "1/4", (1,), "16 16 8"),
        ("1", "1/8", (1,), "32 32 16 8"),
        # In tuplets likewise.
        ("1", "1/3", (1,), "[3:2 8 8 8]"),
        ("1", "2/3", (0,), "[3:2 4 8]"),
        ("4", "4/3", (1,), "[3:2 2 2 2]"),
        ("1", "1/5", (1,), "[5:4 16 16 8 16]"),
        ("1", "3/5 4/5", (0,), "[5:4 8 16 16 16]"),
    ],
)
def test_rests_show_the_beats(length: str, inner: str, rests: tuple[int, ...], wanted: str) -> None:
    assert shown(length, inner, rests=rests) == wanted


def test_rests_are_counted_from_the_section_where_a_measure_begins_inside_it() -> None:
    assert shown("2", "1", rests=(0,), section="4", offset="2") == "4 4"
    assert shown("3", "2", rests=(0,), section="4", offset="1") == "4 4 4"
    assert shown("2", rests=(0,), whole_rest=False, section="4", offset="2") == "2"
    assert shown("2", rests=(0,), whole_rest=False, section="3", offset="1") == "4 4"
    assert shown("3", rests=(0,), whole_rest=False) == "4 4 4"


def test_what_no_value_can_say_keeps_its_time() -> None:
    _, pieces = spelled("2", "1/9009 1/1024")
    assert [piece.type for piece in pieces] == ["1024th", "1024th", "quarter", "quarter"]
    assert all(not piece.tuplet or not piece.tuplet.shown for piece in pieces)
    spelled("1", "1/4096")
    spelled("1", "1/65536 2/3")


def test_a_number_that_nobody_counts_is_no_tuplet() -> None:
    def numbers(length: str, inner: str) -> set[int]:
        pieces = spelled(length, inner)[1]
        return {piece.tuplet.actual for piece in pieces if piece.tuplet and piece.tuplet.shown}

    assert numbers("1", "1/7 1/5 1/3") == set(), "four notes in 105"
    assert numbers("1", "1/9 1/7 1/5") == set(), "four notes in 315"
    assert numbers("1", "1/9 1/7") == {63}
    assert numbers("1", " ".join(f"{part}/105" for part in range(1, 105))) == {105}
    # A part of a beat beside a cut.
    assert numbers("3/7", "1/7") == {7}
    assert numbers("3/35", "1/35") == set()


def test_a_bracket_is_left_out_where_one_beam_has_the_whole_tuplet() -> None:
    def brackets(inner: str, **more: tuple[int, ...]) -> set[bool]:
        pieces = spelled("1", inner, **more)[1]  # type: ignore[arg-type]
        return {piece.tuplet.bracket for piece in pieces if piece.tuplet}

    assert brackets("1/3 2/3") == {False}
    assert brackets("2/3") == {True}
    assert brackets("1/3 2/3", rests=(1,)) == {True}
    assert brackets("1/6 1/3 1/2") == {True}, "the eighth after it is under the same beam"


def test_beams() -> None:
    assert beam_levels((1, 1)) == (("begin",), ("end",))
    assert beam_levels((1, 2)) == (("begin",), ("end", "backward hook"))
    assert beam_levels((2, 1, 2)) == (
        ("begin", "forward hook"),
        ("continue",),
        ("end", "backward hook"),
    )
    assert beam_levels((1, 2, 2)) == (("begin",), ("continue", "begin"), ("end", "end"))
    pieces = spelled("2", "1/2 1 3/2")[1]
    assert [piece.beams for piece in pieces] == [("begin",), ("end",)] * 2, "beat by beat"
    pieces = spelled("1", "1/4 1/2 3/4", rests=(1,))[1]
    assert [piece.beams for piece in pieces] == [(), (), ("begin", "begin"), ("end", "end")]


def test_values() -> None:
    assert value_of(256).type == "quarter"
    assert (value_of(384).type, value_of(384).dots) == ("quarter", 1)
    with pytest.raises(ValueError, match="no note value"):
        value_of(5)
    assert [value.size for value in in_values(7)] == [6, 1]


@pytest.mark.parametrize("bounds", [(0, 2, 2, 4), (0, 3), (1, 4), (0, 3, 2, 4)])
def test_bounds_that_do_not_fill_the_measure_are_refused(bounds: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="do not fill"):
        spell_measure(1, 4, 0, bounds, (False,) * (len(bounds) - 1))


def test_a_first_third_of_a_beat_with_fine_notes_is_written() -> None:
    """It is counted from its own beginning: no value reaches back from there to a beat line."""
    bounds = (
        *(0, 15, 30, 60, 105, 240, 624, 720, 816, 912, 2352, 2544, 2736, 2928, 3024, 3120, 3152),
        *(3184, 3216, 3248, 3280, 3344, 4080),
    )
    rests = (False,) * (len(bounds) - 1)
    values = spell_measure(960, 4080, 320, bounds, rests, True, Section(640, 4))
    check(960, bounds, rests, values)


SPEEDS = [Fraction(text) for text in ("1", "1", "1", "2", "3", "3/2", "5/4", "7/4", "2/3", "9/8")]
cells = st.tuples(
    st.integers(1, 16), st.sampled_from([1, 1, 1, 2, 3, 4]), st.integers(0, 2**16 - 1)
)
groups = st.tuples(st.sampled_from(SPEEDS), st.lists(cells, min_size=1, max_size=5))


@settings(max_examples=250, deadline=None)
@given(
    st.lists(groups, min_size=1, max_size=4),
    st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(3, 4), Fraction(1, 3)]),
    st.sets(st.integers(0, 40)),
)
def test_any_cells_and_groups_fill_their_measure(
    written: list[tuple[Fraction, list[tuple[int, int, int]]]], lead: Fraction, silent: set[int]
) -> None:
    """Cells of 1 to 16 parts, also shortened and in groups; each part struck or held."""
    at = Fraction(0)
    bounds = [at]
    for speed, held in written:
        for parts, divisor, struck in held:
            for part in range(parts):
                if at > bounds[-1] and struck >> part & 1:
                    bounds.append(at)
                at += 1 / (speed * parts * divisor)
    bounds.append(at)
    beat = math.lcm(*(bound.denominator for bound in bounds), lead.denominator)
    ticks = tuple(int(bound * beat) for bound in bounds)
    rests = tuple(number in silent for number in range(len(ticks) - 1))
    inside = int(min(lead, at) * beat) % beat
    around = Section(-inside % beat, max(1, ticks[-1] // beat))
    check(beat, ticks, rests, spell_measure(beat, ticks[-1], inside, ticks, rests, True, around))
