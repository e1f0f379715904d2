"""Files in their places: all or none, no picture of an older chart, errors that name a file."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from making import piece_of

from cyclechart.piece.model import Piece
from cyclechart.write.files import put_all
from cyclechart.write.outputs import write_outputs
from cyclechart.write.papers import Look


def names(folder: Path) -> list[str]:
    """Everything in a folder, hidden files too."""
    return sorted(path.name for path in folder.iterdir())


def test_files_are_written_and_replaced(tmp_path: Path) -> None:
    one, two = tmp_path / "new" / "one", tmp_path / "new" / "two"
    put_all({one: b"1", two: b"2"})
    put_all({one: b"3"})
    assert (one.read_bytes(), two.read_bytes()) == (b"3", b"2")
    assert names(tmp_path / "new") == ["one", "two"]


def test_a_full_disk_leaves_every_old_file_and_names_the_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    put_all({one: b"old 1", two: b"old 2"})
    plain = Path.write_bytes

    def full(path: Path, data: bytes) -> int:
        if data == b"new 2":
            plain(path, data[:2])
            raise OSError(errno.ENOSPC, "No space left on device")
        return plain(path, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match="No space left") as caught:
        put_all({one: b"new 1", two: b"new 2"})
    assert caught.value.filename == str(two)
    assert (one.read_bytes(), two.read_bytes()) == (b"old 1", b"old 2")
    assert names(tmp_path) == ["one", "two"]


def test_a_folder_that_takes_no_file_is_told_by_the_name_of_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def closed(**_where: object) -> tuple[int, str]:
        raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path / ".one.x.part"))

    monkeypatch.setattr("tempfile.mkstemp", closed)
    with pytest.raises(PermissionError) as caught:
        put_all({tmp_path / "one": b""})
    assert caught.value.filename == str(tmp_path / "one")


def test_a_folder_in_the_place_of_a_file_is_seen_before_any_is_moved(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    put_all({one: b"old"})
    two.mkdir()
    with pytest.raises(IsADirectoryError) as caught:
        put_all({one: b"new", two: b"new"})
    assert caught.value.filename == str(two)
    assert one.read_bytes() == b"old"
    assert names(tmp_path) == ["one", "two"]


def piece(lines: int) -> Piece:
    """A piece of so many lines of seven cycles."""
    cells = " ".join(["SR Gm | P d n | S' n | d P m ||"] * 7)
    made = [f'  line-{number}: {{sargam: "{cells} S"}}\n' for number in range(lines)]
    return piece_of("lines:\n" + "".join(made))


def test_pictures_of_an_older_chart_do_not_stay(tmp_path: Path) -> None:
    write_outputs(piece(6), tmp_path, "river", ("chart",), Look(png=True))
    pages = names(tmp_path)
    assert len(pages) > 3
    kept = ["river-1b.png", "river-01.png", "rivers-2.png", "river-2.jpg", "river.png"]
    for name in kept:
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "river-9.png").mkdir()
    write_outputs(piece(1), tmp_path, "river", ("midi",), Look())
    assert set(pages) <= set(names(tmp_path)), "no chart was written"
    write_outputs(piece(1), tmp_path, "river", ("chart",), Look(png=True))
    kept += ["river-9.png", "river.mid", "river.pdf"]
    assert names(tmp_path) == sorted([*kept, "river-1.png"])
    write_outputs(piece(1), tmp_path, "river", ("chart",), Look())
    assert names(tmp_path) == sorted(kept)
