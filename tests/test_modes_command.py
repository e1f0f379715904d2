"""The command ``modes``: by name, by tones, by a line; and ``show`` for a piece's own mode."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from making import with_heading

from cyclechart import cli


def run(*args: object) -> Result:
    return CliRunner().invoke(cli.cli, [str(arg) for arg in args])


def found(*args: str) -> list[str]:
    result = run("modes", *args, "--format", "json", "--most", 200)
    assert result.exit_code == 0, result.output
    rows = json.loads(result.stdout)
    assert all(set(row) == {"mode", "score", "reasons"} for row in rows)
    assert all(0 < row["score"] <= 1 and row["reasons"] for row in rows)
    assert [row["score"] for row in rows] == sorted((r["score"] for r in rows), reverse=True)
    return [row["mode"] for row in rows]


@pytest.mark.parametrize(
    ("spelling", "key"),
    [
        # Usual spellings (common practice).
        ("Charukesi", "charukeshi"), ("Chārukeśī", "charukeshi"), ("yamen", "yaman"),
        ("Miyan kee Todee", "todi"), ("Bhoopali", "bhupali"), 
        ("bageshree", "bageshri"), ("Harikāmbhōji", "Harikambhoji"),
        # Jazz scale names, by their degrees as the trade has them.
        ("melodic minor", "gourimanohari"), ("Phrygian dominant", "vakulabharanam"),
        ("lydian dominant", "vachaspati"), ("Dorian #4", "hemavati"), ("dorian", "kafi-thaat"),
        ("harmonic minor", "kirwani"), ("double harmonic", "bhairav-thaat"),
    ],
)  # fmt: skip
def test_by_name(spelling: str, key: str) -> None:
    assert found(spelling)[0] == key


@pytest.mark.parametrize(
    ("line", "first", "above"),
    [
        # Phrases of handbooks: Sangeet Visharad p. 147; Sitar Malika pp. 223, 244, 216.
        ("G R S D, S R G", "bhupali", "deshkar"),
        ("D P G P D", "deshkar", "bhupali"),
        ("N, D, r S", "marwa", "puriya"),
        ("N, r G M D N D S'", "marwa", "sohni"),
        # The same with section lines, holds and rests.
        ("D - P G | P D - P || z D P -", "deshkar", "bhupali"),
        # No phrase of either's own: the vadi tells.
        ("D - P D S' D P D P G D P", "deshkar", "bhupali"),
        ("G G R S R G G D G R S G", "bhupali", "deshkar"),
    ],
)
def test_a_line_fits_its_own_raga_best(line: str, first: str, above: str) -> None:
    keys = found("--fits", line)
    assert keys[0] == first
    assert above not in keys or keys.index(first) < keys.index(above)


def test_by_tones() -> None:
    keys = found("--tones", "S R G P D")
    assert {"bhupali", "deshkar", "mohanam"} <= set(keys[:4])
    assert "durga" not in keys[:4]


def test_what_is_asked_together_holds_together() -> None:
    assert found("--tones", "S r G M D N", "--fits", "N, D, r S")[0] == "marwa"


@pytest.mark.parametrize(
    ("args", "status", "said"),
    [
        ((), 2, "say a name"),
        (("xyzzyq",), 1, "No mode is found"),
        (("--tones", "X Y"), 2, "X"),
        (("--fits", "z z z"), 2, "no tone"),
        (("--fits", "[S R"), 2, "["),
        (("y" * 100_000,), 1, "No mode is found"),
        (("--fits", "S R " * 30_000), 2, ""),
        (("yaman", "--most", "0"), 2, "most"),
    ],
)
def test_what_cannot_be_answered_is_said(args: tuple[str, ...], status: int, said: str) -> None:
    result = run("modes", *args)
    assert (result.exit_code, said in result.output) == (status, True), result.output[:400]
    assert "Traceback" not in result.output


def test_a_piece_shows_its_mode_and_whether_it_is_new(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    own = "{name: Delta Reach, ascent: S R G P D S', descent: S' D P G R S, rests: [S, G]}"
    path.write_text(with_heading("lines:\n  h: {sargam: S R G}\n", mode=own, tonic="Eb"), "utf-8")
    result = run("show", path)
    assert "Delta Reach on E♭" in result.output
    assert "The paths of Bhupali, Mohanam under another name." in result.output
    assert "Jhaptal: 10 beats" in result.output
    assert "Delta Reach on D" in run("show", path, "--tonic", "D").output


def test_a_piece_that_cannot_be_read_gets_findings(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    path.write_text("- not\n- a piece\n", "utf-8")
    result = run("show", path)
    assert result.exit_code == 1
    assert "error" in result.output
    assert run("show", tmp_path / "nowhere.yaml").exit_code == 2
