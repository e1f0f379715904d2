"""The file of a piece that several editors write: nothing is lost, and nothing else is changed."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.produce.live import piece_file
from cyclechart.produce.live.piece_file import (
    NO_FILE,
    ChangedMeanwhile,
    NotSaved,
    PieceFile,
    encoded,
    version_of,
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "tune.yaml"
    made.write_bytes(b"title: Ebb\nlines: {}\n")
    return made


def test_a_save_over_its_own_version_is_written_whole(path: Path) -> None:
    file = PieceFile(path)
    saved = file.save("title: Flood\n", file.version().fingerprint)
    assert path.read_bytes() == b"title: Flood\n" and saved == file.version()
    assert [one.name for one in path.parent.iterdir()] == ["tune.yaml"]


def test_a_save_over_another_version_changes_nothing(path: Path) -> None:
    file = PieceFile(path)
    fingerprint = file.version().fingerprint
    path.write_bytes(b"title: Theirs\n")
    with pytest.raises(ChangedMeanwhile) as raised:
        file.save("title: Mine\n", fingerprint)
    assert raised.value.now.text == "title: Theirs\n"
    assert path.read_bytes() == b"title: Theirs\n"


def test_who_saves_while_we_write_is_not_overwritten(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another editor saves after our first look, while our bytes go to the disk."""
    file = PieceFile(path)
    fingerprint = file.version().fingerprint
    fsync = os.fsync

    def slow(handle: int) -> None:
        path.write_bytes(b"title: Theirs\n")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", slow)
    with pytest.raises(ChangedMeanwhile):
        file.save("title: Mine\n", fingerprint)
    assert path.read_bytes() == b"title: Theirs\n"
    assert [one.name for one in path.parent.iterdir()] == ["tune.yaml"]


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o755])
def test_mode_bits_stay(path: Path, mode: int) -> None:
    path.chmod(mode)
    file = PieceFile(path)
    file.save("a\n", file.version().fingerprint)
    assert stat.S_IMODE(path.stat().st_mode) == mode


@pytest.mark.parametrize(
    ("old", "text", "new"),
    [
        (b"a\r\nb\r\n", "a\nc\nb\n", b"a\r\nc\r\nb\r\n"),
        (b"a\rb\r", "a\nc\n", b"a\rc\r"),
        (b"\xef\xbb\xbfa\nb", "a\nc", b"\xef\xbb\xbfa\nc"),
        (b"a\r\nb\nc\r\n", "a\nb\nx\nc\n", b"a\r\nb\nx\r\nc\r\n"),
        (b"a\nb\r\nc\n", "a\nb\nc", b"a\nb\r\nc"),
        (b"", "a\nb\n", b"a\nb\n"),
        (b"\xff", "a\n", b"a\n"),
    ],
)
def test_line_ends_and_the_mark_stay(old: bytes, text: str, new: bytes) -> None:
    assert encoded(text, old) == new


@given(st.text("ab\n\r", max_size=30), st.sampled_from([b"", b"\xef\xbb\xbf"]))
def test_a_text_that_is_not_changed_gives_the_same_bytes(text: str, mark: bytes) -> None:
    old = mark + text.encode()
    seen = version_of(old).text
    assert seen is not None and "\r" not in seen
    assert encoded(seen, old) == old


def test_a_link_that_was_given_stays_a_link(path: Path) -> None:
    link = path.parent / "link.yaml"
    link.symlink_to(path)
    file = PieceFile(link)
    file.save("a\n", file.version().fingerprint)
    assert link.is_symlink() and path.read_bytes() == b"a\n"


def test_a_link_put_in_its_place_is_not_followed(path: Path, tmp_path: Path) -> None:
    file = PieceFile(path)
    other = tmp_path / "other.txt"
    other.write_bytes(path.read_bytes())
    fingerprint = file.version().fingerprint
    path.unlink()
    path.symlink_to(other)
    with pytest.raises(NotSaved, match="link"):
        file.save("mine\n", fingerprint)
    assert other.read_bytes() == b"title: Ebb\nlines: {}\n"


def test_a_folder_that_became_a_link_is_not_followed(tmp_path: Path) -> None:
    folder, outside = tmp_path / "band", tmp_path / "outside"
    for one in (folder, outside):
        one.mkdir()
        (one / "tune.yaml").write_bytes(b"a\n")
    file = PieceFile(folder / "tune.yaml")
    fingerprint = file.version().fingerprint
    folder.rename(tmp_path / "band-before")
    folder.symlink_to(outside)
    with pytest.raises(NotSaved, match="link"):
        file.save("mine\n", fingerprint)
    assert (outside / "tune.yaml").read_bytes() == b"a\n"


def test_a_file_that_is_gone_is_only_written_again_when_asked(path: Path) -> None:
    file = PieceFile(path)
    fingerprint = file.version().fingerprint
    path.unlink()
    with pytest.raises(ChangedMeanwhile) as raised:
        file.save("mine\n", fingerprint)
    assert raised.value.now.fingerprint == NO_FILE and not path.exists()
    file.save("mine\n", NO_FILE)
    assert path.read_bytes() == b"mine\n"


def test_what_is_in_its_place_or_protected_is_left(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = PieceFile(path)
    fingerprint = file.version().fingerprint
    with monkeypatch.context() as patched:
        # As root every file may be written: the system is asked, and says no.
        patched.setattr(piece_file.os, "access", lambda *_: False)
        with pytest.raises(PermissionError):
            file.save("a\n", fingerprint)
    path.unlink()
    path.mkdir()
    with pytest.raises(NotSaved):
        file.save("a\n", fingerprint)


def test_a_pipe_in_its_place_is_not_waited_for(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)
    with pytest.raises(OSError, match="not a plain file"):
        PieceFile(path).version()


def test_what_is_no_text_has_a_fingerprint_and_no_text(path: Path) -> None:
    path.write_bytes(b"\xff\xfe")
    file = PieceFile(path)
    assert file.version().text is None
    path.write_bytes(b"x" * 2_000_001)
    assert file.version().text is None
    with pytest.raises(NotSaved, match="Row 3"):
        encoded("a\nb\nc\udc00", b"")
