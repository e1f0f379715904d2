"""The command ``modes``: by name, by tones, by a line; and ``show`` for a piece's own mode."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from support.making import with_heading

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
        ("Miyan kee Todee", "todi"), ("Bhoopali", "bhupali"), ("raag Yaman", "yaman"),
        ("bageshree", "bageshri"), ("Harikāmbhōji", "Harikambhoji"),
        # Jazz scale names, by their degrees as the trade has them.
        ("melodic minor", "gourimanohari"), ("Phrygian dominant", "vakulabharanam"),
        ("lydian dominant", "vachaspati"), ("Dorian #4", "hemavati"), ("dorian", "kafi-thaat"),
        ("harmonic minor", "kirwani"), ("double harmonic", "bhairav-thaat"),
        ("major", "bilawal-thaat"), ("natural minor", "asavari-thaat"),
        ("Dorian ♭2", "natakapriya"), ("dorian sharp 4", "hemavati"),
        ("Lydian mode", "kalyan-thaat"),
        ("mela 22", "kharaharapriya"), ("kalyan thaat", "kalyan-thaat"),
    ],
)  # fmt: skip
def test_by_name(spelling: str, key: str) -> None:
    assert found(spelling)[0].lower() == key.lower()


@pytest.mark.parametrize(
    ("line", "first", "above"),
    [
        # Phrases of handbooks: Sangeet Visharad p. 147; Sitar Malika pp. 223, 244, 216.
        ("G R S D, S R G", "bhupali", "deshkar"),
        ("D P G P D", "deshkar", "bhupali"),
        ("N, D, r S", "marwa", "puriya"),
        ("N, r G M D N D S'", "marwa", "sohni"),
        # Puriya low, G and N to the fore; Sohni high (common practice, from memory).
        ("N, r S || z N, D, N, M, G, | M, D, N, r G M D N M G", "puriya", "sohni"),
        ("S' r' S' N D | G M D N S' r' S'", "sohni", "puriya"),
        # A descending line of Bhimpalasi (its printed descent, Sangeet Visharad p. 150).
        ("S' n D P m g m g R S, n, S m g R S", "bhimpalasi", "kafi"),
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


@pytest.mark.parametrize(
    "args",
    [
        ("--tones", "D E F# A B", "--tonic", "D"),
        ("--tones", "E♭ F G B♭ C", "--tonic", "Eb"),
        ("--tones", "1 2 3 5 6"),
        ("--tones", "D, S R | G P D S'"),
    ],
)
def test_tones_in_letters_and_degrees(args: tuple[str, ...]) -> None:
    assert found(*args) == found("--tones", "S R G P D")


def test_a_line_in_letters_fits_what_it_fits_in_sargam() -> None:
    # Sa is D: D P G P D is B A F# A B.
    assert found("--fits", "B A F# A B", "--tonic", "D") == found("--fits", "D P G P D")


def test_section_lines_and_octaves_change_nothing_and_holds_weigh() -> None:
    assert found("--fits", "D P | G P || D") == found("--fits", "D P G P D")
    assert found("--fits", "D' P' G' P' D'") == found("--fits", "D P G P D")
    scores = {}
    for line in ("G R S D R G", "G - - - - - R S D R G - - - -"):
        rows = json.loads(run("modes", "--fits", line, "--format", "json").stdout)
        scores[line] = next(row["score"] for row in rows if row["mode"] == "bhupali")
    bare, held = scores.values()
    assert held > bare  # G is Bhupali's vadi


def test_a_rest_parts_two_breaths() -> None:
    # Bhimpalasi's ascent leaves D out (Sangeet Visharad p. 150): P D n is a fault in one breath.
    reasons = {}
    for line in ("P D n S' P m g", "P D z n S' P m g"):
        rows = json.loads(run("modes", "--fits", line, "--most", 200, "--format", "json").stdout)
        reasons[line] = next(row["reasons"][0] for row in rows if row["mode"] == "bhimpalasi")
    assert list(reasons.values()) == ["left-out-going-up at D", "no fault in the line"]


def test_with_nothing_asked_all_are_listed_by_family() -> None:
    result = run("modes")
    assert result.exit_code == 0
    assert "Kalyan thaat: yaman, bhupali" in result.output
    assert "scales: bilawal-thaat" in result.output
    assert "the 72 melas: by name or number" in result.output
    assert max(map(len, result.output.splitlines())) <= 100
    rows = json.loads(run("modes", "--format", "json").stdout)
    listed = [row["mode"] for row in rows]
    assert len(listed) == len(set(listed)) > 200
    assert set(rows[0]) == {"mode", "score", "reasons"}
    # What is listed is found by its name again.
    assert all(run("show", name).exit_code == 0 for name in listed[::40])


def test_the_bands_own_stand_first_and_broken_ones_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "modes.yaml").write_text(
        "levee:\n  ascent: S R M P d S'\n  descent: S' d P M R S\n"
        "silt:\n  ascent: S Q\n  descent: S' S\n",
        "utf-8",
    )
    monkeypatch.chdir(tmp_path)
    result = run("modes")
    assert result.stdout.startswith("the band's own: levee\n")
    assert "modes.yaml:5" in result.stderr
    assert found("--tones", "S R M P d")[0] == "levee"


def test_nothing_found_is_an_empty_list_for_machines() -> None:
    result = run("modes", "xyzzyq", "--format", "json")
    assert (result.exit_code, json.loads(result.stdout)) == (1, [])
    assert "xyzzyq" in result.stderr


def test_what_is_asked_together_holds_together() -> None:
    assert found("--tones", "S r G M D N", "--fits", "N, D, r S")[0] == "marwa"


@pytest.mark.parametrize(
    ("args", "status", "said"),
    [
        (("xyzzyq",), 1, "There is no mode 'xyzzyq'"),
        (("",), 1, "Latin letters"),
        (("राग",), 1, "Latin letters"),
        (("Dorian #9",), 1, "did you mean Dorian #4"),
        (("--tones", ""), 2, "no tone"),
        (("--tones", "D E F#"), 2, "D"),
        (("--tones", "D E", "--tonic", "H"), 2, "letter name"),
        (("yaman", "--tonic", "D"), 2, "--tonic goes with"),
        (("--fits", "r R g G m M P d D n N"), 1, "No mode fits this line"),
        (("yaman", "--tones", "S r g"), 1, "give fewer"),
        (("--fits", "(S R G P)*1000 (S R G P)*1000"), 2, "5,000"),
        (("--tones", "X Y"), 2, "X"),
        (("--fits", "z z z"), 2, "no tone"),
        (("--fits", "[S R"), 2, "["),
        (("y" * 100_000,), 1, "There is no mode 'yyy"),
        (("--fits", "S R " * 30_000), 2, "50,000"),
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
    assert "The same paths as Bhupali, Mohanam, under another name." in result.output
    assert "Jhaptal: 10 beats" in result.output
    assert "Delta Reach on D" in run("show", path, "--tonic", "D").output


def test_a_piece_shows_each_of_its_modes_on_its_own_sa(tmp_path: Path) -> None:
    path = tmp_path / "piece.YAML"
    text = "lines:\n  h: {sargam: S R S P R S R P R S}\nform:\n  - play: h\n"
    text += "  - {play: h, mode: durga, tonic: F, cycle: rupak}\n"
    path.write_text(with_heading(text, mode="bhupali", tonic="Eb"), "utf-8")
    output = run("show", path).output
    for shown in ("Bhupali on E♭", "Durga on F", "Jhaptal: 10 beats", "Rupak: 7 beats"):
        assert shown in output
    assert "Durga on D" in run("show", path, "--tonic", "D").output


def test_a_piece_with_a_broken_mode_gets_its_findings_and_no_made_up_card(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    own = "{name: Delta, ascent: S R G, descent: S' n d P m G R S}"
    path.write_text(with_heading("lines:\n  h: {sargam: S R G}\n", mode=own), "utf-8")
    result = run("show", path)
    assert result.exit_code == 1
    assert "mode-unsound" in result.output
    assert "unknown on" not in result.output
    assert "Jhaptal: 10 beats" in result.output
    assert run("show", path, "--to", tmp_path / "cards").exit_code == 2
    assert not (tmp_path / "cards").exists()


def test_a_piece_that_cannot_be_read_gets_findings(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    path.write_text("- not\n- a piece\n", "utf-8")
    result = run("show", path)
    assert result.exit_code == 1
    assert "error" in result.output
    assert run("show", tmp_path / "nowhere.yaml").exit_code == 2
