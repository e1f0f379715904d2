"""The command ``tonics``: which Sa suits the band."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from support.making import DEMO_BOOK, piece_of, with_heading

from cyclechart.commands.tonics import ranked, tonics
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.rules.piece.players import out_of_range

HEAD = 'lines:\n  head: {sargam: "S R G m P d n d || S\'"}\n'


def band(players: str, head: str = HEAD, **heading: str) -> Piece:
    return piece_of(with_heading(f"players: {players}\n{head}", cycle="keherwa", **heading))


def run(folder: Path, text: str, *options: str) -> Any:
    path = folder / "piece.yaml"
    path.write_text(text, "utf-8")
    return CliRunner().invoke(tonics, [str(path), *options])


def test_nobody_out_of_range_goes_before_everything_else() -> None:
    rows = ranked(band("{alto: }"))
    assert [bool(row.beyond) for row in rows] == sorted(bool(row.beyond) for row in rows)
    # By hand: an alto has E3 to F5 (common practice), so Sa up to its octave fits where the octave
    # is F5 or lower: B♭3 (58) to F4 (65).
    fits = {row.tonic.semitone for row in rows if not row.beyond}
    assert fits == {key % 12 for key in range(58, 66)}


def test_the_rule_and_the_command_agree_on_who_is_out_of_range() -> None:
    for players in ("{flute: , alto-sax: }", "{tenor: {octave: -1}, soprano: }", "{trumpet: }"):
        for row in ranked(band(players)):
            there = band(players, tonic=str(row.tonic).replace("♭", "b").replace("♯", "#"))
            said = " ".join(one.message for one in out_of_range.check(there, out_of_range))
            assert set(row.beyond) == {
                player.name for player in there.players if f"for {player.name}," in said
            }


def _two_lines(low: str, high: str) -> str:
    return f'lines:\n  low: {{sargam: "{low}"}}\n  high: {{sargam: "{high}"}}\n'


def test_shares_are_of_the_time_that_is_played() -> None:
    form = "form:\n  - {play: low, times: 3}\n  - {play: high}\n"
    lines = _two_lines("S R G m P m G R", "S' R' S' R' S' R' S' R'")
    rows = ranked(band("{alto: }", lines + form, tonic="E"))
    (here,) = [row for row in rows if str(row.tonic) == "E"]
    # By hand: E4 up; D5 is an alto's highest at ease, F5 her last. Eight of 32 beats are high:
    # four on E5, a strain, and four on F♯5, which she has not.
    assert here.strained == {"alto": 1 / 8}
    assert here.beyond == {"alto": 1 / 8}


def test_what_another_player_has_does_not_count() -> None:
    lines = _two_lines("S R G m P m G R", "S'' R'' S'' z z z z z")
    form = "form:\n  - {play: {alto: low, violin: high}}\n"
    (here,) = [row for row in ranked(band("{alto: , violin: }", lines + form)) if row.away == 0]
    assert here.beyond == {}


def test_who_is_not_named_may_take_any_octave() -> None:
    rows = ranked(piece_of(with_heading(HEAD, cycle="keherwa", tonic="Bb")))
    assert [row.tonic.semitone for row in rows if row.beyond or row.strained] == []


def test_a_transposing_band_reads_easily_where_its_own_signs_are_few() -> None:
    # By hand: Ionian on concert E♭ is C major for an alto saxophone, on concert B♭ G major (one
    # sharp), on E C♯ major or D♭ major (five flats).
    ionian = "mode: {ascent: S R G m P D N S', descent: S' N D P m G R S}\n"
    lines = 'lines:\n  head: {sargam: "S R G m P D N D || S"}\n'
    rows = {row.tonic.semitone: row.signs for row in ranked(band("{alto-sax: }", ionian + lines))}
    assert (rows[3], rows[10], rows[4]) == (0, 1, 5)


def test_the_written_sa_keeps_its_spelling_and_is_named(tmp_path: Path) -> None:
    result = run(tmp_path, with_heading(HEAD, tonic="Gb", cycle="keherwa"))
    assert result.exit_code == 0
    assert sum("(as written)" in line for line in result.output.splitlines()) == 1
    (here,) = [line for line in result.output.splitlines() if "(as written)" in line]
    assert here.startswith("G♭")
    assert "what hurts" in result.output


def test_json_has_every_sa_once_in_the_same_order(tmp_path: Path) -> None:
    text = with_heading(f"players: {{flute: , alto-sax: {{octave: 1}}}}\n{HEAD}", cycle="keherwa")
    rows = json.loads(run(tmp_path, text, "--format", "json").output)
    table = run(tmp_path, text).output.splitlines()[1:13]
    assert [row["tonic"] for row in rows] == [line.split()[0] for line in table]
    assert len({row["tonic"] for row in rows}) == 12
    assert any("alto-sax" in row["out-of-range"] for row in rows)


def test_what_cannot_be_read_is_told_and_not_ranked(tmp_path: Path) -> None:
    result = run(tmp_path, with_heading(f"players: {{flut: }}\n{HEAD}"))
    assert result.exit_code == 1
    assert "unknown-name" in result.output
    assert "flute" in result.output
    assert CliRunner().invoke(tonics, [str(tmp_path / "none.yaml")]).exit_code == 2


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_band_can_play_its_own_book_where_it_is_written(path: Path) -> None:
    piece = load(path).piece
    assert piece is not None
    (here,) = [row for row in ranked(piece) if row.tonic == piece.tonic]
    assert here.beyond == {}
