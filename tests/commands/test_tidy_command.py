"""The command ``tidy``: a diff, the files changed, or an exit status alone."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner, Result
from support.making import with_heading

from cyclechart.cli import cli

UNTIDY = with_heading("lines:\n  head:\n    sargam: |\n      S R G m\n      Pd n S' z\n")
TIDY = UNTIDY.replace("S R G m", "S  R G  m")


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, ["tidy", *map(str, args)])


def test_it_shows_a_diff_and_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    path.write_text(UNTIDY, "utf-8")
    result = run(path)
    assert result.exit_code == 0
    assert "-      S R G m\n+      S  R G  m\n" in result.stdout
    assert result.stderr == "1 piece: 1 would change\n"
    assert path.read_text("utf-8") == UNTIDY


def test_check_tells_by_its_exit_status(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    path.write_text(UNTIDY, "utf-8")
    assert run(path, "--check").exit_code == 1
    assert run(path, "--check").stdout == ""
    path.write_text(TIDY, "utf-8")
    assert run(path, "--check").exit_code == 0
    assert run(path, "--check").stderr == "1 piece: tidy\n"


def test_write_keeps_line_ends_the_byte_order_mark_and_permissions(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + UNTIDY.replace("\n", "\r\n").encode())
    path.chmod(0o600)
    result = run(path, "--write")
    assert result.exit_code == 0
    assert result.stdout == f"{path}\n"
    assert path.read_bytes() == b"\xef\xbb\xbf" + TIDY.replace("\n", "\r\n").encode()
    assert path.stat().st_mode & 0o777 == 0o600
    assert run(path, "--write").stderr == "1 piece: tidy\n"


def test_a_link_still_points_to_the_file(tmp_path: Path) -> None:
    path, link = tmp_path / "piece.yaml", tmp_path / "link.yaml"
    path.write_text(UNTIDY, "utf-8")
    link.symlink_to(path)
    assert run(link, "--write").exit_code == 0
    assert link.is_symlink()
    assert path.read_text("utf-8") == TIDY


def test_a_file_that_cannot_be_read_is_told_and_left(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    for data in (b'title: "open', b"\xff\xfe", b"", b"lines: " + b"[" * 5000):
        path.write_bytes(data)
        result = run(path, "--write")
        assert result.exit_code == 1
        assert "cannot be read, so it is left as it is" in result.stderr
        assert "1 piece" not in result.stderr
        assert path.read_bytes() == data
    assert run(tmp_path / "none.yaml").exit_code == 2
    assert run(path, "--write", "--check").exit_code == 2
