"""The landing rules against a line written out beat by beat: rule, place, numbers, what is tried.

Of a message only its numbers are looked at, and of a thing to try its first word and its numbers.
"""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.making import findings_of, with_heading

from cyclechart.finding import Finding

CELLS = {"x": "S", "-": "-", ".": "z"}
RULES = {
    "early-landing",
    "late-landing",
    "misses-first-beat",
    "first-beat-held",
    "first-beat-silent",
}
NUMBER = re.compile(r"\d+ \d+/\d+|\d+/\d+|\d+")


def numbers(text: str) -> list[str]:
    return NUMBER.findall(text)


def shown(finding: Finding) -> tuple[str, int, Fraction, list[str]]:
    assert finding.place is not None
    assert finding.place.cycle is not None
    tries = [" ".join([text.split()[0], *numbers(text)]) for text in finding.tries]
    return finding.rule, finding.place.cycle, finding.place.beat, tries


def told(text: str, rules: set[str] = RULES) -> list[Finding]:
    found = findings_of(with_heading(text))
    assert not [one for one in found if one.rule in ("unreadable", "wrong-value", "bad-cell")]
    return [one for one in found if one.rule in rules]


@settings(max_examples=120, deadline=None)
@given(
    st.lists(st.sampled_from("xxx--."), min_size=1, max_size=20),
    st.integers(4, 9),
    st.integers(1, 9),
)
def test_a_line_of_whole_beats_is_judged_as_it_is_written_out(
    drawn: list[str], beats: int, begins: int
) -> None:
    signs = ["x", *drawn]  # A hold holds something.
    assume(begins <= beats)
    length, last = len(signs), max(at for at, sign in enumerate(signs) if sign == "x")
    begin = begins - 1
    struck = {begin + at for at, sign in enumerate(signs) if sign == "x"}
    end, stroke = begin + length, begin + last
    first = 0 if begin == 0 else beats
    short, over = -stroke % beats, stroke % beats

    def loops(end: int) -> bool:
        whole = (end - first) % beats == 0 or (end - begin) % beats == 0
        return first in struck and end > first and whole

    def place(at: int) -> tuple[int, Fraction]:
        return at // beats + (begins == 1), Fraction(at % beats + 1)

    expected: list[tuple[str, int, Fraction, list[str]]] = []
    if short and not loops(end):
        near = min(short, over) <= 1
        shifts = sorted([short, -over], key=abs)
        tries = [
            f"{'add' if shift > 0 else 'cut'} {abs(shift)}"
            for shift in (shifts[:1] if near else shifts)
            if last + shift >= 0
        ]
        rooms = [room for room in (-length % beats, (first - end) % beats) if 0 < room < beats / 2]
        if rooms and loops(end + min(rooms)):
            tries.append(f"add {min(rooms)}")
        if -last % beats + 1 != begins:
            tries.insert(0, f"begins: {-last % beats + 1}")
        if near:
            tries.append("lands: 1")
        rule = "misses-first-beat"
        if near:
            rule = "early-landing" if short <= over else "late-landing"
        expected.append((rule, *place(stroke), tries))
    elif short:
        told_at: set[tuple[str, int]] = set()  # a note held over two first beats is one finding
        for beat in range(first + beats, end, beats):
            sign = signs[beat - begin]
            before = max(at for at in struck if at < beat)
            if sign != "x":
                sounds = "." not in signs[before - begin : beat - begin + 1]
                rule = "first-beat-held" if sounds else "first-beat-silent"
                if (rule, before) not in told_at:
                    expected.append((rule, *place(beat), ["strike"]))
                told_at.add((rule, before))
    text = (
        f"cycle: {{beats: {beats}, sections: [{beats}]}}\nlines:\n  head:\n    begins: {begins}\n"
        f"    sargam: {' '.join(CELLS[sign] for sign in signs)}\n"
    )
    found = told(text)
    assert sorted(map(shown, found)) == sorted(expected)
    if expected and expected[0][0] == "misses-first-beat":
        assert numbers(found[0].message) == [str(stroke % beats + 1), str(short), str(over)]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 4), st.sampled_from(["|", "|", "||"])), min_size=1, max_size=5
    ),
    st.lists(st.integers(1, 4), min_size=1, max_size=4),
    st.integers(1, 6),
)
def test_a_section_line_stands_where_a_section_begins(
    parts: list[tuple[int, str]], sections: list[int], begins: int
) -> None:
    beats = sum(sections)
    assume(begins <= beats)
    starts = [sum(sections[:at]) for at in range(len(sections))]
    at, before, expected = begins - 1, None, []
    for size, sign in parts:
        at += size
        own = [0] if sign == "||" else starts
        right = [turn * beats + start for turn in range(-1, 30) for start in own]
        nearest = min(right, key=lambda start: (abs(start - at), start))
        if nearest != at and nearest - at != before:
            before = nearest - at
            way = "later" if before > 0 else "earlier"
            expected.append(
                (
                    sign,
                    at % beats + 1,
                    nearest % beats + 1,
                    at // beats + (begins == 1),
                    way,
                    abs(before),
                )
            )
    cells = " ".join(" ".join(["S"] * size) + f" {sign}" for size, sign in parts)
    text = (
        f"cycle: {{beats: {beats}, sections: {sections}}}\nlines:\n  head:\n    begins: {begins}\n"
        f"    sargam: {cells} S\n"
    )
    found = []
    for one in told(text, {"section-line-astray"}):
        assert one.place is not None
        beat, there = map(int, numbers(one.message))
        assert one.place.beat == beat
        way = "later" if "later" in one.tries[0] else "earlier"
        (by,) = map(int, numbers(one.tries[0]))
        sign = "||" if "'||'" in one.message else "|"
        found.append((sign, beat, there, one.place.cycle, way, by))
    assert found == expected


