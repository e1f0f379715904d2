"""The command ``book``: what it writes, refuses, prints and leaves out."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader
from support.gigs import folder_of_pieces
from support.making import with_heading

from cyclechart.commands.book import book


def run(folder: Path, text: str, *words: str) -> Result:
    setlist = folder_of_pieces(folder) / "night.yaml"
    setlist.write_text(f"title: The Night\nplayers: trio\n{text}", "utf-8")
    to = ["--to", str(folder / "out"), "--verbose"]
    return CliRunner().invoke(book, [str(setlist), *to, *words])


def test_it_writes_the_books_and_prints_their_names(tmp_path: Path) -> None:
    result = run(tmp_path, "pieces: [on-d.yaml, on-d2.yaml]\n")
    assert result.exit_code == 0, result.output
    files = [Path(line) for line in result.stdout.splitlines()]
    assert [path.name for path in files] == [
        "night-flute.pdf", "night-tabla.pdf", "night-tanpura.pdf",
        "night-leader.pdf", "night-grid.pdf", "night-all.pdf",
    ]  # fmt: skip
    assert all(path.parent == tmp_path / "out" / "night" and path.is_file() for path in files)
    assert "2 pieces: " in result.stderr


@pytest.mark.parametrize(
    ("words", "more"),
    [
        (["--also", "leader"], ["leader"]),
        (["--also", "grid"], ["grid"]),
        (["--also", "grid, leader"], ["leader", "grid"]),
        (["--also", "none", "--leader", "scores"], ["leader"]),
        (["--leader", "scores"], ["leader", "grid"]),
        (["--also", "none"], []),
    ],
)
def test_more_books_of_the_whole_band(tmp_path: Path, words: list[str], more: list[str]) -> None:
    result = run(tmp_path, "pieces: [on-d.yaml]\n", *words)
    names = [Path(line).name for line in result.stdout.splitlines()]
    assert names[3:] == [f"night-{name}.pdf" for name in (*more, "all")]


def test_another_book_is_refused(tmp_path: Path) -> None:
    result = run(tmp_path, "pieces: [on-d.yaml]\n", "--also", "choir")
    assert result.exit_code == 2
    assert "'choir' is not one of leader, grid, none" in result.output


def test_short_headings_take_less_of_a_page(tmp_path: Path) -> None:
    words = ("--player", "flute")
    for kind in ("full", "short"):
        run(tmp_path, "pieces: [on-d.yaml]\n", *words, "--heading", kind)
        text = PdfReader(tmp_path / "out/night/night-flute.pdf").pages[-1].extract_text()
        assert ("strokes" in text) == (kind == "full")


def test_a_piece_that_cannot_be_read_whole_is_left_out_and_told(tmp_path: Path) -> None:
    result = run(tmp_path, "pieces: [on-d.yaml, half-done.yaml, on-d2.yaml]\n")
    assert result.exit_code == 1
    assert "unready-piece" in result.stderr
    reader = PdfReader(tmp_path / "out" / "night" / "night-flute.pdf")
    assert "half-done.yaml could not be read whole" in reader.pages[1].extract_text()


def test_a_piece_that_is_not_there_is_told(tmp_path: Path) -> None:
    result = run(tmp_path, "pieces: [on-d.yaml, nowhere.yaml]\n")
    assert result.exit_code == 1
    assert "nowhere.yaml" in result.stderr
    assert (tmp_path / "out" / "night" / "night-flute.pdf").is_file()


def test_a_set_of_nothing_writes_nothing(tmp_path: Path) -> None:
    for text in ("pieces: [half-done.yaml]\n", "pieces: []\n", "pieces: 3\n", "::\n"):
        result = run(tmp_path, text)
        assert result.exit_code == 1, result.output
        assert not result.stdout
        assert not isinstance(result.exception, KeyError | ValueError)
    assert not (tmp_path / "out").exists()


def test_a_player_of_that_name(tmp_path: Path) -> None:
    result = run(tmp_path, "pieces: [on-d.yaml]\n", "--player", "tabla", "--paper", "tablet")
    assert [Path(line).name for line in result.stdout.splitlines()] == ["night-tabla.pdf"]
    result = run(tmp_path, "pieces: [on-d.yaml]\n", "--player", "tablo")
    assert result.exit_code == 2
    assert "did you mean tabla" in result.stderr


def test_a_player_who_sits_all_of_it_out(tmp_path: Path) -> None:
    text = "pieces: [{piece: band.yaml, without: [flute]}]\n"
    result = run(tmp_path, text, "--player", "flute")
    assert [Path(line).name for line in result.stdout.splitlines()] == ["night-flute.pdf"]


def test_warnings_count_when_strict(tmp_path: Path) -> None:
    text = "pieces: [on-d.yaml, on-d.yaml]\n"
    assert run(tmp_path, text).exit_code == 0
    assert run(tmp_path, text, "--strict").exit_code == 1


def test_what_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    result = run(tmp_path, "pieces: [on-d.yaml]\n")
    assert result.exit_code == 2
    assert "out" in result.stderr


def test_the_order_by_hour_is_printed_and_nothing_is_written(tmp_path: Path) -> None:
    for name, mode in (("dawn", "bhairav"), ("midnight", "malkauns"), ("ours", "mela 1")):
        text = with_heading("lines:\n  head: {sargam: S}\n", title=name.title(), mode=mode)
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    pieces = "pieces: [dawn.yaml, ours.yaml, {break: 1}, midnight.yaml]\n"
    result = run(tmp_path, pieces, "--order-by-hour")
    assert result.exit_code == 0, result.output
    rows = result.stdout.splitlines()
    assert rows[0] == "By the hour:"
    assert rows[1].split()[:4] == ["1", "Midnight", "was", "3"]
    assert "keeps its place" in rows[2]
    assert "break of 1 minute" in rows[3]
    assert rows[4].split()[:4] == ["3", "Dawn", "was", "1"]
    assert not (tmp_path / "out").exists()
    assert (tmp_path / "night.yaml").read_text("utf-8").endswith(pieces)


def test_a_set_without_hours_or_in_their_order_is_said_to_be_so(tmp_path: Path) -> None:
    (tmp_path / "ours.yaml").write_text(
        with_heading("lines:\n  head: {sargam: S}\n", mode="mela 1"), "utf-8"
    )
    result = run(tmp_path, "pieces: [ours.yaml]\n", "--order-by-hour")
    assert result.stdout == "None of the modes in this set has an hour.\n"
    result = run(tmp_path, "pieces: [on-d.yaml, on-d2.yaml]\n", "--order-by-hour")
    assert result.stdout.startswith("The set is in the order of its modes' hours already:")
    result = run(tmp_path, "pieces: [nowhere.yaml]\n", "--order-by-hour")
    assert result.exit_code == 1
    assert "nowhere.yaml" in result.stderr
