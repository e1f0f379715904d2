"""A cadence's yati, speeds and first part, and the eduppu of a piece, as they are written."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, piece_of, with_heading

from cyclechart.piece.line import Cadence, Line
from cyclechart.piece.schema import schema

F = Fraction


def closing(cadence: str, cycle: str = "adi", more: str = "", head: str = "") -> Line:
    text = f"{head}lines:\n  closing:\n    cadence: {{{cadence}}}\n{more}"
    return piece_of(text, cycle=cycle).lines["closing"]


def only(line: Line) -> Cadence:
    (cadence,) = line.cadences
    return cadence


def told(cadence: str, cycle: str = "adi", head: str = "") -> list[str]:
    text = f"{head}lines:\n  closing:\n    cadence: {{{cadence}}}\n"
    found = findings_of(with_heading(text, cycle=cycle))
    return [f"{one.message} | {'; '.join(one.tries)}" for one in found if one.severity == "error"]


def said(line: Line, stretch: tuple[Fraction, Fraction]) -> list[int | None]:
    start, end = stretch
    return [note.pitch for note in line.notes if start <= note.start < end]


@pytest.mark.parametrize(
    ("yati", "lengths"),
    [
        # The shapes in numbers are from memory: 3 5 7 9, 3 5 7 5 3 and their reverse.
        ("yati: srotovaha, by: 2", [3, 5, 7]),
        ("yati: gopuccha, by: 2", [7, 5, 3]),
        ("yati: mridanga, by: 2", [3, 5, 7, 5, 3]),
        ("yati: damaru, by: 2", [7, 5, 3, 5, 7]),
        ("yati: sama", [7, 7, 7]),
        ("yati: gopuccha", [7, 6, 5]),
        ("yati: mridanga, times: 4", [6, 7, 7, 6]),
        ("yati: gopuccha, by: 3/2, times: 4", [7, F(11, 2), 4, F(5, 2)]),
        ("yati: Gopucha", [7, 6, 5]),
    ],
)
def test_a_yati_leaves_out_beats_at_the_front(yati: str, lengths: list[Fraction]) -> None:
    line = closing(f"sargam: S R G m P d n, {yati}")
    cadence = only(line)
    assert [end - start for start, end in cadence.statements] == lengths
    whole = [0, 2, 4, 5, 7, 8, 10]
    for stretch in cadence.statements:
        pitches = said(line, stretch)
        assert pitches == whole[len(whole) - len(pitches) :]
    assert cadence.answer is not None
    last = cadence.answer.ends[-1]
    assert (last - 1) % 8 == 0
    assert line.notes[-1].start + line.begins == last


def test_statements_are_said_at_their_speeds() -> None:
    line = closing("sargam: S R G m P d, speeds: 1 3/2 2")
    cadence = only(line)
    assert [end - start for start, end in cadence.statements] == [6, 4, 3]
    assert [speed.speed for speed in line.speeds] == [F(3, 2), 2]
    first, second, third = (said(line, stretch) for stretch in cadence.statements)
    assert first == second == third
    for (start, _), rate in zip(cadence.statements, (1, F(3, 2), 2), strict=True):
        own = [note.start - start for note in line.notes if note.start >= start][:6]
        assert [b - a for a, b in pairwise(own)] == [1 / F(rate)] * 5
    assert cadence.answer is not None
    assert cadence.answer.kind == "tripalli"
    assert only(closing("sargam: S R G m P d, speeds: [1, 1 1/2, 2]")).question == cadence.question
    inner = closing("sargam: '[S R]x2 G m P -', speeds: 1 2")
    assert [speed.speed for speed in inner.speeds] == [2, 2, 4]


def test_a_korvai_is_solved_whole() -> None:
    line = closing("first: {sargam: S R G m P d P, yati: gopuccha, by: 2}, sargam: P m G R S")
    cadence = only(line)
    answer = cadence.answer
    assert answer is not None
    assert answer.name == "korvai"
    assert [end - start for start, end in cadence.first_part] == [7, 5, 3]
    gap = answer.first_gap
    assert gap is not None
    assert [b[0] - a[1] for a, b in pairwise(cadence.first_part)] == [gap, gap]
    assert cadence.statements[0][0] == cadence.first_part[-1][1] + gap
    total = 15 + 3 * gap + 15 + 2 * answer.gap
    assert (answer.begins - 1 + total - 1) % 8 == 0


def test_a_first_part_may_be_a_line_and_stands_after_a_body() -> None:
    line = closing(
        "body: S R, first: {line: head, times: 2, gap: 0}, sargam: P m G R S, gap: 0",
        more="  head: {lands: free, sargam: P d P}\n",
    )
    assert only(line).first_part == ((2, 5), (5, 8))
    assert line.parts == ("head",)
    assert only(line).statements[0][0] == 8


def test_a_korvai_in_a_chakradar_has_its_gap_said() -> None:
    inner = "cadence: {first: {sargam: S R G m, times: 2, gap: 0}, sargam: P m G}"
    line = closing(f"gap: 0, {inner}")
    assert len(only(line).first_part) == 6
    assert only(line).answer is not None
    open_gap = "cadence: {first: {sargam: S R G m, times: 2}, sargam: P m G}"
    assert "say it | gap: 0" in " ".join(told(open_gap))


def test_words_run_over_a_first_part_too() -> None:
    text = (
        "lines:\n  closing:\n    words: one two three four\n"
        "    cadence: {first: {sargam: G m, times: 2, gap: 0}, sargam: R S, gap: 0}\n"
    )
    line = piece_of(text, cycle="adi").lines["closing"]
    assert [note.word for note in line.notes] == ["one", "two"] * 2 + ["three", "four"] * 3


@pytest.mark.parametrize(
    ("cadence", "says"),
    [
        ("sargam: S R G, yati: gopucca", "'gopucca' is not a yati; write sama"),
        ("sargam: S R G, yati: vishama", "'vishama' is not a yati"),
        ("sargam: S R G, by: 1", "'by' needs a yati whose phrases differ | yati: gopuccha, by: 1"),
        ("sargam: S R G, yati: sama, by: 1", "'by' needs a yati"),
        ("sargam: S R G, yati: gopuccha, by: 0", "'by' must be above 0"),
        ("sargam: S R G, yati: gopuccha, by: -1", "'by' must be above 0"),
        ("sargam: S R G, yati: gopuccha, by: 2", "only 2 beats into the phrase | by: 1"),
        ("sargam: S R G, yati: mridanga, times: 9", "the shortest of 9 would be 4 beats shorter"),
        ("sargam: S R G, yati: damaru, times: 2", "damaru needs at least 3 statements, not 2"),
        ("sargam: S R G, yati: gopuccha, times: 1", "gopuccha needs at least 2 statements, not 1"),
        ("sargam: S R G, yati: gopuccha, speeds: 1 2", "a yati or speeds, not both"),
        ("sargam: S R G, speeds: 1 2, times: 3", "there are 2 speeds, and 'times' says 3"),
        ("sargam: S R G, speeds: 1 1/2 2", "can be one number or two"),
        ("sargam: S R G, speeds: 1 0", "a speed must be above 0 and at most 16, not 0"),
        ("sargam: S R G, speeds: 1 17", "not 17"),
        ("sargam: S R G, speeds: fast", "'fast' is not a number"),
        ("sargam: S R G, speeds: {a: 1}", "write the speeds one after the other"),
        ("sargam: S R G, speeds: []", "write the speeds one after the other"),
        ("sargam: S R G, first: S R", "sargam: S R"),
        ("sargam: S R G, first: {times: 2}", "the first part of a korvai"),
        ("sargam: S R G, first: {sargam: S, strokes: ta}", "written twice"),
        ("sargam: S R G, first: {strokes: ta ka}", "the first part is a line of strokes"),
        ("sargam: S R G, first: {sargam: z z}", "at least one note"),
        ("sargam: S R G, first: {sargam: S, gap: -1}", "a gap must be"),
        ("sargam: S R G, first: {sargam: S, first: S}", "first"),
        ("sargam: S R G, times: 1000000000", "9"),
    ],
)
def test_what_cannot_be_gets_a_finding(cadence: str, says: str) -> None:
    assert says in " ".join(told(cadence))


@pytest.mark.parametrize(
    ("eduppu", "says"),
    [
        ("-1", "0 or more"),
        ("8", "cannot come home 8 beats after its first beat | eduppu: 0"),
        ("9 1/2", "eduppu: 1 1/2"),
        ("1/65", "64ths at the finest"),
        ("often", "not a number"),
        ("[1]", "must be a number"),
    ],
)
def test_an_eduppu_must_lie_in_the_cycle(eduppu: str, says: str) -> None:
    assert says in " ".join(told("sargam: S R G", head=f"eduppu: {eduppu}\n"))
    own = f"lines:\n  head:\n    eduppu: {eduppu}\n    sargam: S R G m P d n d\n"
    found = findings_of(with_heading(own, cycle="adi"))
    assert any(says in f"{one.message} | {'; '.join(one.tries)}" for one in found)


def test_an_eduppu_must_lie_in_every_cycle_that_a_line_is_played_in() -> None:
    text = (
        "eduppu: 6\nlines:\n  head: {sargam: S R G m P d n d}\n"
        "form:\n  - play: head\n  - {play: head, cycle: khanda-chapu}\n"
    )
    found = findings_of(with_heading(text, cycle="adi"))
    assert any("cannot come home 6 beats" in one.message for one in found)


def test_lines_have_the_piece_s_eduppu_or_their_own() -> None:
    piece = piece_of(
        "eduppu: 1 1/2\nlines:\n  head: {sargam: S R G m P d n d}\n"
        "  other: {eduppu: 2, sargam: S R G m P d n d}\n"
        "  sam: {eduppu: 0, sargam: S R G m P d n d}\n"
        "  closing: {cadence: {sargam: P m G R S}}\n  whole: {chain: [head, closing]}\n",
        cycle="adi",
    )
    assert piece.eduppu == F(3, 2)
    lines = piece.lines
    assert [lines[name].eduppu for name in ("head", "other", "sam", "closing", "whole")] == [
        F(3, 2), 2, 0, F(3, 2), F(3, 2),
    ]  # fmt: skip
    assert [lines[name].begins for name in ("head", "other", "sam")] == [F(5, 2), 3, 1]
    for name in ("head", "other", "sam"):
        assert lines[name].standing(piece.cycle).shape == "loops"
    for name in ("closing", "whole"):
        standing = lines[name].standing(piece.cycle)
        assert standing.shape == "lands"
        assert standing.last % 8 == F(3, 2)


@settings(max_examples=40, deadline=None)
@given(
    cells=st.integers(2, 9),
    by=st.integers(1, 2),
    yati=st.sampled_from(["gopuccha", "srotovaha", "mridanga", "damaru", "sama"]),
    close=st.integers(1, 5),
    eduppu=st.sampled_from(["0", "1/2", "1 1/2", "3"]),
    cycle=st.sampled_from(["adi", "misra-chapu", "{beats: 11 1/2, sections: [4, 4, 3 1/2]}"]),
)
def test_what_auto_finds_falls_on_the_eduppu_as_it_is_written_out(
    cells: int, by: int, yati: str, close: int, eduppu: str, cycle: str
) -> None:
    step = "" if yati == "sama" else f", by: {by}"
    cadence = f"first: {{sargam: {'P ' * cells}, yati: {yati}{step}}}, sargam: {'S ' * close}"
    text = f"eduppu: {eduppu}\nlines:\n  closing:\n    cadence: {{{cadence}}}\n"
    found = findings_of(with_heading(text, cycle=cycle))
    if any(one.rule in ("wrong-value", "cadence-unsolved") for one in found):
        return
    piece = piece_of(text, cycle=cycle)
    line = piece.lines["closing"]
    last = line.begins - 1 + line.notes[-1].start
    assert (last - piece.eduppu) % piece.cycle.beats == 0
    assert line.standing(piece.cycle).shape == "lands"


@settings(max_examples=30, deadline=None)
@given(
    first=st.integers(1, 6),
    first_gap=st.integers(0, 2),
    close=st.integers(1, 5),
    gap=st.integers(0, 2),
    begins=st.integers(1, 7),
    eduppu=st.sampled_from(["0", "2", "1 1/2"]),
)
def test_what_is_tried_for_a_korvai_that_misses_lands(
    first: int, first_gap: int, close: int, gap: int, begins: int, eduppu: str
) -> None:
    def text(begins: str, first_gap: str, gap: str, close: int) -> str:
        part = f"first: {{sargam: {'P ' * first}, gap: {first_gap}}}"
        cadence = f"begins: {begins}, {part}, sargam: {'S ' * close}, gap: {gap}"
        return with_heading(
            f"eduppu: {eduppu}\nlines:\n  closing:\n    cadence: {{{cadence}}}\n",
            cycle="misra-chapu",
        )

    for one in findings_of(text(f"{begins}", f"{first_gap}", f"{gap}", close)):
        if one.rule != "cadence-misses":
            continue
        for tried in one.tries:
            key, _, value = tried.rpartition(": ")
            said = {"begins": f"{begins}", "the first part's gap": f"{first_gap}", "gap": f"{gap}"}
            length = close
            if key:
                assert key in said
                said[key] = value
            elif value.split()[-2].isdigit():
                length = int(value.split()[-2])
            else:
                continue  # a length of broken beats has no text of this form
            changed = text(said["begins"], said["the first part's gap"], said["gap"], length)
            assert "cadence-misses" not in [other.rule for other in findings_of(changed)], tried


def test_the_json_schema_takes_the_keys() -> None:
    validator = jsonschema.Draft7Validator(schema())
    piece = {
        "title": "Weir", "tonic": "D", "mode": "charukeshi", "cycle": "adi", "tempo": 80,
        "eduppu": "1 1/2",
        "lines": {
            "a": {"eduppu": 0, "cadence": {"sargam": "S R G", "yati": "gopuccha", "by": 1}},
            "b": {"cadence": {"sargam": "S R G", "speeds": [1, "3/2", 2]}},
            "c": {"cadence": {"sargam": "S R G", "speeds": "1 3/2 2",
                              "first": {"sargam": "S R", "times": 2, "gap": "auto"}}},
        },
        "form": [{"trade": ["flute", "tabla"], "cycles": 4, "halves": True}],
    }  # fmt: skip
    assert not list(validator.iter_errors(piece))
    piece["lines"]["c"]["cadence"]["first"]["fill"] = 1  # type: ignore[index]
    assert list(validator.iter_errors(piece))