@pytest.mark.parametrize(
    ("cells", "lands", "rule", "off", "offered"),
    [
        # In a cycle of sixteen: it loops, and says otherwise of its last stroke.
        ("S R G m P d n S' n d P m G - - -", "anagat 2", "early-landing", "4", "lands: anagat 4"),
        ("S R G m P d n S' n d P m - - - -", "anagat 2", "early-landing", "5", ""),
        ("S R G m - - - - - - - - - - - -", "atit 2", "late-landing", "3", "lands: atit 3"),
        ("S R G m P - - - - - - - - - - -", "atit 2", "late-landing", "4", "lands: atit 4"),
        ("S R G m P d - - - - - - - - - -", "atit 2", "late-landing", "5", ""),
        ("S R G m P d n S' n d P m G R - S", "anagat 2", "early-landing", "1", "lands: anagat 1"),
    ],
)
def test_a_line_that_says_what_is_not_so_is_told_how_far_off_it_is(
    cells: str, lands: str, rule: str, off: str, offered: str
) -> None:
    text = f"cycle: tintal\nlines:\n  head: {{lands: {lands}, sargam: {cells}}}\n"
    (found,) = told(text, {"early-landing", "late-landing", "misses-first-beat"})
    assert found.rule == rule
    assert numbers(found.message) == [lands.split()[1], off]
    ways = [one.split(" (")[0] for one in found.tries if one.startswith("lands")]
    assert ways == ([offered] if offered else [])


@pytest.mark.parametrize(
    ("lands", "cells"),
    [
        ("anagat 2", "S R G m P d n S' n d P m G R S -"),
        ("anagat 3", "S R G m P d n S' n d P m G R"),
        ("atit 3", "S R G m"),
        ("atit 2", "S R G"),
    ],
)
def test_what_a_line_says_truly_is_not_told_of(lands: str, cells: str) -> None:
    assert not told(f"cycle: tintal\nlines:\n  head: {{lands: {lands}, sargam: {cells}}}\n")


@pytest.mark.parametrize(
    ("sargam", "place"),
    [
        # In sections of 2, 3, 2 and 3, begun on the fifth beat so that n is on the first: of the
        # section lines two stood right and none does then.
        ("S R | G m P | d n", -1),
        ("S R G m P d n", 0),
        # One stood right (before beat 6), and one does then (3 + 4 is the fourth section's start).
        ("S R G | m P | d n", 0),
    ],
)
def test_a_new_beginning_comes_last_where_it_moves_section_lines_that_stand_right(
    sargam: str, place: int
) -> None:
    (found,) = told(f"cycle: jhaptal\nlines:\n  head: {{sargam: {sargam}}}\n")
    assert len(found.tries) > 1
    assert found.tries[place].startswith("begins: 5")
    assert ("(" in found.tries[place]) == (place == -1)
