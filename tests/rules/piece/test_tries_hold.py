"""Suggestions hold: every one is put into the text and checked again."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import ROOT, findings_of, piece_of, with_heading

from cyclechart.finding import Finding
from cyclechart.rules.judge import judge
from cyclechart.theory.exact import parse_exact

MODE_ERRORS = {"foreign-tone", "left-out-going-up", "left-out-coming-down"}
MODES = ("bhimpalasi", "hamsadhwani", "marwa", "malkauns", "charukeshi", "yaman", "durga", "bihag")


def _lines(cells: list[str], mode: str) -> str:
    return with_heading(
        f"mode: {mode}\nlines:\n  head:\n    lands: free\n    sargam: |\n      {' '.join(cells)}\n"
    )


def _written(text: str, findings: list[Finding]) -> str:
    """The text with every 'write NEW for OLD' put into the cells at the findings' lines."""
    lines = text.splitlines()
    changes: dict[tuple[int, int], str] = {}
    for finding in findings:
        row = finding.spot.line - 1
        tried = finding.tries[0].removeprefix("write ") if finding.tries else ""
        # A tone below Sa ends in a comma itself.
        for new, old in re.findall(r"(\S+) for (\S+?)(?:, |$)", tried):
            for match in re.finditer(r"[^\s()]+", lines[row]):
                if match[0] == old:
                    changes.setdefault((row, match.start()), new)
    for (row, column), new in sorted(changes.items(), reverse=True):
        old = re.compile(r"[^\s()]+").match(lines[row], column)
        assert old
        lines[row] = lines[row][:column] + new + lines[row][old.end() :]
    return "\n".join(lines) + "\n"


# Cells are made different from each other by their place, so that the text says which is meant.
_TONES = st.lists(st.sampled_from("SrRgGmMPdDnN"), min_size=1, max_size=9)


@given(_TONES, st.sampled_from(MODES))
def test_what_a_mode_rule_suggests_is_legal(tones: list[str], mode: str) -> None:
    # A mark that says nothing of pitch makes each cell unlike its neighbours.
    marks = ("", "!accent!", "!tenuto!", "!staccato!", "!p!", "!mp!", "!mf!", "!f!", "!ff!")
    cells = [mark + tone for mark, tone in zip(marks, tones, strict=False)]
    text = _lines(cells, mode)
    found = findings_of(text)
    wrong = [finding for finding in found if finding.rule in MODE_ERRORS]
    if not any(finding.tries for finding in wrong):
        return  # nothing at fault, or no legal text that skips no turn
    mended = findings_of(_written(text, wrong))
    assert not [f for f in mended if f.rule in MODE_ERRORS], text
    # Nor is a turn skipped then that was not before.
    skips = [sum(f.rule == "turn-skipped" for f in some) for some in (found, mended)]
    assert skips[1] <= skips[0]


# A note that is written once and sounds often can be rewritten in one way only.
_OFTEN = (
    "lines:\n  head:\n    lands: free\n    sargam: |\n      P ({cells})*3 S\n",
    "lines:\n  head:\n    lands: free\n    sargam: |\n      ({cells})*2 z ({more})*2\n",
    "lines:\n  head:\n    cadence:\n      gap: 0\n      sargam: |\n        {cells} S\n",
)


@given(_TONES, st.sampled_from(MODES), st.sampled_from(_OFTEN))
def test_what_is_suggested_for_notes_that_sound_often_is_legal(
    tones: list[str], mode: str, shape: str
) -> None:
    marks = ("!accent!", "!tenuto!", "!staccato!", "!p!", "!mp!", "!mf!", "!f!", "!ff!", "!pp!")
    cells = [mark + tone for mark, tone in zip(marks, tones, strict=False)]
    half = len(cells) // 2 + 1
    if "{more}" in shape:
        said = shape.format(cells=" ".join(cells[:half]), more=" ".join(cells[half:] or ["S"]))
    else:
        said = shape.format(cells=" ".join(cells))
    text = with_heading(f"mode: {mode}\n{said}")
    found = findings_of(text)
    assert not [f for f in found if f.rule in ("unreadable", "wrong-value", "bad-cell")], found
    wrong = [finding for finding in found if finding.rule in MODE_ERRORS]
    if not wrong or not any(finding.tries for finding in wrong):
        return
    assert all(finding.tries for finding in wrong), "some of it mended and some of it not"
    mended = _written(text, wrong)
    assert not [f for f in findings_of(mended) if f.rule in MODE_ERRORS], mended


