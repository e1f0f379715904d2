"""Shell completion: click's own protocol, as bash asks for it."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.shell_completion import ShellComplete
from support.making import ROOT

from cyclechart.cli import cli
from cyclechart.rules.judge import help_texts
from cyclechart.text.reading_rules import READING, name_of


def completed(line: str) -> list[str]:
    *before, typed = line.split(" ")
    shell = ShellComplete(cli, {}, "cyclechart", "_CYCLECHART_COMPLETE")
    return [item.value for item in shell.get_completions(before, typed)]


@pytest.fixture(autouse=True)
def at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("show trum", "trumpet"),
        ("show wei", "weir"),
        ("show jhap", "jhaptal"),
        ("show instr", "instruments"),
        ("show mel", "melody"),
        ("why tih", "tihai"),
        ("why misses", "misses-first-beat"),
        ("why unread", "unreadable"),
        ("drill bhim", "bhimpalasi"),
        ("drill yaman --cycle elev", "eleven-and-a-half"),
        ("drill yaman --tonic E", "Eb"),
        ("pivot bhupali malk", "malkauns"),
        ("cadence khanda-jati-tr", "khanda-jati-triputa"),
        ("modes kanak", "kanakangi"),
        ("new --mode bages", "bageshri"),
        ("new --player tidewater-t", "tidewater-trio"),
        ("new --player flute,tab", "flute,tabla"),
        ("backing pieces/ferry-at-first-light.yaml --without dou", "double-bass"),
        ("backing --without dou", ""),
        ("backing pieces/lock-eleven.yaml --without al", "alto-sax"),
        ("book pieces/sets/regatta-night.yaml --player vio", "violin"),
        ("che", "check"),
    ],
)
def test_names_are_completed(line: str, offered: str) -> None:
    found = completed(line)
    assert (offered in found) if offered else found == []
    typed = line.split(" ")[-1]
    assert all(name.startswith(typed) for name in found)


def test_a_path_is_left_to_the_shell() -> None:
    shell = ShellComplete(cli, {}, "cyclechart", "_CYCLECHART_COMPLETE")
    (item,) = shell.get_completions(["show"], "pieces/fe")
    assert item.type == "file"


def test_the_rules_are_those_that_the_judge_has() -> None:
    names = completed("mend --rule ")
    assert sorted({*names}) == sorted({*help_texts()})
    assert {name_of(one) for one in READING} < {*names}


def test_broken_files_complete_to_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "bad.yaml").write_bytes(b"\xff\xfe{players: [")
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "modes.yaml").write_text("{", "utf-8")
    monkeypatch.chdir(tmp_path)
    assert completed("backing bad.yaml --without a") == []
    assert "yaman" in completed("show ya")
