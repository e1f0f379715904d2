"""What musicians write for our keys: each once, with the key that is meant."""

from __future__ import annotations

import pytest
from support.making import findings_of, with_heading

from cyclechart.finding import Finding
from cyclechart.piece.key_words import LINE_WORDS, PIECE_WORDS, STEP_WORDS
from cyclechart.piece.shape import LineShape, PieceShape, StepShape
from cyclechart.text.edits import with_edits
from cyclechart.text.source import Source

LINES = "lines:\n  head:\n    sargam: S R G m P P m G R R || S\n"


def _errors(text: str) -> list[Finding]:
    return [one for one in findings_of(text) if one.severity == "error"]


@pytest.mark.parametrize(
    ("written", "ours"),
    [
        ("raga: charukeshi", "mode"), ("scale: charukeshi", "mode"), ("tala: jhaptal", "cycle"),
        ("time: jhaptal", "cycle"), ("meter: jhaptal", "cycle"), ("bpm: 92", "tempo"),
        ("key: D", "tonic"), ("Sa: D", "tonic"), ("name: A Test", "title"),
    ],
)  # fmt: skip
def test_a_word_for_a_key_that_must_be_there_is_one_finding(written: str, ours: str) -> None:
    given = {
        "title": "A Test",
        "tonic": "D",
        "mode": "charukeshi",
        "cycle": "jhaptal",
        "tempo": "92",
    }
    del given[ours]
    text = "".join(f"{key}: {value}\n" for key, value in given.items()) + f"{written}\n{LINES}"
    (finding,) = _errors(text)
    assert finding.rule == "unknown-key"
    assert finding.tries == (f"{ours}:",)
    assert _errors(with_edits(Source.of("piece.yaml", text), finding.suggestions[0].edits)) == []


@pytest.mark.parametrize(
    ("below", "tries"),
    [
        ("form:\n  - play: head\n    repeat: 2\n", ("times:",)),
        ("form:\n  - play: head\n    chords: Dm7\n", None),
        ("form:\n  - section: head\n", ("play:",)),
        ("form:\n  - play: head\n    bars: 2\n", ("cycles:",)),
        ("structure:\n  - play: head\n", ("form:",)),
        ("band: {flute: melody}\n", ("players:",)),
        ("players: {flute: {role: melody}}\n", ("plays:",)),
    ],
)
def test_a_word_is_told_once(below: str, tries: tuple[str, ...] | None) -> None:
    findings = [one for one in _errors(with_heading(LINES + below)) if one.rule != "wrong-value"]
    assert [one.rule for one in findings] == ["unknown-key"]
    if tries is None:
        assert "line of chords" in findings[0].tries[0]
    else:
        assert findings[0].tries == tries


def test_a_solo_with_bars_lacks_no_cycles() -> None:
    text = with_heading(LINES + "players: {flute: melody}\nform:\n  - solo: flute\n    bars: 4\n")
    assert [one.rule for one in _errors(text)] == ["unknown-key"]


def test_a_line_with_a_melody_needs_no_sargam_as_well() -> None:
    text = with_heading("lines:\n  head:\n    melody: S R G m\n")
    (finding,) = _errors(text)
    assert finding.tries == ("sargam:",)


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (PIECE_WORDS, PieceShape.keys),
        (LINE_WORDS, LineShape.keys),
        (STEP_WORDS, StepShape.keys),
    ],
)
def test_every_word_has_a_key_or_a_sentence(words: dict[str, str], keys: dict[str, object]) -> None:
    for word, meant in words.items():
        assert meant in keys or " " in meant, word


def test_a_list_or_a_band_that_is_a_text_is_shown_as_one() -> None:
    findings = _errors(with_heading(LINES + "form: head\nplayers: flute\n"))
    assert [one.tries for one in findings] == [
        ("form:\n  - play: head",),
        ("players: {flute: {plays: melody}}",),
    ]