@pytest.mark.parametrize(
    ("head", "tail"), [("S R g m", "P n"), ("P S R", "g m P"), ("S n, S", "R g m"), ("m G", "m P")]
)
def test_lines_that_a_chain_is_made_of_are_mended_with_it(head: str, tail: str) -> None:
    # What passes R only where the one line runs into the other is at fault in the chain alone.
    text = with_heading(
        "mode: bhimpalasi\nlines:\n"
        f"  head:\n    lands: free\n    sargam: |\n      {head}\n"
        f"  tail:\n    lands: free\n    sargam: |\n      !accent!{' !tenuto!'.join(tail.split())}\n"
        "  whole:\n    chain: [head, tail]\n"
    )
    found = findings_of(text)
    assert not [f for f in found if f.rule in ("unreadable", "unknown-key", "bad-cell")], found
    wrong = [finding for finding in found if finding.rule in MODE_ERRORS]
    assert wrong
    assert all(finding.tries for finding in wrong)
    mended = _written(text, wrong)
    assert not [f for f in findings_of(mended) if f.rule in MODE_ERRORS], mended


@pytest.mark.parametrize("cells", ["S R g", "R g", "R g m D"])
def test_a_repeat_at_fault_is_mended_by_one_text(cells: str) -> None:
    # Bhimpalasi leaves R out going up: where one time round runs into the next counts too.
    marks = ("", "!accent!", "!tenuto!", "!f!")
    said = " ".join(mark + tone for mark, tone in zip(marks, cells.split(), strict=False))
    text = _lines(["S,", f"({said})*3", "m"], "bhimpalasi")
    wrong = [finding for finding in findings_of(text) if finding.rule in MODE_ERRORS]
    assert wrong
    assert all(finding.tries for finding in wrong)
    mended = _written(text, wrong)
    assert not [f for f in findings_of(mended) if f.rule in MODE_ERRORS], mended


@given(
    st.integers(2, 30),
    st.fractions(1, 16, max_denominator=4),
    st.sampled_from(["jhaptal", "tintal", "rupak", "{beats: 11 1/2, sections: [4, 4, 3 1/2]}"]),
    st.sampled_from(["", "/2", "/3"]),
)
def test_begins_that_is_suggested_lands_or_loops(
    count: int, begins: Fraction, cycle: str, tail: str
) -> None:
    beat = f"{begins.numerator}/{begins.denominator}"
    text = with_heading(
        f"cycle: {cycle}\nlines:\n  head:\n    begins: {beat}\n"
        f"    sargam: {' '.join(['S'] * count)}{tail}\n"
    )
    landing = {"misses-first-beat", "early-landing", "late-landing"}
    for finding in findings_of(text):
        if finding.rule not in landing:
            continue
        for suggestion in finding.tries:
            if not suggestion.startswith("begins: "):
                continue
            better = text.replace(f"begins: {beat}", suggestion.split(" (")[0])
            assert not [f for f in findings_of(better) if f.rule in landing], suggestion


@pytest.mark.parametrize(
    ("sargam", "suggestion", "mended"),
    [
        (
            "S R | G m P | d - | n - -/2",
            "add 3 beats before the last note, n",
            "S R G m P d - - - - n",
        ),
        (
            "S R | G m P | d - | n - P || G m R",
            "cut 2 beats before the last note, R",
            "S R G m P d - n - P R",
        ),
        (
            "S R | G m P | d - | n -",
            "add 1 beat at the end, so that it loops",
            "S R G m P d - n - -",
        ),
    ],
)
def test_beats_added_or_cut_as_suggested_land(sargam: str, suggestion: str, mended: str) -> None:
    def judged(text: str) -> list[Finding]:
        piece = piece_of(f"lines:\n  head:\n    sargam: {text}\n")
        return [f for f in judge(piece) if f.rule in ("misses-first-beat", "late-landing")]

    (finding,) = judged(sargam)
    assert suggestion in finding.tries
    assert not judged(mended)


@pytest.mark.parametrize("path", ["pieces/broken/low-tide.yaml"])
def test_the_first_thing_to_try_makes_nothing_worse(path: str) -> None:
    # 'head' ends two beats after a first beat: cutting them mends it and breaks nothing else.
    text = (ROOT / path).read_text("utf-8")
    before = [f for f in findings_of(text) if f.place and f.place.within == "head"]
    (miss,) = [f for f in before if f.rule == "misses-first-beat"]
    assert miss.tries[0].startswith("cut 2 beats before the last note")
    mended = text.replace("m g | R\n", "R\n")
    after = [f for f in findings_of(mended) if f.place and f.place.within == "head"]
    assert len(after) == len(before) - 1


