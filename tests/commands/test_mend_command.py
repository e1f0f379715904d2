"""The command mend: a difference is shown, and written only when asked, whole and in its place."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from support.making import with_heading

from cyclechart import cli
from cyclechart.draft import mending

WRONG = with_heading(
    "# my own words\nlines:\n  head:\n    sargam: S R | G m P | d N | S' n d  # as sung\n"
)
RIGHT = WRONG.replace("d N", "d n")


def _mend(*words: str | Path) -> Result:
    return CliRunner().invoke(cli.cli, ["mend", *map(str, words)])


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_bytes(WRONG.encode())
    return path


def test_the_difference_is_shown_and_nothing_is_written(piece: Path) -> None:
    result = _mend(piece)
    assert result.exit_code == 0
    assert result.stdout.splitlines()[:2] == [f"--- {piece}", f"+++ {piece}"]
    assert "-    sargam: S R | G m P | d N | S' n d  # as sung" in result.stdout.splitlines()
    assert "+    sargam: S R | G m P | d n | S' n d  # as sung" in result.stdout.splitlines()
    assert "1 finding mended; nothing is written without --write" in result.stderr
    assert piece.read_bytes() == WRONG.encode()


def test_it_is_written_when_asked_and_is_right_then(piece: Path) -> None:
    assert _mend(piece, "--write").exit_code == 0
    assert piece.read_bytes() == RIGHT.encode()
    assert CliRunner().invoke(cli.cli, ["check", str(piece)]).exit_code == 0
    again = _mend(piece, "--write")
    assert again.stdout == ""
    assert "0 findings mended" in again.stderr


@pytest.mark.parametrize("mode", [0o600, 0o644, 0o755])
def test_mode_bits_line_ends_and_byte_order_mark_stay(piece: Path, mode: int) -> None:
    piece.write_bytes(b"\xef\xbb\xbf" + WRONG.replace("\n", "\r\n").encode())
    piece.chmod(mode)
    assert _mend(piece, "--write").exit_code == 0
    assert piece.read_bytes() == b"\xef\xbb\xbf" + RIGHT.replace("\n", "\r\n").encode()
    assert stat.S_IMODE(piece.stat().st_mode) == mode
    assert [one.name for one in piece.parent.iterdir()] == [piece.name]


def test_a_link_stays_a_link(piece: Path) -> None:
    link = piece.parent / "link.yaml"
    link.symlink_to(piece)
    assert _mend(link, "--write").exit_code == 0
    assert link.is_symlink()
    assert piece.read_bytes() == RIGHT.encode()


def test_a_file_that_has_changed_meanwhile_is_not_written(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really_mended = mending.mended

    def saved_meanwhile(*given: object) -> mending.Mended:
        piece.write_bytes(b"title: saved by an editor\n")
        return really_mended(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(mending, "mended", saved_meanwhile)
    result = _mend(piece, "--write")
    assert result.exit_code == 2
    assert "the file has changed meanwhile" in result.stderr
    assert piece.read_bytes() == b"title: saved by an editor\n"
    assert [one.name for one in piece.parent.iterdir()] == [piece.name]


def test_a_folder_that_cannot_be_written_is_told_in_a_sentence(piece: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("root may write everywhere")
    piece.parent.chmod(0o500)
    try:
        result = _mend(piece, "--write")
    finally:
        piece.parent.chmod(0o700)
    assert result.exit_code == 2
    assert str(piece) in result.stderr
    assert piece.read_bytes() == WRONG.encode()


def test_what_is_left_is_printed_and_counts_for_the_exit_status(piece: Path) -> None:
    piece.write_text(WRONG + "  other: {sargam: S R | mP}\n", "utf-8")
    result = _mend(piece)
    assert result.exit_code == 1
    assert "error misses-first-beat" in result.stderr
    assert "was taken back: there would be a new error: section-line-astray" in result.stderr
    assert "1 piece: 1 error" in result.stderr


def test_a_rule_is_named_and_must_be_known(piece: Path) -> None:
    assert "d n | S' n d" in _mend(piece, "--rule", "foreign-tone").stdout
    assert _mend(piece, "--rule", "weak-rest").stdout == ""
    wrong = _mend(piece, "--rule", "foreign-ton")
    assert wrong.exit_code == 2
    assert "did you mean foreign-tone" in wrong.stderr


@pytest.mark.parametrize("data", [b"\xff\xfe", b"", b"- [", b"\x00" * 50])
def test_what_is_no_piece_gets_findings(piece: Path, data: bytes) -> None:
    piece.write_bytes(data)
    result = _mend(piece, "--write")
    assert result.exit_code == 1
    assert not isinstance(result.exception, ValueError | TypeError)
    assert "error" in result.stderr


def test_findings_in_the_band_s_files_are_not_mended_in_the_piece(piece: Path) -> None:
    shared = piece.parent / "shared"
    shared.mkdir()
    (shared / "modes.yaml").write_text("mine: {ascnt: S R G}\n", "utf-8")
    result = _mend(piece, "--write")
    assert piece.read_bytes() == RIGHT.encode()
    assert (shared / "modes.yaml").read_text("utf-8") == "mine: {ascnt: S R G}\n"
    assert result.exit_code in (0, 1)
