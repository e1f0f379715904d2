"""The heading of a piece: one finding for each wrong value, in words that fit it."""

from __future__ import annotations

import pytest
from support.making import findings_of, load_text, with_heading

from cyclechart.finding import Finding

LINE = "lines:\n  head: {lands: free, sargam: S R G m P}\n"


def told(**heading: str) -> list[Finding]:
    return findings_of(with_heading(LINE, **heading))


@pytest.mark.parametrize(
    "heading",
    [{"mode": "[S, R]"}, {"cycle": "[8]"}, {"cycle": "[]"}, {"mode": "[]"}, {"tonic": "[D]"}],
)
def test_a_list_is_no_mode_cycle_or_tonic(heading: dict[str, str]) -> None:
    found = told(**heading)
    assert [(f.rule, f.severity) for f in found] == [("wrong-value", "error")]
    assert "list" in found[0].message


@pytest.mark.parametrize("key", ["tonic", "mode", "cycle"])
@pytest.mark.parametrize("text", ["", "  ", "''", "# none"])
def test_an_empty_value_is_one_finding(key: str, text: str) -> None:
    found = told(**{key: text})
    assert [f.rule for f in found] == ["wrong-value"]
    assert "empty" in found[0].message or "comment" in found[0].message
    assert "''" not in found[0].message


@pytest.mark.parametrize(
    ("tuning", "tries"),
    [
        ("{P: 4/3}", ('P: "3/2"', "P: 702.0")),
        ("{d: far}", ('d: "8/5"', "d: 813.7")),
        ("{S: 100}", ("leave S out",)),
        ("{S: 1}", ("leave S out",)),
        ("{S: 81/80}", ("leave S out",)),
    ],
)
def test_a_tuning_that_cannot_be_shows_the_just_value(tuning: str, tries: tuple[str, ...]) -> None:
    found = told(tuning=tuning)
    assert [(f.rule, f.tries) for f in found] == [("wrong-value", tries)]


@pytest.mark.parametrize("tuning", ["{S: 0}", "{S: 1/1}", "{S: 2/2, P: 700}"])
def test_sa_may_be_tuned_to_itself(tuning: str) -> None:
    assert told(tuning=tuning) == []


def test_names_that_no_chart_has_room_for() -> None:
    assert [f.rule for f in told(composer="x" * 301)] == ["too-long"]
    assert told(composer="x" * 300) == []
    text = (
        'lines:\n  "a\\nb": {sargam: S}\n  " ": {sargam: S}\n  "\\a": {sargam: S}\n'
        f"  {'n' * 61}: {{sargam: S}}\n  {'m' * 60}: {{lands: free, sargam: S}}\n"
    )
    found = findings_of(with_heading(text))
    errors = [(f.rule, f.spot.line) for f in found if f.severity == "error"]
    assert errors == [
        ("wrong-value", 7),
        ("wrong-value", 8),
        ("wrong-value", 9),
        ("too-long", 10),
    ]


def test_a_control_character_behind_an_escape_is_found() -> None:
    found = findings_of(with_heading(LINE, composer='"The \\a Seven"'))
    assert [(f.rule, f.message) for f in found] == [
        ("wrong-value", "composer: the text contains a control character")
    ]


def test_the_name_of_a_mode_stands_in_one_row() -> None:
    mode = "{name: \"River\\n Mode\", ascent: S R G m P d n S', descent: S' n d P m G R S}"
    piece = load_text(with_heading(LINE, mode=mode)).piece
    assert piece is not None
    assert piece.mode.name == "River Mode"


@pytest.mark.parametrize(
    ("version", "date", "edition"),
    [
        ("3", "2026-05-01", "version 3 · 2026-05-01"),
        ("for the trio", "May", "for the trio · May"),
        ("2.10", "010", "version 2.10 · 010"),
    ],
)
def test_version_and_date_are_texts_as_they_are_written(
    version: str, date: str, edition: str
) -> None:
    loaded = load_text(with_heading(LINE, version=version, date=date))
    assert not loaded.findings
    assert loaded.piece is not None
    assert loaded.piece.edition == edition


@pytest.mark.parametrize("key", ["version", "date"])
@pytest.mark.parametrize(
    ("text", "rule"), [("''", "wrong-value"), ("[1]", "wrong-value"), ("9" * 41, "too-long")]
)
def test_a_version_or_date_that_cannot_stand_in_a_foot(key: str, text: str, rule: str) -> None:
    assert [f.rule for f in told(**{key: text})] == [rule]


def test_without_version_and_date_there_is_none() -> None:
    piece = load_text(with_heading(LINE)).piece
    assert piece is not None
    assert piece.edition == ""


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("‘D’", "D"), ("“eb”", "Eb"), ("D minor", "D"), ("f sharp", "F#"), ("B-flat", "Bb"),
        ("Sa = C#", "C#"), ("A♭ major", "Ab"),
    ],
)  # fmt: skip
def test_a_tonic_in_other_words_is_answered_with_its_letter(text: str, meant: str) -> None:
    (finding,) = told(tonic=text)
    assert finding.tries == (f"tonic: {meant}",)
