"""The band of a piece: by an ensemble's name, written out, or none."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.making import findings_of, piece_of, with_heading

from cyclechart.finding import Finding
from cyclechart.piece.load import load

LINE = "lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"


def errors(players: str) -> list[Finding]:
    text = with_heading(f"players: {players}\n{LINE}")
    return [finding for finding in findings_of(text) if finding.severity == "error"]


def test_a_piece_that_names_nobody_has_three_players() -> None:
    band = piece_of(LINE).players
    assert [(p.name, p.plays) for p in band] == [
        ("melody", "melody"), ("tabla", "theka"), ("tanpura", "drone"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("player", "role"),
    [
        ("double-bass: bass", "pedal"),
        ("piano: comping", "voicings"),
        ("tabla: rhythm", "theka"),
        ("flute: {plays: lead}", "melody"),
        ("tanpura: shruti", "drone"),
    ],
)
def test_a_role_in_a_musicians_word_is_answered_with_ours(player: str, role: str) -> None:
    (finding,) = errors(f"{{{player}}}")
    assert finding.tries == (f"plays: {role}",)


def test_players_without_anybody_are_answered_with_an_example() -> None:
    (finding,) = errors("")
    assert "must name an ensemble, or list each player" in finding.message


def test_players_written_out() -> None:
    band = piece_of(
        "players: {flute: {plays: melody, octave: 1}, lead: {instrument: Alto Saxophone},"
        f" guitar: , bass guitar: pedal, tabla: theka}}\n{LINE}"
    ).players
    said = [(p.name, p.instrument.name, p.plays, p.octave) for p in band]
    assert said == [
        ("flute", "flute", "melody", 1),
        ("lead", "alto-sax", "melody", 0),
        ("guitar", "guitar", "voicings", 0),
        ("bass guitar", "bass-guitar", "pedal", 0),
        ("tabla", "tabla", "theka", 0),
    ]


def test_an_ensemble_of_the_bands_folder(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "players.yaml").write_text(
        "Delta Two:\n  clarinet: {plays: melody}\n  tanpura:\n", "utf-8"
    )
    path = tmp_path / "piece.yaml"
    path.write_text(with_heading(f"players: delta-two\n{LINE}"), "utf-8")
    loaded = load(path)
    assert loaded.findings == ()
    assert loaded.piece is not None
    assert [p.name for p in loaded.piece.players] == ["clarinet", "tanpura"]


@pytest.mark.parametrize(
    ("players", "rule", "said"),
    [
        ("nobody", "unknown-name", "ensemble"),
        ("{}", "wrong-value", "each player"),
        ("[flute]", "wrong-value", "each player"),
        ("{flut: {plays: melody}}", "unknown-name", "flute"),
        ("{lead: {instrument: kazoophone}}", "unknown-name", "kazoophone"),
        ("{flute: {plays: theka}}", "wrong-value", "Flute plays melody, not theka"),
        ("{piano: {plays: tune}}", "wrong-value", "plays must be one of"),
        ("{flute: {octave: 9}}", "wrong-value", "from -3 to 3"),
        ("{flute: {octave: half}}", "wrong-value", "from -3 to 3"),
        ("{flute: {octaves: 1}}", "unknown-key", "octave"),
        ("{tanpura: {drone: Q}}", "wrong-value", "one of the tones S r R"),
        ("{tanpura: {drone: [P]}}", "wrong-value", "one of the tones S r R"),
        ("{tanpura: {drone: }}", "wrong-value", "one of the tones S r R"),
        ("{flute: {drone: P}}", "wrong-value", "flute plays melody"),
        ("{flute: [1]}", "wrong-value", "needs a role"),
        (
            "{" + ", ".join(f"f{n}: {{instrument: flute}}" for n in range(33)) + "}",
            "too-long",
            "33",
        ),
        ("{" + "x" * 60 + ": {instrument: flute}}", "wrong-value", "1 to 40 letters"),
    ],
)
def test_a_band_that_cannot_be_is_a_finding(players: str, rule: str, said: str) -> None:
    found = errors(players)
    assert [finding.rule for finding in found] == [rule]
    assert said in f"{found[0].message} {found[0].tries}"


def test_a_piece_is_tuned_as_its_mode_is_unless_it_says_otherwise() -> None:
    own = (
        "mode: {ascent: S R G m P D N S', descent: S' N D P m G R S, tuning: {D: \"27/16\"}}\n"
        "lines:\n  head: {sargam: S R G m P D N S' N D}\n"
    )
    assert round(piece_of(own).tuning.cents[9]) == 906
    assert piece_of("tuning: equal\n" + own).tuning.cents[9] == 900
    assert round(piece_of(LINE).tuning.cents[9]) == 884