def test_cutting_is_not_offered_where_it_would_break_the_mode() -> None:
    # Bhimpalasi leaves R out going up: cutting S and g before m would leave S … R m.
    piece = piece_of(
        "mode: bhimpalasi\ncycle: keherwa\nlines:\n  head: {sargam: S g m P m g S R || S g m}\n"
    )
    (finding,) = [f for f in judge(piece) if f.rule == "misses-first-beat"]
    assert not any(suggestion.startswith("cut") for suggestion in finding.tries)


def test_exact_begins_is_read_back() -> None:
    assert parse_exact("3 1/3") == Fraction(10, 3)


_IN_CYCLES = st.lists(
    st.sampled_from(["tintal", "jhaptal", "rupak", "keherwa", "ektal", "dadra"]),
    min_size=2,
    max_size=3,
    unique=True,
)
_SHAPES = ("misses-first-beat", "early-landing", "late-landing")


@given(st.integers(2, 30), st.integers(1, 6), _IN_CYCLES, st.sampled_from(["", " -", " - -"]))
def test_what_is_suggested_for_a_line_in_several_cycles_lands_in_all_of_them(
    count: int, begins: int, cycles: list[str], tail: str
) -> None:
    def told(cells: list[str], begins: str, cycles: list[str], lands: str = "") -> list[Finding]:
        form = "".join(f"  - {{play: head, cycle: {cycle}}}\n" for cycle in cycles)
        text = f"lines:\n  head: {{{lands}begins: {begins}, sargam: {' '.join(cells)}}}\n"
        found = findings_of(with_heading(f"cycle: {cycles[0]}\n{text}form:\n{form}"))
        assert not [f for f in found if f.rule in ("unreadable", "wrong-value")]
        return [finding for finding in found if finding.rule in _SHAPES]

    cells = ["S"] * count + tail.split()
    for finding in told(cells, str(begins), cycles):
        for suggestion in finding.tries:
            alone = re.search(r" \(in a separate line for (.+)\)$", suggestion)
            within = [alone[1].lower()] if alone else cycles
            new, beat, lands = list(cells), str(begins), ""
            if beats := re.match(r"(add|cut) (\d+) beats? before the last", suggestion):
                by = int(beats[2])
                if beats[1] == "add":
                    new[count - 1 : count - 1] = ["-"] * by
                else:
                    del new[count - 1 - by : count - 1]
            elif beats := re.match(r"add (\d+) beats? at the end", suggestion):
                new += ["-"] * int(beats[1])
            elif suggestion.startswith("begins: "):
                beat = suggestion.removeprefix("begins: ").split(" (")[0]
            else:
                assert suggestion.startswith("lands: ")
                lands = suggestion.split(" (")[0] + ", "
            assert not told(new, beat, within, lands), (suggestion, new)


def test_a_section_line_left_out_as_suggested_is_no_more_told_of() -> None:
    text = with_heading(
        "cycle: keherwa\nlines:\n  head: {sargam: S R G m | P d n d || S'}\nform:\n"
        "  - play: head\n  - {play: head, cycle: {beats: 8, sections: [3, 3, 2]}}\n"
    )
    (finding,) = [f for f in findings_of(text) if f.rule == "section-line-astray"]
    assert finding.tries[0].startswith("leave it out")
    row, column = finding.spot.line - 1, finding.spot.column - 1
    lines = text.splitlines(keepends=True)
    lines[row] = lines[row][:column] + lines[row][column + 1 :]
    assert not [f for f in findings_of("".join(lines)) if f.rule == "section-line-astray"]


_CADENCES = st.fixed_dictionaries(
    {
        "cells": st.integers(1, 9),
        "tail": st.sampled_from(["", " -", " G/2", " [G m]x3/2"]),
        "gap": st.sampled_from(["", ", gap: 0", ", gap: 1", ", gap: 2 1/2"]),
        "begins": st.sampled_from(["", ", begins: 1", ", begins: 3", ", begins: 4 1/2"]),
        "body": st.sampled_from(["", ", body: S R G"]),
        "within": st.sampled_from(["", ", within: 1", ", within: 2"]),
        "cycle": st.sampled_from(["jhaptal", "tintal", "ektal", "rupak"]),
        "rounds": st.booleans(),
    }
)


