"""From cells to beats: one cell a beat, groups at their speed, holds, rests and glides."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from support.line_texts import finding_places, timed_text

from cyclechart.text.line_tree import SPEEDS
from cyclechart.text.scripts import Value
from cyclechart.text.timing import MAX_BEATS, MAX_DENOMINATOR, MAX_STRIKES


def strikes(text: str) -> list[tuple[Value, F, F]]:
    """(pitch, start, length) of every strike."""
    line, findings = timed_text(text)
    assert findings == []
    return [(strike.value, strike.start, strike.length) for strike in line.strikes]


def b(value: int, start: F | int | str, length: F | int | str) -> tuple[Value, F, F]:
    return (value, F(start), F(length))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("S R", [b(0, 0, 1), b(2, 1, 1)]),
        ("SR GmP", [b(0, 0, "1/2"), b(2, "1/2", "1/2"), b(4, 1, "1/3"), b(5, "4/3", "1/3"),
                    b(7, "5/3", "1/3")]),
        ("S/2 GR/3", [b(0, 0, "1/2"), b(4, "1/2", "1/6"), b(2, "2/3", "1/6")]),
        # Holds: across cells, in a cell, at its start.
        ("S - - R", [b(0, 0, 3), b(2, 3, 1)]),
        ("S-R", [b(0, 0, "2/3"), b(2, "2/3", "1/3")]),
        ("S -R", [b(0, 0, "3/2"), b(2, "3/2", "1/2")]),
        # A hold after a rest, or with nothing before it, is silence.
        ("S z - R", [b(0, 0, 1), b(2, 3, 1)]),
        ("- S", [b(0, 1, 1)]),
        ("-S", [b(0, "1/2", "1/2")]),
        ("zS-z -", [b(0, "1/4", "1/2")]),
        # A note goes on over a section line, into a group and out of it, and into a repeat.
        ("S | - || R", [b(0, 0, 2), b(2, 2, 1)]),
        ("S [- R]x2 -", [b(0, 0, "3/2"), b(2, "3/2", "3/2")]),
        ("(S -)*2 -", [b(0, 0, 2), b(0, 2, 3)]),
        ("S (- R)*2", [b(0, 0, 2), b(2, 2, 2), b(2, 4, 1)]),
        # Groups: six cells in four beats; nested speeds multiply; a group slower than one.
        ("[S R G m P d]x3/2", [b(v, F(2 * n, 3), "2/3") for n, v in enumerate([0, 2, 4, 5, 7, 8])]),
        ("[S [R G]x3]x2 m", [b(0, 0, "1/2"), b(2, "1/2", "1/6"), b(4, "2/3", "1/6"),
                             b(5, "5/6", 1)]),
        ("[S]x1/2 R", [b(0, 0, 2), b(2, 2, 1)]),
        ("[SR]x2", [b(0, 0, "1/4"), b(2, "1/4", "1/4")]),
        ("[S/2]x3", [b(0, 0, "1/6")]),
        ("(S R)*2", [b(0, 0, 1), b(2, 1, 1), b(0, 2, 1), b(2, 3, 1)]),
    ],
)  # fmt: skip
def test_when_each_note_is_struck_and_how_long_it_sounds(
    text: str, expected: list[tuple[Value, F, F]]
) -> None:
    assert strikes(text) == expected


# Sangeet Visharad pp. 177-180 (Hindi handbook): the seconds that a round of 16 beats takes at each
# speed, where its plain form takes 16 seconds.
LAYAKARI = [
    ("kuadi", "x5/4", "64/5"),
    ("adi", "x3/2", "32/3"),
    ("biadi", "x7/4", "64/7"),
    ("dugun", "x2", "8"),
    ("tigun", "x3", "16/3"),
    ("chaugun", "x4", "4"),
    ("", "x8", "2"),  # athgun, for which the language has the number alone
]


@pytest.mark.parametrize(("word", "ratio", "beats"), LAYAKARI)
def test_a_round_of_sixteen_takes_what_the_handbook_says(word: str, ratio: str, beats: str) -> None:
    theka = "S - R - | G - m - | P - d - | n - N -".replace("| ", "")
    line, _ = timed_text(f"[{theka}]{ratio}")
    assert line.length == F(beats)
    if word:
        assert timed_text(f"[{theka}]{word}")[0].length == F(beats)
        assert SPEEDS[word] == F(ratio[1:])


@pytest.mark.parametrize(
    ("outer", "inner", "beats"),
    [("dugun", "dugun", "4"), ("adi", "dugun", "16/3"), ("tigun", "adi", "32/9")],
)
def test_speeds_within_speeds_multiply(outer: str, inner: str, beats: str) -> None:
    assert timed_text(f"[[{'S ' * 16}]{inner}]{outer}")[0].length == F(beats)


@pytest.mark.parametrize(
    ("cycle", "ratio", "occupied"),
    [(10, "x3", "10/3"), (10, "x4", "5/2"), (12, "x2", "6")],
)
def test_a_theka_written_once_before_sam_takes_the_last_beats(
    cycle: int, ratio: str, occupied: str
) -> None:
    # Public lesson pages: jhaptal in tigun takes the last 3 1/3 beats, in chaugun 2 1/2; chautal
    # in dugun the last 6.
    assert timed_text(f"[{'S ' * cycle}]{ratio}")[0].length == F(occupied)


# Glides


@pytest.mark.parametrize(
    ("text", "gliding"),
    [
        ("S~P", [True, False]),
        ("S ~P", [True, False]),
        ("S~ P", [True, False]),
        ("S~ ~P", [True, False]),
        ("S~P~m G", [True, True, False, False]),
        ("S~ - P", [True, False]),  # held, then on into P
        ("S - ~P", [True, False]),
        ("S | ~P", [True, False]),
        ("S [~P]x2", [True, False]),
        ("S P", [False, False]),
    ],
)
def test_a_glide_leads_from_one_note_into_the_next(text: str, gliding: list[bool]) -> None:
    line, findings = timed_text(text)
    assert findings == []
    assert [strike.glides for strike in line.strikes] == gliding


@pytest.mark.parametrize(
    ("text", "column"),
    [("~S", 1), ("S~", 1), ("R S~ -", 3), ("S~ z P", 1), ("S z ~P", 5), ("- ~S", 3)],
)
def test_a_glide_with_no_note_on_either_side_is_a_finding(text: str, column: int) -> None:
    _, findings = timed_text(text)
    assert finding_places(findings) == [("bad-cell", 1, column)]
    assert "~" in findings[0].message


# What is kept of a note


def test_graces_decorations_and_places_come_through() -> None:
    line, _ = timed_text("S !trill!{GR}m'-")
    struck = line.strikes[1]
    assert (struck.value, struck.grace, struck.marks) == (17, (4, 2), ("trill",))
    assert (struck.at, struck.width, struck.cell.at, struck.cell.width) == (2, 13, 2, 14)


def test_section_lines_know_their_beat_and_their_character() -> None:
    line, _ = timed_text("S R | [G m]x2 || (P |)*2")
    assert [(mark.offset, mark.double, mark.spot.column - 1) for mark in line.section_lines] == [
        (F(2), False, 4),
        (F(3), True, 14),
        (F(4), False, 20),
        (F(5), False, 20),
    ]


def test_an_empty_text_lasts_no_time() -> None:
    line, findings = timed_text("")
    assert line.length == 0
    assert line.strikes == ()
    assert findings == []


@pytest.mark.parametrize(
    "text",
    [
        "((S)*1000)*1000",
        "(((((S)*1000)*1000)*1000)*1000)*1000",
        "(((((|)*1000)*1000)*1000)*1000)*1000",
        "(((((()*1000)*1000)*1000)*1000)*1000)*1000",
        "(" + "|" * 40_000 + ")*1000",
    ],
    ids=["notes", "nested notes", "nested lines", "nested nothing", "many lines"],
)
def test_repeats_past_any_music_are_one_finding(text: str) -> None:
    line, findings = timed_text(text)
    assert [found.rule for found in findings] == ["too-long"]
    assert len(line.strikes) <= MAX_STRIKES
    assert len(line.section_lines) <= MAX_STRIKES


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("S [[[[[S R -]x1/64]x1/64]x1/64]x1/64]x1/64", 8),
        ("[[([S -]x1/64)*100]x1/2]x1/2", 5),
    ],
    ids=["nested", "repeated"],
)
def test_a_line_longer_than_any_music_stops_at_the_cell_that_is_too_much(
    text: str, column: int
) -> None:
    line, findings = timed_text(text)
    assert finding_places(findings) == [("too-long", 1, column)]
    assert line.length <= MAX_BEATS


def test_times_too_fine_to_add_up_stop_the_line() -> None:
    text = " ".join(f"[S]x{number}/{number - 2}" for number in range(1001, 1101, 2))
    line, findings = timed_text(text)
    assert [found.rule for found in findings] == ["too-long"]
    assert line.length.denominator <= MAX_DENOMINATOR
    line, findings = timed_text("R [[[[[[[[S]x64]x64]x64]x64]x64]x64]x64]x64")
    assert finding_places(findings) == [("too-long", 1, 11)]
    assert line.length == 1


def speeds(text: str) -> list[tuple[str, str, str, str]]:
    """(start, end, speed, word) of every group at a speed."""
    line, findings = timed_text(text)
    assert findings == []
    return [(str(s.start), str(s.end), str(s.speed), s.word) for s in line.speeds]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("S R G", []),
        ("S [R G m P]dugun S", [("1", "3", "2", "dugun")]),
        ("[S R G]x3/2 [S R G]adi", [("0", "2", "3/2", ""), ("2", "4", "3/2", "adi")]),
        # Speeds multiply; the word of a group inside another would say only its part.
        ("[S [R G]dugun m]adi", [("0", "2", "3/2", "adi"), ("2/3", "4/3", "3", "")]),
        ("([S R]dugun)*2", [("0", "1", "2", "dugun"), ("1", "2", "2", "dugun")]),
    ],
)
def test_groups_at_a_speed_are_kept(text: str, expected: list[tuple[str, str, str, str]]) -> None:
    assert speeds(text) == expected


# Sangeet Visharad pp. 177-180: seconds for a round of 16 beats whose plain form takes 16 seconds.
@pytest.mark.parametrize(
    ("word", "seconds"),
    [("kuadi", F(64, 5)), ("adi", F(32, 3)), ("biadi", F(64, 7)), ("dugun", F(8)),
     ("tigun", F(16, 3)), ("chaugun", F(4)), ("x8", F(2))],
)  # fmt: skip
def test_a_round_at_a_speed_takes_the_printed_time(word: str, seconds: F) -> None:
    line, _ = timed_text(f"[{' '.join(['S'] * 16)}]{word}")
    assert line.length == seconds


@pytest.mark.parametrize(
    ("beats", "word", "start"),
    # Said once before sam (public lesson pages): jhaptal's tigun takes the last 3 1/3 beats, its
    # chaugun the last 2 1/2, chautal's dugun 6: it begins on n + 1 - n/speed.
    [(10, "tigun", F(23, 3)), (10, "chaugun", F(17, 2)), (12, "dugun", F(7))],
)
def test_where_a_round_at_a_speed_begins(beats: int, word: str, start: F) -> None:
    line, _ = timed_text(f"[{' '.join(['S'] * beats)}]{word}")
    assert beats + 1 - line.length == start
