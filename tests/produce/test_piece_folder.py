"""Files in their places: all or none, no picture of an older chart, errors that name a file."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from support.making import piece_of

from cyclechart.piece.model import Piece
from cyclechart.produce.piece_folder import write_outputs
from cyclechart.write.files.atomic import put_all
from cyclechart.write.files.manifest import MANIFEST
from cyclechart.write.files.paper_sizes import Look


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
    theirs = ["river-1b.png", "river-01.png", "rivers-2.png", "river-2.jpg", "river-7.png"]
    for name in theirs:
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "river-9.png").mkdir()
    write_outputs(piece(1), tmp_path, "river", ("midi",), Look())
    assert set(pages) <= set(names(tmp_path)), "no chart was written"
    write_outputs(piece(1), tmp_path, "river", ("chart",), Look(png=True))
    theirs += ["river-9.png", "river.mid", "river.pdf", MANIFEST]
    assert names(tmp_path) == sorted([*theirs, "river-1.png"])
    write_outputs(piece(1), tmp_path, "river", ("chart",), Look())
    assert names(tmp_path) == sorted(theirs)


def test_files_that_others_put_among_the_parts_stay(tmp_path: Path) -> None:
    """The case of a player who keeps a marked copy and a photograph beside the parts."""
    write_outputs(piece(1), tmp_path, "river", ("parts",), Look())
    theirs = ["flute with Ana's fingerings.pdf", "IMG_0042.png", "old.musicxml"]
    for name in theirs:
        (tmp_path / "parts" / name).write_bytes(b"theirs")
    # A part that an earlier run wrote for somebody who has left goes, but not one marked by hand.
    of_others = piece_of("players: {clarinet: , violin: , tanpura: }\nlines: {a: {sargam: S}}\n")
    write_outputs(of_others, tmp_path, "river", ("parts",), Look())
    assert (tmp_path / "parts" / "violin.pdf").exists()
    (tmp_path / "parts" / "clarinet.pdf").write_bytes(b"marked")
    sentences = write_outputs(piece(1), tmp_path, "river", ("parts",), Look()).sentences
    assert not (tmp_path / "parts" / "violin.pdf").exists()
    assert (tmp_path / "parts" / "clarinet.pdf").read_bytes() == b"marked"
    assert any("clarinet.pdf is no longer needed" in sentence for sentence in sentences)
    for name in theirs:
        assert (tmp_path / "parts" / name).read_bytes() == b"theirs"


def test_nothing_is_removed_through_a_link(tmp_path: Path) -> None:
    """The case of ``parts`` as a link to another folder."""
    elsewhere, folder = tmp_path / "elsewhere", tmp_path / "river"
    elsewhere.mkdir()
    folder.mkdir()
    (folder / "parts").symlink_to(elsewhere)
    of_others = piece_of("players: {clarinet: , tanpura: }\nlines: {a: {sargam: S}}\n")
    write_outputs(of_others, folder, "river", ("parts",), Look())
    before = names(elsewhere)
    write_outputs(piece(1), folder, "river", ("parts",), Look())
    assert set(before) <= set(names(elsewhere))


def test_a_part_that_was_marked_by_hand_is_kept_beside_the_new_one(tmp_path: Path) -> None:
    write_outputs(piece(1), tmp_path, "river", ("chart",), Look())
    (tmp_path / "river.pdf").write_bytes(b"marked")
    for _ in range(2):
        sentences = write_outputs(piece(2), tmp_path, "river", ("chart",), Look()).sentences
    assert (tmp_path / "river (kept).pdf").read_bytes() == b"marked"
    assert (tmp_path / "river.pdf").read_bytes().startswith(b"%PDF")
    assert names(tmp_path) == [MANIFEST, "river (kept).pdf", "river.pdf"]
    assert sentences == (), "it was said once"
