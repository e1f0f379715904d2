"""The command ``cadence`` from outside: what it prints, refuses and suggests."""

from __future__ import annotations

import json
import shlex
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from support.making import ROOT

from cyclechart import cli
from cyclechart.theory.exact import parse_exact

KEYS = {"begins", "gap", "round_gap", "phrase", "cycles", "ends", "kind", "lands"}


def run(line: str) -> Result:
    """``cyclechart cadence`` with these words."""
    return CliRunner().invoke(cli.cli, ["cadence", *shlex.split(line)])


def answers(line: str) -> list[dict[str, Any]]:
    result = run(f"{line} --format json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, list)
    return found


@pytest.mark.parametrize(
    ("line", "begins", "gap", "ends", "kind"),
    [
        # D. Courtney: P = 11 in 16 without a gap; P = 9 in 10 with a gap of 7 (Vashisht 1977:143).
        ("tintal --phrase 11 --gap 0 --begins 1", "1", "0", "11 22 33", "bedam"),
        ("jhaptal --phrase 9 --gap 7 --begins 1", "1", "7", "9 25 41", "damdar"),
        # The same sum, 3P + 2D = nL + 1, with 5 and 1; and with the room of 9 = 3·2 + 2·2 − 1.
        ("tintal --phrase 'P m G R S' --begins 1", "1", "1", "5 11 17", "damdar"),
        ("tintal --room 9", "8", "2", "9 13 17", "damdar"),
        # Strokes as well as sargam: four beats whose last stroke is on the fourth.
        (
            "tintal --phrase 'dha tirakita dhin na' --begins 1",
            "1",
            "2 1/2",
            "4 10 1/2 17",
            "damdar",
        ),
        # rasikas.org: 4(1)5(1)6 = 17; and the same turned round.
        ("tintal --phrase 6 --yati srotovaha --begins 1", "1", "1", "4 10 17", "srotovaha"),
        ("tintal --phrase 6 --yati gopuccha --begins 1", "1", "1", "6 12 17", "gopuccha"),
        # An encyclopaedia's anagat tihai in 16: 4-2-4-2-4.
        ("tintal --phrase 4 --gap 2 --begins 1 --early 1", "1", "2", "4 10 16", "damdar"),
    ],
)
def test_the_first_answer(line: str, begins: str, gap: str, ends: str, kind: str) -> None:
    first = answers(line)[0]
    assert (first["begins"], first["gap"], first["kind"]) == (begins, gap, kind)
    assert " ".join(first["ends"]) == ends
    assert first["lands"] == ("anagat" if "--early" in line else "sam")
    assert kind in run(line).stdout.splitlines()[1]


@pytest.mark.parametrize(
    ("line", "begins", "gap", "first_gap", "ends", "kind"),
    [
        # rasikas.org, viewtopic p=380684: srotovaha 3(1)4(1)5 = 14 and 5(1)6(1)7 = 20.
        ("tintal --phrase 5 --yati srotovaha --gap 1", "4", "1", None, "6 11 17", "srotovaha"),
        ("tintal --phrase 7 --yati srotovaha --gap 1", "14", "1", None, "18 25 33", "srotovaha"),
        # mridanga 3 5 7 5 3 in seven (the shape's numbers from memory): 23 = 22 + 1 from beat 7.
        ("misra-chapu --phrase 7 --yati mridanga --by 2", "7", "0", None,
         "9 14 21 26 29", "mridanga"),
        ("adi --phrase 7 --yati damaru --by 2 --begins 1", "1", "1 1/2", None,
         "7, 13 1/2, 18, 24 1/2, 33", "damaru"),
    ],
)  # fmt: skip
def test_the_first_answer_of_a_shape(
    line: str, begins: str, gap: str, first_gap: str | None, ends: str, kind: str
) -> None:
    first = answers(line)[0]
    assert (first["begins"], first["gap"], first["kind"]) == (begins, gap, kind)
    assert first.get("first_gap") == first_gap
    assert (", " if "," in ends else " ").join(first["ends"]) == ends


def test_late_landings_and_an_eduppu_end_where_they_say() -> None:
    for found in answers("adi --phrase 5 --late 3/2"):
        assert found["lands"] == "atit"
        assert parse_exact(found["ends"][-1]) == 8 * found["cycles"] + 1 + Fraction(3, 2)
    for found in answers("adi --phrase 5 --eduppu 3/2"):
        assert found["lands"] == "sam"
        assert (parse_exact(found["ends"][-1]) - 1 - Fraction(3, 2)) % 8 == 0
    table = run("adi --phrase 5 --eduppu 3/2 --most 1").stdout
    assert "18 1/2×" in table
    assert "× is the eduppu, 1 1/2 beats" in table
    assert "bedam, atit" in run("adi --phrase 5 --late 3/2 --most 1").stdout


def test_a_room_before_an_eduppu_is_filled_to_it() -> None:
    for found in answers("adi --room 9 --eduppu 3/2"):
        assert found["begins"] == "1 1/2"
        assert found["ends"][-1] == "10 1/2"


def test_a_first_part_alone_finds_the_phrases_that_close_it() -> None:
    closing = answers("adi --first '6 5 4' --gap 0")
    assert {found["kind"] for found in closing} == {"korvai"}
    for found in closing:
        gaps = 3 * parse_exact(found["first_gap"])
        last = 15 + gaps + 3 * parse_exact(found["phrase"])
        assert last == 8 * found["cycles"] + 1


def test_the_keys_of_an_answer() -> None:
    assert {frozenset(found) for found in answers("tintal --phrase 5")} == {frozenset(KEYS)}
    grown = answers("tintal --phrase 5 --yati srotovaha --by 1/2")
    assert {frozenset(found) for found in grown} == {frozenset({*KEYS, "phrases"})}
    assert grown[0]["phrases"] == ["4", "4 1/2", "5"]
    assert grown[0]["phrase"] == "4"


def test_every_end_of_every_answer_adds_up() -> None:
    for found in answers("tintal --phrase 5 --within 4"):
        begins, gap = parse_exact(found["begins"]), parse_exact(found["gap"])
        ends = [begins - 1 + 5 + number * (5 + gap) for number in range(3)]
        assert [parse_exact(end) for end in found["ends"]] == ends
        assert ends[-1] == 16 * found["cycles"] + 1


def test_the_farmaishi_comes_first_after_a_body_of_twelve() -> None:
    # Sitar Malika p. 153: 12 + 5×3 = 27, said three times, is 81 = 5·16 + 1.
    first = answers("tintal --body 12 --rounds 3")[0]
    assert (first["phrase"], first["gap"], first["round_gap"]) == ("5", "0", "0")
    assert first["kind"] == "farmaishi"
    assert " ".join(first["ends"]) == "17 22 27 44 49 54 71 76 81"


def test_a_body_may_be_text() -> None:
    assert answers("tintal --body 'S R G m P -' --rounds 3") == answers(
        "tintal --body 6 --rounds 3"
    )
    assert answers("rupak --body 'dha - na' --phrase 2") == answers("rupak --body 3 --phrase 2")


def test_a_chakradar_has_four_cycles_a_round_unless_said_otherwise() -> None:
    # Sitar Malika p. 153 needs five.
    asked = "tintal --phrase 5 --body 12 --rounds 3 --gap 0 --round-gap 0"
    assert answers(f"{asked} --begins 1")[0]["kind"] == "farmaishi"
    refused = run(f"{asked} --begins 1 --within 4")
    assert refused.exit_code == 1
    assert "--within 5" in refused.stderr


def test_a_room_honours_all_that_is_said() -> None:
    for found in answers("tintal --room 16 --rounds 3 --gap 1"):
        assert (found["gap"], found["kind"], found["ends"][-1]) == ("1", "nauhakka", "17")
    for found in answers("tintal --room 20 --body 4 --early 1 --times 2"):
        assert found["begins"] == "13"
        assert found["ends"][-1] == "32"
        assert parse_exact(found["ends"][0]) == 13 - 1 + 4 + parse_exact(found["phrase"])
    shapes = answers("tintal --room 16 --yati gopuccha --by 1")
    assert {found["kind"] for found in shapes} == {"gopuccha"}
    assert ["6", "5", "4"] in [found["phrases"] for found in shapes]


def test_most_counts_the_answers_of_a_table_and_of_json() -> None:
    assert len(answers("tintal --phrase 5")) == 51
    assert len(answers("tintal --phrase 5 --most 3")) == 3
    lines = run("tintal --phrase 5 --most 3").stdout.splitlines()
    assert lines[4] == ""
    assert lines[-1] == "48 more answers; --most 51 shows all."
    assert "more answer" not in run("tintal --phrase 5 --most 51").stdout


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("tintl --phrase 5", "tintal"),
        ("tintal", "--phrase"),
        ("tintal --rounds 3", "--body"),
        ("tintal --phrase 5 --room 9", "either --phrase or --room"),
        ("tintal --phrase 5 --gap -1", "must be 0 to 1000, not -1"),
        ("tintal --phrase 5 --begins 0", "must be 1 to 1000, not 0"),
        ("tintal --phrase 5 --begins 17", "--begins 17 is past the last beat: Tintal has 16 beats"),
        ("rupak --phrase 5 --begins 8", "--begins 8 is past the last beat: Rupak has 7 beats"),
        ("eleven-and-a-half --phrase 5 --begins '12 1/2'", "12 1/2 is past"),
        ("tintal --phrase 5 --early 16", "--early 16 is a cycle or more"),
        ("tintal --phrase 5 --gap much", "much"),
        ("tintal --phrase 5 --within 0", "0 is not in the range 1<=x<=256"),
        ("tintal --phrase 5 --times 0", "0 is not in the range 1<=x<=27"),
        ("tintal --phrase 1000000000", "1000000000"),
        ("tintal --phrase 1001", "must be 0 to 1000, not 1001"),
        ("tintal --phrase 0", "must be more than 0 beats"),
        ("tintal --phrase -5", "must be 0 to 1000, not -5"),
        ("tintal --phrase '4 5 6'", "4 5 6"),
        ("tintal --body 1001 --rounds 3", "must be 0 to 1000, not 1001"),
        ("tintal --room 0", "must be more than 0 beats"),
        ("tintal --room 9 --begins 8", "--room 9 always begins on beat 8"),
        ("tintal --room 9 --begins 5", "--room 9 always begins on beat 8"),
        ("tintal --room 100 --within 2", "--room 100 takes 7 cycles"),
        ("tintal --phrase 5 --yati srotovaha --by 0", "must be more than 0 beats"),
        ("tintal --phrase 5 --by 1", "--by 1 needs a --yati whose statements differ"),
        ("tintal --phrase 5 --yati sama --by 1", "--by 1 needs a --yati whose statements differ"),
        ("tintal --phrase 3 --yati gopuccha --by 2", "--by 2 is too much: the shortest of 3"),
        ("tintal --phrase 3 --yati mridanga --by 2", "--by 2 is too much: the shortest of 5"),
        ("tintal --phrase 5 --yati damaru --times 2", "--yati damaru needs at least three"),
        ("tintal --phrase 5 --yati vishama", "'vishama' is not one of"),
        ("tintal --phrase 5 --yati sama --speeds '1 2'", "either --yati or --speeds"),
        ("tintal --phrase 5 --speeds '1 2' --times 3", "--speeds has 2 of them"),
        ("tintal --phrase 5 --speeds '1 1/2 2'", "can be one number or two"),
        ("tintal --phrase 5 --speeds '1 0 2'", "must be above 0"),
        ("tintal --phrase 5 --speeds '1 17'", "at most 16"),
        ("tintal --phrase 5 --early=-3/2", "to land after sam give --late 1 1/2"),
        ("tintal --phrase 5 --early 1 --late 1", "either --early or --late"),
        ("tintal --phrase 5 --late 16", "--late 16 is a cycle or more"),
        ("adi --phrase 5 --eduppu 8", "--eduppu 8 is a cycle or more"),
        ("adi --phrase 5 --first-gap 1", "--first-gap 1 needs the phrases of --first"),
        ("adi --phrase 5 --first '6 5' --rounds 3", "--first-gap 0"),
        ("adi --phrase 5 --first 'six five'", "is not a number"),
        ("tintal --phrase 5 --times 1 --gap 2", "--gap 2 needs more than one statement"),
        ("tintal --phrase 5 --times 1 --yati gopuccha", "--yati gopuccha needs at least two"),
        ("tintal --phrase 5 --round-gap 2", "--round-gap 2 needs more than one round"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused_by_its_number(
    line: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    result = run(line)
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize("phrase", ["S X", "z z", "- -", "dha xyz", "S R ("])
def test_a_phrase_that_cannot_be_read_gets_a_finding(phrase: str) -> None:
    result = run(f"tintal --phrase '{phrase}'")
    assert result.exit_code == 1
    assert "--phrase:1:" in result.stderr
    assert f"| {phrase}" in result.stderr


def test_a_body_and_a_phrase_that_cannot_be_read_are_both_told() -> None:
    result = run("tintal --phrase 'S X' --body 'R Y'")
    assert "--phrase:1:3" in result.stderr
    assert "--body:1:3" in result.stderr


@pytest.mark.parametrize(
    "line",
    [
        "tintal --phrase 5 --gap 0 --begins 1",
        "tintal --phrase 5 --gap 0 --begins 2 --early 1/2",
        "ektal --phrase 5 --gap 0 --begins 1",
        "eleven-and-a-half --phrase 4 --gap 1 --begins 1",
        "rupak --phrase 'P m GR G' --gap 1 --begins 4",
        "tintal --phrase 900",
        "tintal --phrase 5 --gap 100 --begins 1",
        "tintal --phrase 5 --body 12 --rounds 3 --gap 0 --round-gap 1 --begins 1",
        "tintal --phrase 7 --yati srotovaha --by 1 --gap 0 --begins 1",
        "tintal --phrase 9 --yati damaru --by 2 --gap 0 --begins 2",
        "adi --phrase 5 --gap 0 --begins 1 --late 3/2",
        "adi --phrase 5 --gap 0 --begins 1 --eduppu 3/2",
        "adi --first '6 5 4' --phrase 5 --gap 0 --first-gap 0 --begins 1",
        "adi --first '6 5 4' --phrase 5 --gap 0 --begins 1 --within 3",
        "tintal --phrase 8 --speeds '1 3/2 2' --begins 1",
        "tintal --room 1",
        "tintal --room 9 --gap 5",
        "tintal --room 16 --rounds 3 --gap 5",
        "tintal --room 9 --body 12",
        "tintal --body 12 --rounds 3 --within 1",
        "tintal --body 12 --rounds 3 --gap 0 --round-gap 1/3",
    ],
)
def test_what_is_suggested_lands(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    result = run(line)
    assert result.exit_code == 1
    assert result.stderr.startswith("No ")
    tried = 0
    for said in result.stderr.splitlines():
        lead, _, suggestion = said.partition(": ")
        if lead not in ("  try", "   or"):
            continue
        tried += 1
        if suggestion.startswith("a phrase of "):
            beats = suggestion.removeprefix("a phrase of ").removesuffix("s").removesuffix(" beat")
            if "'" in line:
                continue  # a text's strokes are more than its beats
            suggestion = f'--phrase "{beats}"'
        # The last of two equal options holds.
        assert run(f"{line} {suggestion}").exit_code == 0, suggestion
    assert tried or "is longer" in result.stderr


def test_a_cadence_that_cannot_be_says_why_and_by_how_much() -> None:
    result = run("ektal --phrase 5 --gap 0 --begins 1")
    assert "divided by 3" in result.stderr
    assert "count 15: 10 beats short of a first beat, 2 beats past" in result.stderr
    assert "a phrase of 4 1/3 beats" in result.stderr
    # From beat 2 a phrase of four lands, so there is nothing about division to say.
    assert "divided" not in run("ektal --phrase 5 --gap 0 --begins 2").stderr
    assert json.loads(run("ektal --phrase 5 --gap 0 --begins 1 --format json").stdout) == []


def test_the_table() -> None:
    lines = run("tintal --phrase 5 --body 12 --rounds 3 --begins 1 --most 1").stdout.splitlines()
    head = "begins  phrase  gap  apart  round gap  cycles  kind       last strokes on"
    row = "     1       5    0      1          0       5  farmaishi  "
    assert lines[:2] == [head, f"{row}17× 22 27 · 44 49× 54 · 71 76 81×"]


def test_both_counts_of_the_silence_stand_in_the_table() -> None:
    # A held end: six beats as written, the last stroke on the fifth.
    lines = run("tintal --phrase 'S R G m P -' --most 2").stdout.splitlines()
    assert lines[:3] == [
        "begins  phrase  gap  silence  apart  cycles  kind    last strokes on",
        "     1       6    0        1      2       1  damdar  5 11 17×",
        "    15       6    1        2      3       2  damdar  19 26 33×",
    ]


def test_a_last_stroke_of_half_a_beat_leaves_the_gap_silent() -> None:
    lines = run("tintal --phrase 'S R GM P DN' --gap 1/4").stdout.splitlines()
    assert lines[:2] == [
        "begins  phrase   gap  apart  cycles  kind   last strokes on",
        "     2       5   1/4    3/4       1  bedam  6 1/2, 11 3/4, 17×",
    ]
    said = " ".join(lines[2:])
    assert "sounds for half a beat, to its statement's end, so the gap is also the silence" in said
    assert "to the next statement's first, is half a beat more" in said


@pytest.mark.parametrize(
    "line",
    [
        "eleven-and-a-half --phrase 5 --rounds 3",
        "tintal --body 12 --rounds 3 --most 100",
        "rupak --phrase '3 1/2' --yati srotovaha --by 1/2 --rounds 3",
        "rupak --phrase 6 --yati mridanga --by 3/2 --within 20",
        "adi --first '24 30 20 15 10' --phrase 9 --eduppu 3/2 --within 30",
        "tintal --phrase 1 --rounds 9",
    ],
)
def test_a_table_is_at_most_a_hundred_wide(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    result = run(line)
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 100


def test_broken_counts_stand_under_one_another() -> None:
    lines = run("rupak --phrase 5 --begins 1").stdout.splitlines()
    assert lines[1:4] == [
        "     1       5  0      1           2  bedam   5, 10, 15×",
        "     1       5  7      8           4  damdar  5, 17, 29×",
        "     1       5  3 1/2  4 1/2       3  damdar  5, 13 1/2, 22×",
    ]


@pytest.mark.parametrize("name", ["jaya", "misra-gati-jaya"])
def test_a_definition_to_write_is_something_to_try_and_no_name_that_was_meant(name: str) -> None:
    result = run(f"{name} --phrase 5")
    assert result.exit_code == 2
    assert "did you mean" not in result.output
    assert "only its 13 beats are confirmed\n  try: cycle: {name: Jaya, beats: 13}" in result.output


def test_a_name_that_was_meant_is_asked_for() -> None:
    assert "there is no cycle 'jhaptl'; did you mean jhaptal" in run("jhaptl --phrase 5").output


def test_what_is_wrong_with_a_band_s_own_cycle_is_said_with_what_to_try(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shared").mkdir()
    own = "ours: {beats: 10, sections: [4, 4], stressed: [1, 1]}\n"
    (tmp_path / "shared" / "cycles.yaml").write_text(own)
    monkeypatch.chdir(tmp_path)
    result = run("ours --phrase 5")
    assert result.exit_code == 2
    assert "did you mean" not in result.output
    for line in (
        "the sections 4 + 4 add up to 8, not 10\n  try: beats: 8\n   or: sections: [4, 6]\n",
        "beat 1 is clapped more than once\n  try: stressed: [1]\n",
    ):
        assert line in result.output
