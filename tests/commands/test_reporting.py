"""What commands print: quiet by default, everything when asked."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from support.making import ROOT

from cyclechart.cli import cli
from cyclechart.commands.reporting import print_sentences

SCREEN = 24
"""The rows of the usual terminal (the DEC VT100's)."""

HEAD = "title: Weir\ntonic: D\nmode: bilawal\ncycle: keherwa\ntempo: 60\n"
BREATHLESS = (
    HEAD + "players: {flute: {octave: 1}, clarinet: }\n"
    'lines:\n  head: {sargam: "(S R G m P D N D)*2 || S"}\n'
)
WRONG = HEAD + 'players: {violin: }\nlines:\n  head: {sargam: "S r G m P D N D || S - - -"}\n'


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


def written(folder: Path, text: str, name: str = "weir") -> Path:
    path = folder / f"{name}.yaml"
    path.write_text(text, "utf-8")
    return path


def test_advice_is_counted_and_shown_when_asked(tmp_path: Path) -> None:
    path = written(tmp_path, BREATHLESS)
    quiet = run("check", path)
    assert quiet.stdout.splitlines() == ["1 piece: 2 items of advice; --advice shows all"]
    full = run("check", path, "--advice")
    assert "no-breath" in full.stdout and "--advice" not in full.stdout
    assert quiet.exit_code == full.exit_code == 0


def test_one_fact_is_one_finding_for_all_players(tmp_path: Path) -> None:
    shown = run("check", written(tmp_path, BREATHLESS), "--advice").stdout
    assert shown.count("no-breath") == 1
    assert "flute and clarinet have no rest for 17 seconds" in shown


def test_players_of_one_instrument_share_a_finding_on_its_range(tmp_path: Path) -> None:
    text = (
        HEAD + "players:\n  one: {instrument: flute}\n  two: {instrument: flute}\n"
        '  viola: {plays: melody}\nlines:\n  head: {sargam: "S, R G m P D N D || S"}\n'
    )
    shown = run("check", written(tmp_path, text), "--advice").stdout
    assert shown.count("error out-of-range") == 1
    assert "too low for one (Flute) and two (Flute), whose" in shown
    assert "one: {octave: 1}" in shown and "two: {octave: 1}" in shown


def test_a_liberty_is_counted_and_shown_when_asked(tmp_path: Path) -> None:
    liberty = 'liberties:\n  - {rule: foreign-tone, line: head, tone: r, why: "the bend"}\n'
    path = written(tmp_path, WRONG + liberty)
    assert "taken on purpose" not in run("check", path).stdout
    assert "1 liberty taken" in run("check", path).stdout
    assert "taken on purpose: the bend" in run("check", path, "--advice").stdout


def test_errors_are_shown_in_full(tmp_path: Path) -> None:
    result = run("check", written(tmp_path, WRONG))
    assert result.exit_code == 1
    assert "error foreign-tone" in result.stdout and "try: write R for r" in result.stdout


def test_arrange_prints_folders_and_lists_files_when_asked(tmp_path: Path) -> None:
    path = written(tmp_path, BREATHLESS)
    quiet = run("arrange", path, "--to", tmp_path / "out", "--only", "midi,musicxml")
    folder = tmp_path / "out" / "weir"
    assert quiet.stdout.splitlines() == [f"{folder}: 2 files"]
    full = run("arrange", path, "--to", tmp_path / "out", "--only", "midi", "--verbose")
    assert full.stdout.splitlines() == [str(folder / "weir.mid")]
    assert f"{folder}: 1 file\n" in full.stderr


def test_the_demo_book_fits_on_a_screen(tmp_path: Path) -> None:
    pieces = sorted((ROOT / "pieces").glob("*.yaml"))
    result = run("arrange", *pieces, "--to", tmp_path, "--only", "midi")
    assert result.exit_code == 0
    assert len(pieces) > 5 and len(result.output.splitlines()) <= SCREEN


def test_keys_off_the_tuning_are_one_sentence_and_details_when_asked(tmp_path: Path) -> None:
    text = BREATHLESS.replace("clarinet: ", "vibraphone: {plays: voicings}")
    path = written(tmp_path, text)
    quiet = run("arrange", path, "--to", tmp_path / "out", "--only", "midi")
    assert "vibraphone is in equal temperament, up to 16 cents" in quiet.stderr
    assert "against the drone" not in quiet.stderr
    full = run("arrange", path, "--to", tmp_path / "out", "--only", "midi", "--verbose")
    assert "against the drone its R -4, G +14" in full.stderr


def test_the_findings_of_a_set_come_before_those_of_its_pieces(tmp_path: Path) -> None:
    written(tmp_path, WRONG, "a")
    written(tmp_path, WRONG.replace("D\nmode", "F#\nmode"), "b")
    setlist = tmp_path / "zz.yaml"
    names = "[{piece: a.yaml}, {piece: b.yaml}, {piece: c.yaml}]"
    setlist.write_text(f"title: Night\npieces: {names}\n", "utf-8")
    shown = run("book", setlist, "--to", tmp_path / "out", "--also", "none").stderr
    assert shown.index(str(setlist)) < shown.index(str(tmp_path / "a.yaml"))


def test_a_sentence_names_the_pieces_that_it_is_true_of(
    capsys: pytest.CaptureFixture[str],
) -> None:
    print_sentences({"a": ["x"], "b": ["x", "y"]})
    assert capsys.readouterr().err == "a, b: x\nb: y\n"
    print_sentences({"a": ["x"]})
    assert capsys.readouterr().err == "x\n"
    print_sentences({name: ["x"] for name in "abcd"})
    assert capsys.readouterr().err == "4 pieces: x\n"


WORK = """
import time
from cyclechart.commands.reporting import file_progress
with file_progress("making", "page.html") as (show, finished):
    show(0, 10, "page.html", 100)
    time.sleep(0.4)
    show(4, 10, "band.mp3", 50.4)
    finished("page.html", "2.5 MB")
    finished("band.mp3", "3:43")
    time.sleep(0.4)
"""


def test_on_a_terminal_a_bar_names_the_file_and_the_time_left_from_the_start() -> None:
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    env = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100", "TERM": "xterm"}
    with subprocess.Popen([sys.executable, "-c", WORK], stderr=theirs, env=env) as run:
        os.close(theirs)
        shown = b""
        with suppress(OSError):  # so does a terminal end on Linux
            while data := os.read(ours, 4096):
                shown += data
        assert run.wait() == 0
    os.close(ours)
    text = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", shown.decode("utf-8"))
    assert "making page.html" in text and "0:01:40" in text
    assert "making band.mp3" in text and "0:00:50" in text
    # The page can be used at once; all else is named in the end.
    assert "page.html  2.5 MB, ready to be used" in text
    assert "3:43" not in text


def test_without_a_terminal_each_file_is_a_line() -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    run = subprocess.run(
        [sys.executable, "-c", WORK.replace("0.4", "0")], capture_output=True, text=True, env=env,
        check=True,
    )  # fmt: skip
    assert run.stderr == "page.html  2.5 MB\nband.mp3  3:43\n" and run.stdout == ""
