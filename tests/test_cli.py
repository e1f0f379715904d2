"""The commands from outside: what they print, what they write, their exit status."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from support.making import DEMO_BOOK, ROOT, with_heading

from cyclechart import cli
from cyclechart.rules.judge import help_texts
from cyclechart.write.files.manifest import MANIFEST

GOOD = with_heading("lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n")
WARNED = with_heading("lines:\n  head: {sargam: S R | G m P | d n | S' n -d -}\n")
WRONG = with_heading("lines:\n  head: {sargam: S R | G m P | d N | S' n d}\n")
UNREAD = with_heading("lines:\n  head: {sargam: S R | G X P | d n | S' n d}\n")


def run(*args: object) -> Result:
    return CliRunner().invoke(cli.cli, [str(arg) for arg in args])


def written(folder: Path, text: str, name: str = "piece.yaml") -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "options", "status"),
    [
        (GOOD, [], 0),
        (WARNED, [], 0),
        (WARNED, ["--strict"], 1),
        (WRONG, [], 1),
        (UNREAD, [], 1),
        ("not: [a piece", [], 1),
    ],
)
def test_exit_status_of_check(tmp_path: Path, text: str, options: list[str], status: int) -> None:
    assert run("check", written(tmp_path, text), *options).exit_code == status


def test_what_cannot_run_exits_with_2(tmp_path: Path) -> None:
    good = written(tmp_path, GOOD)
    twin = written(tmp_path, GOOD, "other/piece.yaml")
    assert run("check", tmp_path / "none.yaml").exit_code == 2
    assert run("check", good, "--format", "xml").exit_code == 2
    assert run("arrange", good, "--only", "video").exit_code == 2
    assert run("arrange", good, "--only", "").exit_code == 2
    both = run("arrange", good, twin, "--to", tmp_path / "out")
    assert both.exit_code == 2
    assert "both write" in both.output
    assert not (tmp_path / "out").exists()


def test_check_as_json(tmp_path: Path) -> None:
    result = run("check", written(tmp_path, WRONG), "--format", "json")
    report = json.loads(result.stdout)
    assert report["pieces"] == 1
    assert [finding["rule"] for finding in report["findings"]] == ["foreign-tone"]
    assert report["findings"][0]["place"] == {"in": "head", "cycle": 1, "beat": "7"}


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file of a folder and those below, but the list of what was written, by its path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != MANIFEST
    }


def test_arrange_writes_all_kinds_by_default(tmp_path: Path) -> None:
    result = run("arrange", written(tmp_path, GOOD), "--to", tmp_path / "out", "--png")
    assert result.exit_code == 0, result.output
    assert set(files_in(tmp_path / "out" / "piece")) == {
        "piece.mid", "piece.musicxml", "piece.pdf", "piece-1.png",
        "parts/melody.pdf", "parts/melody.musicxml", "parts/melody-1.png",
        "parts/tanpura.pdf", "parts/tanpura-1.png",
        "parts/tabla.pdf", "parts/tabla.musicxml", "parts/tabla-1.png",
        "piece-score.pdf", "piece-score.musicxml", "piece-score-1.png",
        "piece-grid.pdf", "piece-grid-1.png",
    }  # fmt: skip
    assert (tmp_path / "out" / "piece" / "piece.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("only", "names"),
    [
        ("midi", ["piece.mid"]),
        ("chart", ["piece.pdf"]),
        ("midi, musicxml", ["piece.mid", "piece.musicxml"]),
    ],
)
def test_arrange_only(tmp_path: Path, only: str, names: list[str]) -> None:
    run("arrange", written(tmp_path, GOOD), "--to", tmp_path / "out", "--only", only)
    assert sorted(files_in(tmp_path / "out" / "piece")) == names


def test_a_piece_that_cannot_be_read_leaves_its_old_files_whole(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    run("arrange", path, "--to", tmp_path / "out")
    before = files_in(tmp_path / "out" / "piece")
    written(tmp_path, UNREAD)
    assert run("arrange", path, "--to", tmp_path / "out").exit_code == 1
    assert files_in(tmp_path / "out" / "piece") == before


def test_a_piece_with_a_fault_of_judgement_is_written_and_exits_with_1(tmp_path: Path) -> None:
    result = run("arrange", written(tmp_path, WRONG), "--to", tmp_path / "out", "--only", "midi")
    assert result.exit_code == 1
    assert (tmp_path / "out" / "piece" / "piece.mid").exists()


def test_the_same_piece_gives_the_same_bytes(tmp_path: Path) -> None:
    path = next(path for path in DEMO_BOOK if path.stem == "salt-road")
    for folder in ("one", "two"):
        run("arrange", path, "--to", tmp_path / folder, "--png")
    stem = path.stem
    one, two = (files_in(tmp_path / folder / stem) for folder in ("one", "two"))
    assert one and one == two


def test_a_folder_that_cannot_be_written_is_said_plainly(tmp_path: Path) -> None:
    blocked = written(tmp_path, "a file", "out")
    result = run("arrange", written(tmp_path, GOOD), "--to", blocked / "below")
    assert result.exit_code == 2
    assert "Traceback" not in result.output


def test_a_file_without_a_name_of_its_own_is_refused(tmp_path: Path) -> None:
    dots = written(tmp_path / "a", GOOD, "...yaml")
    assert run("arrange", dots, "--to", tmp_path / "out").exit_code == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a"]


@pytest.mark.parametrize("rule", sorted(help_texts()))
def test_why_explains_every_rule(rule: str) -> None:
    result = run("why", rule)
    assert result.exit_code == 0
    assert "wrong:" in result.output


def test_why_lists_and_suggests() -> None:
    assert "misses-first-beat:" in run("why").output
    result = run("why", "misses-first-beet")
    assert result.exit_code == 2
    assert "misses-first-beat" in result.output


@pytest.mark.parametrize(
    ("name", "says"),
    [("jhaptal", "dhi na | dhi dhi na"), ("charukeshi", "B♭"), ("Chārukeśī", "Charukeshi on D")],
)
def test_show(name: str, says: str) -> None:
    assert says in run("show", name, "--tonic", "D").output


def test_show_tells_what_is_wrong_with_a_band_s_own_definition(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path, "river: {ascent: S R G, descent: S' n d P m G R S}\n", "shared/modes.yaml")
    monkeypatch.chdir(tmp_path)
    result = run("show", "river")
    assert result.exit_code == 1
    assert "mode-unsound" in result.output
    assert "there is no" not in result.output


def test_show_says_what_it_does_not_have() -> None:
    result = run("show", "jhapital")
    assert result.exit_code == 2
    assert "there is no mode, cycle or drum stroke 'jhapital'; did you mean jhaptal" in result.output
    assert "the mode, cycle or drum stroke" in run("show", "--help").output
    assert run("show", "jhaptal", "--tonic", "H").exit_code == 2


def test_a_console_that_lacks_a_sign_is_no_reason_to_stop() -> None:
    code = "from cyclechart.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "show", "kafi", "--tonic", "Eb"],
        capture_output=True,
        check=False,
        cwd=ROOT,
        env={"PYTHONIOENCODING": "cp1252"},
    )
    assert done.returncode == 0
    assert b"Kafi on E?" in done.stdout


def test_faults_of_a_shared_folder_are_told_once(tmp_path: Path) -> None:
    written(tmp_path, "jhaptal: {beats: 11, sections: [4, 4]}\n", "shared/cycles.yaml")
    pieces = [written(tmp_path, GOOD, f"{name}.yaml") for name in "ab"]
    report = json.loads(run("check", *pieces, "--format", "json").stdout)
    assert [finding["rule"] for finding in report["findings"]] == ["cycle-unsound"]


def test_schema_is_json() -> None:
    assert json.loads(run("schema").output)["title"] == "A cyclechart piece"


def test_a_bug_of_ours_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken() -> None:
        raise RuntimeError("oh")

    monkeypatch.setattr(cli, "cli", broken)
    with pytest.raises(SystemExit) as stop:
        cli.main()
    assert stop.value.code == 70
    assert "report" in capsys.readouterr().err


def test_check_loads_no_heavy_library() -> None:
    code = (
        "import sys; sys.argv = ['cyclechart', 'check', sys.argv[1]]\n"
        "import cyclechart.cli\n"
        "try: cyclechart.cli.main()\n"
        "except SystemExit: pass\n"
        "heavy = {'mido', 'lxml', 'verovio', 'typst', 'numpy', 'rich', 'music21', 'pydantic'}\n"
        "heavy |= {f'cyclechart.commands.{name}' for name in cyclechart.cli.COMMANDS} - "
        "{'cyclechart.commands.check'}\n"
        "print('loaded:', sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(DEMO_BOOK[0])],
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    assert "loaded: []" in done.stdout
