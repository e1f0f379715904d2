"""Cadences and chains of a piece: read, worked out, written out, played through the timeline."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import findings_of, load_text, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.unroller import unroll
from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece

F = Fraction
CYCLES = ("tintal", "jhaptal", "rupak", "ektal", "{beats: 11 1/2, sections: [4, 4, 3 1/2]}")


def piece_with(cadence: str, cycle: str = "tintal", more: str = "") -> Piece:
    """A piece of one line, a cadence."""
    return piece_of(f"lines:\n  closing:\n    cadence: {{{cadence}}}\n{more}", cycle=cycle)


def closing(cadence: str, cycle: str = "tintal") -> Line:
    return piece_with(cadence, cycle).lines["closing"]


def told(cadence: str, cycle: str = "tintal", more: str = "") -> list[Finding]:
    """Return the findings about a piece of one cadence."""
    text = f"lines:\n  closing:\n    cadence: {{{cadence}}}\n{more}"
    return findings_of(with_heading(text, cycle=cycle))


def starts(line: Line) -> list[Fraction]:
    return [note.start for note in line.notes]


def test_a_tihai_is_written_out() -> None:
    line = closing("sargam: P m GR G S, gap: 1, begins: 1")
    assert (line.begins, line.length) == (1, 17)
    said = [F(0), F(1), F(2), F(5, 2), F(3), F(4)]
    assert starts(line) == [at + turn * 6 for turn in range(3) for at in said]
    (cadence,) = line.cadences
    assert cadence.answer is not None
    assert (cadence.answer.kind, cadence.answer.ends) == ("damdar", (5, 11, 17))
    assert cadence.statements == ((0, 5), (6, 11), (12, 17))


def test_auto_takes_the_plainest_and_keeps_the_others() -> None:
    line = closing("sargam: P m GR G S")
    (cadence,) = line.cadences
    assert cadence.answer == cadence.solved.found[0]
    assert (line.begins, cadence.answer.gap) == (3, 0)
    assert any((a.begins, a.gap) == (1, 1) for a in cadence.solved.found)


def test_holds_at_the_end_of_a_statement_count_into_it() -> None:
    # how-it-judges.md, Cadence: a statement is as long as it is written, holds included.
    line = closing("sargam: P m G -, begins: 1, gap: 1")
    assert starts(line)[3] == 5
    assert line.cadences[0].answer is None  # 2·5 + 2 = 12: not a first beat of sixteen


def test_a_body_is_said_before_the_statements_of_each_round() -> None:
    # Sitar Malika p. 153: 12 + 5×3 = 27, said three times: 81 = 5·16 + 1; 17, 49 and 81 on sam.
    inner = "sargam: P m GR G S, body: S R G m P d n S' n d P m, gap: 0"
    line = closing(f"cadence: {{{inner}}}, gap: 0, within: 5")
    (cadence,) = line.cadences
    assert cadence.answer is not None
    assert cadence.answer.kind == "farmaishi"
    assert line.begins == 1
    assert [end for end in cadence.answer.ends if end % 16 == 1] == [17, 49, 81]
    assert cadence.rounds == ((0, 27), (27, 54), (54, 81))
    assert len(line.notes) == 3 * (12 + 3 * 6)


def test_a_body_of_the_outer_cadence_is_said_once() -> None:
    inner = "sargam: P m G, gap: 0"
    line = closing(f"cadence: {{{inner}}}, body: S R G m P, gap: 0")
    assert len(line.notes) == 5 + 9 * 3
    assert line.cadences[0].statements[0] == (5, 8)
    assert line.standing(piece_with("sargam: P m G").cycle).shape == "lands"


def test_a_statement_of_strokes() -> None:
    line = closing("strokes: tita kata gadigana dha, gap: auto")
    assert line.kind == "strokes"
    assert " ".join(note.syllable for note in line.notes[:9]) == "ti ta ka ta ga di ga na dha"


def test_another_line_is_the_statement() -> None:
    piece = piece_of(
        "lines:\n  closing:\n    cadence: {line: call, gap: 1}\n  call: {letters: A G F#E F# D}\n",
        cycle="tintal",
    )
    line = piece.lines["closing"]
    assert [note.pitch for note in line.notes[:6]] == [7, 5, 4, 2, 4, 0]
    assert line.parts == ("call",)
    # The line it is made of is not played by itself, nor held against the cycle.
    assert [step.uses for step in piece.steps] == [("closing",)]
    assert not findings_of(
        with_heading(
            "lines:\n  closing:\n    cadence: {line: call, gap: 1}\n  call: {sargam: P m GR G S}\n",
            cycle="tintal",
        )
    )


def test_anagat_and_atit() -> None:
    text = "lines:\n  closing:\n    lands: {}\n    cadence: {{sargam: P m G R, gap: 2}}\n"
    for how, ends in (("anagat 1", 16), ("anagat 1/2", F(33, 2)), ("atit 1/2", F(35, 2))):
        piece = piece_of(text.format(how), cycle="tintal")
        (cadence,) = piece.lines["closing"].cadences
        assert cadence.answer is not None
        assert cadence.answer.ends[-1] % 16 == ends % 16
        assert cadence.answer.lands == how.split()[0]
        assert not findings_of(with_heading(text.format(how), cycle="tintal"))


def test_words_are_sung_with_every_statement() -> None:
    piece = piece_of(
        "lines:\n  closing:\n    cadence: {sargam: P m G, body: S R}\n"
        "    words: oh now come a-gain\n",
        cycle="tintal",
    )
    words = [note.word for note in piece.lines["closing"].notes]
    assert words == ["oh", "now", *["come", "a-", "gain"] * 3]


def test_a_chain_works_its_cadence_out_from_where_it_comes_to_it() -> None:
    piece = piece_of(
        "lines:\n  whole:\n    chain: [run, closing]\n  run: {sargam: S R G m}\n"
        "  closing:\n    cadence: {sargam: P m GR G}\n",
        cycle="tintal",
    )
    line = piece.lines["whole"]
    (cadence,) = line.cadences
    assert cadence.start == 4
    assert cadence.answer is not None
    assert cadence.answer.begins == 5
    assert line.standing(piece.cycle).shape == "lands"
    assert [step.uses for step in piece.steps] == [("whole",)]


def test_a_chain_within_a_chain_is_worked_out_anew() -> None:
    piece = piece_of(
        "lines:\n  run: {sargam: S R G m}\n  closing:\n    cadence: {sargam: P m GR G}\n"
        "  half:\n    chain: [run, closing]\n  whole:\n    chain: [run, run, half]\n",
        cycle="tintal",
    )
    for name, start in (("half", 4), ("whole", 12)):
        line = piece.lines[name]
        assert line.cadences[0].start == start
        assert line.standing(piece.cycle).shape == "lands", name


def test_a_chain_begins_where_its_first_link_does() -> None:
    piece = piece_of(
        "lines:\n  whole:\n    chain: [call, answer]\n  call: {begins: 13, sargam: S R G m}\n"
        "  answer: {sargam: P d n S'}\n",
        cycle="tintal",
    )
    assert piece.lines["whole"].begins == 13
    assert piece.lines["whole"].length == 8


phrases = st.lists(
    st.sampled_from(["S", "R", "GR", "m-", "P/2", "[G m]x3/2"]), min_size=1, max_size=6
)


@given(
    phrases,
    st.sampled_from(CYCLES),
    st.sampled_from(["", ", begins: 1", ", begins: 2 1/2", ", gap: 1/2", ", gap: 2"]),
    st.sampled_from(["", ", body: S R G"]),
    st.integers(2, 5),
)
def test_whatever_is_solved_lands_when_it_is_played(
    cells: list[str], cycle: str, said: str, body: str, times: int
) -> None:
    cadence = f"{{sargam: '{' '.join(cells)} S', times: {times}{said}{body}}}"
    text = f"lines:\n  closing:\n    cadence: {cadence}\n"
    result = load_text(with_heading(text, cycle=cycle))
    assert result.piece is not None
    line = result.piece.lines["closing"]
    (cadence,) = line.cadences
    rules = [finding.rule for finding in findings_of(with_heading(text, cycle=cycle))]
    if cadence.answer is None:
        assert {"cadence-unsolved", "cadence-misses"} & set(rules)
        return
    assert not {"cadence-unsolved", "cadence-misses", "misses-first-beat"} & set(rules)
    timeline = unroll(result.piece)
    (placed,) = timeline.placed_lines
    # The count-in is one cycle from 0 on: first beats are whole cycles from the very beginning.
    assert placed.start_of(placed.line.notes[-1]) % result.piece.cycle.beats == 0
    assert placed.start_of(placed.line.notes[-1]) == timeline.closing
    melody = next(part for part in arrange(result.piece).parts if part.role.name == "melody")
    assert melody.sounds[-1].start == timeline.closing
    for (start, end), counted in zip(cadence.statements, cadence.answer.ends, strict=True):
        inside = [note.start for note in line.notes if start <= note.start < end]
        assert cadence.answer.begins + inside[-1] == counted


@pytest.mark.parametrize(
    ("cadence", "rule", "words"),
    [
        ("gap: 1", "missing-key", "sargam"),
        ("sargam: P m, strokes: dha", "wrong-value", "written twice"),
        ("sargam: P m, gap: -1", "wrong-value", "-1"),
        ("sargam: P m, gap: 10000", "wrong-value", "10000"),
        ("sargam: P m, gap: soon", "wrong-value", "auto"),
        ("sargam: P m, times: 0", "wrong-value", "not 0"),
        ("sargam: P m, times: 1000000000", "wrong-value", "1000000000"),
        ("sargam: P m, times: 2 1/2", "wrong-value", "2 1/2"),
        ("sargam: P m, within: 999", "wrong-value", "999"),
        ("sargam: P m, begins: 17", "wrong-value", "17"),
        ("sargam: P m, begins: 0", "wrong-value", "not on 0"),
        ("sargam: z z", "wrong-value", "at least one note"),
        ("sargam: P X", "bad-cell", "X"),
        ("sargam: P | m", "bad-cell", "section line"),
        ("line: nobody", "unknown-line", "nobody"),
        ("line: closing", "wrong-value", "itself"),
        ("cadence: {sargam: P m, begins: 3}", "wrong-value", "begins"),
        ("cadence: {cadence: {sargam: P m}}", "wrong-value", "cannot contain another"),
        ("sargam: P m G R S, gap: 2, begins: 1", "cadence-misses", "14 beats short"),
        ("sargam: S R G m P d n S' n d P m, within: 1", "cadence-unsolved", "1 cycle"),
    ],
)
def test_what_cannot_be_is_a_finding_that_names_it(cadence: str, rule: str, words: str) -> None:
    found = [finding for finding in told(cadence) if finding.rule == rule]
    assert found, told(cadence)
    assert any(words in f"{f.message} {' '.join(f.tries)}" for f in found), found


def test_lands_free_and_a_second_beginning_are_refused() -> None:
    text = "lines:\n  closing:\n    {}\n    cadence: {{sargam: P m GR G S, begins: 3}}\n"
    for line, words in (("lands: free", "cannot be free"), ("begins: 4", "beat 4")):
        found = findings_of(with_heading(text.format(line), cycle="tintal"))
        assert any(words in finding.message for finding in found), line


@pytest.mark.parametrize(
    ("chain", "rule"),
    [
        ("[]", "wrong-value"),
        ("run", "wrong-value"),
        ("[run, nobody]", "unknown-line"),
        ("[run, whole]", "wrong-value"),
        ("[run, drums]", "wrong-value"),
    ],
)
def test_chains_that_cannot_be(chain: str, rule: str) -> None:
    text = (
        f"lines:\n  whole:\n    chain: {chain}\n  run: {{sargam: S R G m}}\n"
        "  drums: {strokes: dha dhin}\n"
    )
    assert rule in [finding.rule for finding in findings_of(with_heading(text))]


def test_chains_of_chains_do_not_grow_without_end() -> None:
    lines = "  a: {sargam: S R G m P d n S'}\n"
    for number in range(60):
        before = f"b{number - 1}" if number else "a"
        lines += f"  b{number}:\n    chain: [{before}, {before}]\n"
    assert "too-long" in [finding.rule for finding in findings_of(with_heading(f"lines:\n{lines}"))]