@given(_CADENCES)
def test_what_a_cadence_rule_suggests_lands(asked: dict[str, Any]) -> None:
    inner = f"sargam: '{'S ' * asked['cells']}R{asked['tail']}'{asked['gap']}{asked['body']}"
    outer = asked["begins"] + asked["within"]

    def told(inner: str, outer: str, between: str = "0") -> list[Finding]:
        cadence = f"{{{inner}{outer}}}"
        if asked["rounds"]:
            cadence = f"{{gap: {between}, cadence: {{{inner}}}{outer}}}"
        text = f"lines:\n  closing:\n    cadence: {cadence}\n"
        found = findings_of(with_heading(text, cycle=asked["cycle"]))
        return [f for f in found if f.rule in ("cadence-misses", "cadence-unsolved")]

    for finding in told(inner, outer):
        for suggestion in finding.tries:
            if suggestion.startswith("a statement of"):
                continue  # its length is put to the sums in tests/theory/test_cadence_advice.py
            inside, outside, between = inner, outer, "0"
            for part in suggestion.split(", "):
                key, _, value = part.partition(": ")
                if key == "outer gap":
                    between = value
                elif key in ("begins", "within"):
                    outside = re.sub(rf", {key}: [^,}}]*", "", outside) + f", {key}: {value}"
                else:
                    inside = re.sub(r", gap: [^,}]*", "", inside) + f", gap: {value}"
            assert not told(inside, outside, between), (suggestion, finding.message)


def test_another_answer_is_offered_for_a_cadence_that_lands_early() -> None:
    text = "lines:\n  closing:\n    cadence: {{sargam: P m GR G S, within: 2, {}}}\n"
    (advice,) = findings_of(with_heading(text.format("gap: 3, begins: 13"), cycle="tintal"))
    assert advice.rule == "cadence-lands-early"
    (suggestion,) = advice.tries
    mended = text.format(suggestion)
    assert not findings_of(with_heading(mended, cycle="tintal"))


def test_a_cadence_that_misses_hides_no_early_landing_after_it() -> None:
    text = (
        "lines:\n  first: {cadence: {sargam: S R G m P d n S', gap: 0, begins: 1}}\n"
        "  second: {cadence: {sargam: P m G R G m G S, gap: 0, begins: 2}}\n"
    )
    found = findings_of(with_heading(text, cycle="keherwa"))
    told = [(one.rule, one.place.within) for one in found if one.place and "cadence" in one.rule]
    assert ("cadence-misses", "first") in told
    assert ("cadence-lands-early", "second") in told


_FROM_HEAD = st.sampled_from(
    ["move: -2", "move: 3", "turned: S", "turned: P", "mode: marwa", "reversed: true", "part: 1",
     "speed: 3/2", "part: 1, move: 1, speed: 2"]
)  # fmt: skip


@given(_TONES, st.sampled_from(MODES), _FROM_HEAD, st.sampled_from(["", "begins: 8, "]))
def test_what_is_suggested_for_a_line_from_a_line_is_all_of_its_text(
    tones: list[str], mode: str, done: str, begins: str
) -> None:
    head = f'  head: {{{begins}sargam: "{" ".join(tones)} S R G m P d n S\'"}}\n'
    text = with_heading(f"mode: {mode}\nlines:\n{head}  echo:\n    from: head\n")
    done = "".join(f"    {one}\n" for one in done.split(", "))
    found = [f for f in findings_of(text + done) if f.place and f.place.within == "echo"]
    assert not any("for " in t for f in found if f.rule in MODE_ERRORS for t in f.tries)
    for finding in found:
        for suggestion in finding.tries:
            if not suggestion.startswith("sargam: "):
                continue
            rows = "".join(f"    {row}\n" for row in suggestion.splitlines())
            mended = findings_of(text.replace("    from: head\n", rows))
            assert not [f for f in mended if f.rule in ("unreadable", "bad-cell", "wrong-value")]
            echo = [f for f in mended if f.place and f.place.within == "echo"]
            told = MODE_ERRORS if finding.rule in MODE_ERRORS else {finding.rule}
            assert not [f for f in echo if f.rule in told], (text, suggestion)


def test_a_foreign_grace_in_a_line_from_a_line_is_left_out_of_all_of_its_text() -> None:
    def told(text: str) -> list[Finding]:
        found = [f for f in findings_of(text) if f.rule == "foreign-tone"]
        return [f for f in found if f.place and f.place.within == "echo"]

    text = with_heading(
        "mode: malkauns\ncycle: keherwa\nlines:\n  head:\n    sargam: S {r}g m d n S' n d || S'\n"
        "  echo: {from: head, speed: 2}\n"
    )
    (finding,) = told(text)
    (suggestion,) = finding.tries
    rows = suggestion.replace("\n", ", ")
    assert rows.startswith("sargam: ")
    assert not told(text.replace("from: head, speed: 2", rows))
