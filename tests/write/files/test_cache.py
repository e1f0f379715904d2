"""Bytes under keys: whole or missing, and nothing removed but the cache's own unused files."""

from __future__ import annotations

import hashlib
import os
import pickle
from pathlib import Path

import pytest

from cyclechart.write.files.cache import FolderCache, MemoryCache

ONE, TWO, THREE = (hashlib.sha256(name.encode()).hexdigest() for name in ("one", "two", "three"))


def cache_in(folder: Path) -> FolderCache:
    return FolderCache(folder / "cache", ".pdf")


def test_what_is_stored_is_there_for_the_next_run(tmp_path: Path) -> None:
    cache = cache_in(tmp_path)
    assert cache.get(ONE) is None and list(cache.keys()) == []
    cache.put(ONE, b"%PDF one")
    cache.put(TWO, b"")
    assert cache_in(tmp_path).get(ONE) == b"%PDF one" and cache_in(tmp_path).get(TWO) == b""
    assert list(cache.keys()) == sorted([ONE, TWO])


@pytest.mark.parametrize("change", ["shorter", "longer", "other", "empty"])
def test_a_file_that_is_not_whole_is_not_there(tmp_path: Path, change: str) -> None:
    cache = cache_in(tmp_path)
    cache.put(ONE, b"some bytes")
    path = cache.path(ONE)
    data = path.read_bytes()
    other = {"shorter": data[:-1], "longer": data + b"\n", "other": b"S" + data[1:], "empty": b""}
    path.write_bytes(other[change])
    assert cache.get(ONE) is None
    cache.put(ONE, b"some bytes")
    assert cache.get(ONE) == b"some bytes"


def test_what_a_run_did_not_use_goes(tmp_path: Path) -> None:
    before = cache_in(tmp_path)
    for key in (ONE, TWO, THREE):
        before.put(key, key.encode())
    now = cache_in(tmp_path)
    now.get(ONE)
    now.mark_used(TWO)
    now.remove_unused()
    assert list(now.keys()) == sorted([ONE, TWO])


def test_what_another_process_of_the_run_used_stays(tmp_path: Path) -> None:
    before = cache_in(tmp_path)
    before.put(ONE, b"1")
    before.put(TWO, b"2")
    now = cache_in(tmp_path)
    worker = pickle.loads(pickle.dumps(now))
    assert worker.get(ONE) == b"1"
    now.remove_unused()
    assert list(now.keys()) == [ONE]


def test_a_coarse_clock_removes_nothing_that_was_used(tmp_path: Path) -> None:
    cache = cache_in(tmp_path)
    cache.put(ONE, b"1")
    os.utime(cache.path(ONE), (0, 0))
    cache.remove_unused()
    assert cache.get(ONE) == b"1"


def test_nothing_of_somebody_elses_is_removed(tmp_path: Path) -> None:
    cache_in(tmp_path).put(ONE, b"1")
    folder = tmp_path / "cache"
    elsewhere = tmp_path / f"{THREE}.pdf"
    others = {
        folder / "notes.pdf",
        folder / f"{ONE.upper()}.pdf",
        folder / f"{TWO}.pdf.pdf",
        folder / f"{TWO}.txt",
        elsewhere,
    }
    for path in others:
        path.write_bytes(b"theirs")
    (folder / f"{TWO}.pdf").mkdir()
    (folder / f"{THREE}.pdf").symlink_to(elsewhere)
    for path in [*others, folder / f"{TWO}.pdf"]:
        os.utime(path, (0, 0))
    cache_in(tmp_path).remove_unused()
    assert not (folder / f"{ONE}.pdf").exists()
    assert all(path.read_bytes() == b"theirs" for path in others)
    assert (folder / f"{TWO}.pdf").is_dir() and (folder / f"{THREE}.pdf").is_symlink()


def test_nothing_is_removed_through_a_linked_folder(tmp_path: Path) -> None:
    there = FolderCache(tmp_path / "there", ".pdf")
    there.put(ONE, b"1")
    (tmp_path / "cache").symlink_to(there.folder)
    cache_in(tmp_path).remove_unused()
    assert there.get(ONE) == b"1"


@pytest.mark.parametrize("key", ["", "../" + ONE, ONE[:-1], ONE.upper(), ONE + "0"])
def test_only_digests_are_keys(tmp_path: Path, key: str) -> None:
    with pytest.raises(ValueError, match="no key"):
        cache_in(tmp_path).put(key, b"1")


def test_what_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file")
    with pytest.raises(OSError, match="cache"):
        cache_in(tmp_path).put(ONE, b"1")
    assert cache_in(tmp_path).get(ONE) is None
    cache_in(tmp_path).remove_unused()


def test_a_cache_in_memory_drops_what_was_unused_for_longest() -> None:
    cache = MemoryCache(2)
    cache.put("one", b"1")
    cache.put("two", b"2")
    assert cache.get("one") == b"1"
    cache.put("three", b"3")
    assert cache.get("two") is None
    assert cache.get("one") == b"1" and cache.get("three") == b"3"
    cache.put("three", b"4")
    assert cache.get("three") == b"4" and len(cache.entries) == 2
