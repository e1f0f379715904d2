"""An instrument that is not in the catalogue is answered with those that may be meant."""

from __future__ import annotations

import pytest
from support.making import findings_of, with_heading

from cyclechart.finding import Finding
from cyclechart.text.edits import with_edits
from cyclechart.text.source import Source

LINES = "lines:\n  head:\n    sargam: S R G m P P m G R R || S\n"


def _found(players: str, rule: str) -> tuple[str, list[Finding]]:
    text = with_heading(f"players:\n{players}{LINES}")
    return text, [one for one in findings_of(text) if one.rule == rule]


@pytest.mark.parametrize(
    ("player", "mended"),
    [
        ("  bass: pedal\n", "  bass: {instrument: double-bass, plays: pedal}\n"),
        ("  bass: {plays: pedal}\n", "  bass: {instrument: double-bass, plays: pedal}\n"),
        ("  bass:\n    plays: pedal\n", "  bass:\n    instrument: double-bass\n    plays: pedal\n"),
        ("  low: {instrument: upright}\n", "  low: {instrument: double-bass}\n"),
        ("  keys: voicings\n", "  keys: {instrument: piano, plays: voicings}\n"),
        ("  flutte: {octave: 1}\n", "  flute: {octave: 1}\n"),
        ('  "tenr sax": melody\n', "  tenor-sax: melody\n"),
        ("  bass: bass\n", "  bass: {instrument: double-bass, plays: pedal}\n"),
        ("  keys: comping\n", "  keys: {instrument: piano, plays: voicings}\n"),
        ("  sax: xyzzy\n", "  sax: {instrument: alto-sax, plays: melody}\n"),
    ],
)
def test_the_edit_gives_the_player_an_instrument(player: str, mended: str) -> None:
    text, (finding,) = _found(player, "unknown-name")
    assert with_edits(Source.of("piece.yaml", text), finding.suggestions[0].edits) == with_heading(
        f"players:\n{mended}{LINES}"
    )
    assert _found(mended, "unknown-name")[1] == []
    assert _found(mended, "wrong-value")[1] == []


def test_only_instruments_that_can_play_the_role_are_tried() -> None:
    _, (finding,) = _found("  keys: pedal\n", "unknown-name")
    assert [one.split("instrument: ")[1].split(",")[0] for one in finding.tries] == [
        "piano",
        "organ",
    ]


@pytest.mark.parametrize(
    ("players", "count"),
    [
        ("  alto-sax: melody\n  tenor: melody\n", 1),
        ("  trumpet: melody\n  tenor: {octave: 1}\n", 1),
        ("  alto-sax: melody\n  tenor: {instrument: tenor voice}\n", 0),
        ("  alto-sax: melody\n  tenor: {instrument: tenor-sax}\n", 0),
        ("  piano: voicings\n  tenor: melody\n", 0),
    ],
)
def test_a_tenor_among_horns_is_asked_about(players: str, count: int) -> None:
    text, found = _found(players, "two-meanings")
    assert len(found) == count
    for finding in found:
        assert finding.severity == "warning"
        mended = with_edits(Source.of("piece.yaml", text), finding.suggestions[0].edits)
        assert "instrument: tenor-sax" in mended
        assert not [one for one in findings_of(mended) if one.rule == "two-meanings"]
