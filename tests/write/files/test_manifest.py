"""The manifest of a folder: what may be removed, what must not, and what a broken one does."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.write.files.manifest import MANIFEST, Manifest, digest_of, write_files


def put(folder: Path, **kinds: dict[str, bytes]) -> tuple[str, ...]:
    return write_files(folder, kinds)


def names(folder: Path) -> set[str]:
    found = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    return found - {MANIFEST}


def test_a_kind_is_replaced_whole_and_others_stay(tmp_path: Path) -> None:
    put(tmp_path, chart={"a.pdf": b"1", "a-1.png": b"2"}, parts={"parts/x.pdf": b"3"})
    put(tmp_path, chart={"a.pdf": b"4"})
    assert names(tmp_path) == {"a.pdf", "parts/x.pdf"}
    put(tmp_path, parts={})
    assert names(tmp_path) == {"a.pdf"}


def test_what_was_changed_by_hand_is_neither_removed_nor_lost(tmp_path: Path) -> None:
    put(tmp_path, chart={"a.pdf": b"1", "b.pdf": b"2"})
    (tmp_path / "a.pdf").write_bytes(b"mine")
    (tmp_path / "b.pdf").write_bytes(b"mine too")
    said = put(tmp_path, chart={"a.pdf": b"3"})
    assert names(tmp_path) == {"a.pdf", "a (kept).pdf", "b.pdf"}
    assert (tmp_path / "a (kept).pdf").read_bytes() == b"mine"
    assert [sentence.count("a (kept).pdf") for sentence in said] == [1, 0]
    assert "b.pdf is no longer needed" in said[1]
    # It is theirs from now on: not even the same bytes again make it ours.
    (tmp_path / "b.pdf").write_bytes(b"2")
    put(tmp_path, chart={"a.pdf": b"3"})
    assert "b.pdf" in names(tmp_path)


def test_a_second_copy_gets_a_name_of_its_own(tmp_path: Path) -> None:
    for text in (b"first", b"second", b"third"):
        (tmp_path / "a.pdf").write_bytes(text)
        put(tmp_path, chart={"a.pdf": b"ours"})
    found = {(tmp_path / f"a (kept{n}).pdf").read_bytes() for n in ("", " 2", " 3")}
    assert found == {b"first", b"second", b"third"}


def test_the_same_bytes_need_no_copy(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"same")
    assert put(tmp_path, chart={"a.pdf": b"same"}) == ()
    assert names(tmp_path) == {"a.pdf"}


@pytest.mark.parametrize("linked", ["the folder", "a folder in it", "the file"])
def test_nothing_goes_through_a_link(linked: str, tmp_path: Path) -> None:
    real, folder = tmp_path / "real", tmp_path / "folder"
    real.mkdir()
    if linked == "the folder":
        folder.symlink_to(real)
    else:
        folder.mkdir()
    if linked == "a folder in it":
        (folder / "parts").symlink_to(real)
    put(folder, parts={"parts/x.pdf": b"1"})
    path = folder / "parts" / "x.pdf"
    if linked == "the file":
        (real / "x.pdf").write_bytes(b"1")
        path.unlink()
        path.symlink_to(real / "x.pdf")
    put(folder, parts={})
    assert path.read_bytes() == b"1"


def test_a_run_that_was_killed_halfway_owns_both_versions(tmp_path: Path) -> None:
    put(tmp_path, chart={"a.pdf": b"old", "b.pdf": b"old"})
    manifest = Manifest(tmp_path)
    for name in ("a.pdf", "b.pdf"):
        manifest.expect(name, "chart", "0" * 64)
    manifest.save()
    # Killed here; b.pdf was already moved in.
    assert put(tmp_path, chart={"a.pdf": b"new"}) == ()
    assert names(tmp_path) == {"a.pdf"}


def test_a_failure_keeps_no_copies_and_moves_nothing(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"theirs")
    (tmp_path / "b.pdf").mkdir()
    with pytest.raises(IsADirectoryError):
        put(tmp_path, chart={"a.pdf": b"1", "b.pdf": b"2"})
    assert names(tmp_path) == {"a.pdf"}
    assert (tmp_path / "a.pdf").read_bytes() == b"theirs"


HOSTILE = [
    b"", b"{", b"[]", b"3", b"null", b"\xff\xfe", b"[" * 100_000, b'{"files": ' * 50_000,
    b'{"files": []}', b'{"files": {"a.pdf": 3}}', b'{"files": {"a.pdf": {"kind": "chart"}}}',
    b'{"files": {"a.pdf": {"kind": [], "sha256": {}, "key": 7}}}',
    b'{"files": {"a.pdf": ' + b"9" * 6000 + b"}}",
]  # fmt: skip


@pytest.mark.parametrize("data", HOSTILE, ids=range(len(HOSTILE)))
def test_a_broken_manifest_removes_nothing(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"theirs")
    (tmp_path / MANIFEST).write_bytes(data)
    put(tmp_path, chart={"b.pdf": b"ours"})
    assert names(tmp_path) == {"a.pdf", "b.pdf"}


@pytest.mark.parametrize(
    "name", ["../out.pdf", "/{}/out.pdf", "..", "", "in/../../out.pdf", "a\0b"]
)
def test_a_forged_manifest_removes_nothing_outside(name: str, tmp_path: Path) -> None:
    folder, outside = tmp_path / "in", tmp_path / "out.pdf"
    folder.mkdir()
    outside.write_bytes(b"x")
    entry = {"kind": "chart", "sha256": [digest_of(outside)], "key": ""}
    forged = {"files": {name.format(tmp_path): entry}}
    (folder / MANIFEST).write_text(json.dumps(forged))
    put(folder, chart={})
    assert outside.exists()
    assert Manifest(folder).entries == {}


@given(st.dictionaries(st.text(), st.one_of(st.text(), st.integers(), st.none())))
def test_entries_of_other_shapes_are_none_of_ours(
    tmp_path_factory: pytest.TempPathFactory, said: dict[str, object]
) -> None:
    folder = tmp_path_factory.mktemp("manifest")
    (folder / MANIFEST).write_text(json.dumps({"files": said}), "utf-8")
    assert Manifest(folder).entries == {}
