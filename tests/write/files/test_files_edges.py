"""The edges of manifests, caches and keys that are written into files others read."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import astuple, dataclass
from fractions import Fraction
from pathlib import Path

import pytest

from cyclechart.finding import Spot
from cyclechart.write.files import fingerprint, manifest
from cyclechart.write.files.atomic import put_all
from cyclechart.write.files.cache import FolderCache, MemoryCache
from cyclechart.write.files.fonts import FAMILIES, OWN, SIGNS, TEXT, family_of
from cyclechart.write.files.manifest import MANIFEST, Entry, Manifest, digest_of, write_files
from cyclechart.write.files.paper_sizes import PAPERS, Look


def test_a_manifest_reads_as_it_was_written(tmp_path: Path) -> None:
    write_files(tmp_path, {"chart": {"a.pdf": b"1"}, "parts": {"p/x.pdf": b"2"}}, {"a.pdf": "KEY"})
    digests = [hashlib.sha256(data).hexdigest() for data in (b"1", b"2")]
    assert json.loads((tmp_path / MANIFEST).read_text("utf-8")) == {
        "files": {
            "a.pdf": {"kind": "chart", "sha256": [digests[0]], "key": "KEY"},
            "p/x.pdf": {"kind": "parts", "sha256": [digests[1]], "key": ""},
        }
    }
    assert (tmp_path / MANIFEST).read_text("utf-8").startswith('{\n "files"')
    read = Manifest(tmp_path)
    assert read.entries["a.pdf"] == Entry("chart", (digests[0],), "KEY")
    assert read.is_current("a.pdf", "KEY") and not read.is_current("a.pdf", "OTHER")
    assert not read.is_current("p/x.pdf", "KEY") and not read.is_current("b.pdf", "")
    read.forget(["a.pdf", "no.pdf"])
    assert Manifest(tmp_path).entries["a.pdf"] == Entry("chart", (digests[0],), "")
    (tmp_path / "p" / "x.pdf").unlink()
    assert not read.is_current("p/x.pdf", "") and not read.is_ours("p/x.pdf")
    assert read.is_ours("a.pdf") and not read.is_ours("b.pdf")


def test_a_manifest_without_a_key_is_read_and_other_digests_are_dropped(tmp_path: Path) -> None:
    files = {
        "a.pdf": {"kind": "chart", "sha256": ["x", 3, None]},
        "one/b.pdf": {"kind": "chart", "sha256": [], "key": "K"},
        "one/two/c.pdf": {"kind": "chart", "sha256": []},
        f"one/{MANIFEST}": {"kind": "chart", "sha256": []},
    }
    (tmp_path / MANIFEST).write_text(json.dumps({"files": files}), "utf-8")
    assert Manifest(tmp_path).entries == {
        "a.pdf": Entry("chart", ("x",)),
        "one/b.pdf": Entry("chart", (), "K"),
    }


def test_a_file_is_placed_with_its_key_and_theirs_is_kept(tmp_path: Path) -> None:
    made = tmp_path / "made"
    made.write_bytes(b"new")
    (tmp_path / "a.pdf").write_bytes(b"theirs")
    (kept,) = Manifest(tmp_path).place(made, "a.pdf", "sound", "K")
    assert "a (kept).pdf" in kept and not made.exists()
    digest = hashlib.sha256(b"new").hexdigest()
    assert Manifest(tmp_path).entries == {"a.pdf": Entry("sound", (digest,), "K")}
    made.write_bytes(b"newer")
    assert Manifest(tmp_path).place(made, "a.pdf", "sound", "L") == ()


def test_the_same_bytes_and_links_need_no_copy(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"same")
    (tmp_path / "b.pdf").symlink_to(tmp_path / "a.pdf")
    assert write_files(tmp_path, {"chart": {"a.pdf": b"same", "b.pdf": b"other"}}) == ()
    found = {path.name for path in tmp_path.iterdir()} - {MANIFEST}
    assert found == {"a.pdf", "b.pdf"}
    assert (tmp_path / "a.pdf").read_bytes() == b"same"


def test_a_digest_is_of_all_the_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(manifest, "BLOCK", 3)
    (tmp_path / "a").write_bytes(b"12345678")
    assert digest_of(tmp_path / "a") == hashlib.sha256(b"12345678").hexdigest()


def test_what_is_removed_leaves_no_entry(tmp_path: Path) -> None:
    write_files(tmp_path, {"chart": {"a.pdf": b"1", "b.pdf": b"2"}})
    read = Manifest(tmp_path)
    (tmp_path / "b.pdf").unlink()
    assert read.remove(["a.pdf", "b.pdf", "c.pdf"]) == ()
    assert Manifest(tmp_path).entries == {} and not (tmp_path / "a.pdf").exists()


def test_files_have_the_mode_of_others_and_nothing_is_left_beside_them(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        put_all({tmp_path / "deep" / "a.txt": b"1"})
    finally:
        os.umask(before)
    assert (tmp_path / "deep" / "a.txt").stat().st_mode & 0o777 == 0o640
    (tmp_path / "b").mkdir()
    with pytest.raises(IsADirectoryError) as raised:
        put_all({tmp_path / "c": b"1", tmp_path / "b": b"2"})
    assert raised.value.filename == str(tmp_path / "b")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b", "deep"]


def test_a_memory_cache_forgets_what_is_unused_for_longest() -> None:
    cache = MemoryCache(2)
    for key in ("a", "b"):
        cache.put(key, key.encode())
    assert cache.get("a") == b"a" and cache.get("x") is None
    cache.put("c", b"c")
    assert [cache.get(key) for key in "abc"] == [b"a", None, b"c"]
    cache.put("a", b"new")
    cache.put("d", b"d")
    assert [cache.get(key) for key in "acd"] == [b"new", None, b"d"]


def test_a_cached_file_ends_with_its_seal(tmp_path: Path) -> None:
    cache, key = FolderCache(tmp_path, ".x"), "0" * 64
    cache.put(key, b"data")
    seal = b"%" + hashlib.sha256(b"data").hexdigest().encode() + b"\n"
    assert (tmp_path / f"{key}.x").read_bytes() == b"data" + seal
    (tmp_path / f"{key}.y").write_bytes(b"")
    (tmp_path / "short.x").write_bytes(b"")
    (tmp_path / ("1" * 64 + ".x")).symlink_to(tmp_path / "short.x")
    assert list(cache.keys()) == [key]
    for wrong in ("0" * 63, "0" * 65, "G" * 64, "../" + "0" * 61):
        with pytest.raises(ValueError, match="no key"):
            cache.path(wrong)


@dataclass(frozen=True)
class Inner:
    """A value with a place in a file."""

    spot: Spot
    names: tuple[str, ...]


def added(value: object) -> str:
    """The parts of a key that a value adds."""
    parts: list[str] = []
    fingerprint._add(value, parts)
    return " ".join(parts)


def test_a_key_holds_every_kind_of_value_but_places() -> None:
    inner = Inner(Spot("f", 1, 2), ("a", "b"))
    assert added(inner) == "Inner [ 'a' 'b' ] ;"
    assert added([1, 0.5, None, True, Fraction(3, 4)]) == "[ 1 0.5 None True 3/4 ]"
    assert added({"k": frozenset("ba")}) == "[ [ 'k' [ \"'a'\" \"'b'\" ] ] ]"
    for other in (object(), Inner, b"bytes"):
        with pytest.raises(TypeError, match=type(other).__name__):
            added(other)


def test_papers_and_looks_are_as_documented() -> None:
    sizes = {name: astuple(paper)[1:] for name, paper in PAPERS.items()}
    assert sizes == {
        "a4": (210, 297, 15, 14, 16, 1900, 1, True),
        "letter": (215.9, 279.4, 17.9, 13, 16, 1900, 1, True),
        "tablet": (197, 147.75, 6, 6, 10, 1950, 1, False),
        "stage": (210, 297, 12, 12, 15, 1400, 1.25, True),
    }
    look = Look()
    assert (look.paper.name, look.names, look.png, look.signature) == (
        "a4", "sargam", False, "nearest",
    )  # fmt: skip


def test_families_are_named_after_their_files() -> None:
    for family in FAMILIES:
        assert family.file == family.name.replace(" ", "") + "[wght].ttf"
    assert (TEXT, SIGNS) == ("Libertinus Serif", "New Computer Modern Math")
    assert FAMILIES[-1].signs.startswith(OWN)


def test_a_character_is_of_the_family_of_its_script_before_any_that_has_it() -> None:
    names = {sign: family.name for sign in "aé1♭§ ।क" if (family := family_of(sign)) is not None}
    assert names == {
        **dict.fromkeys("aé1§ ", "Noto Sans"),
        "♭": "Noto Sans Symbols",
        **dict.fromkeys("।क", "Noto Sans Devanagari"),
    }
