"""Two versions of a text put together row by row."""

from __future__ import annotations

import shutil
import subprocess
from itertools import chain
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.text.row_merge import MergeBlock, merge_blocks, merged_text

rows = st.lists(st.sampled_from("abcde"), max_size=8)


def text(*all_rows: str) -> str:
    return "\n".join(all_rows)


@pytest.mark.parametrize(
    ("base", "mine", "theirs", "merged"),
    [
        ("abc", "xbc", "aby", "xby"),
        ("abc", "abc", "axc", "axc"),
        ("abc", "axc", "abc", "axc"),
        ("abc", "axc", "axc", "axc"),
        ("abc", "abcx", "yabc", "yabcx"),
        ("abcd", "acd", "abxd", "axd"),
        ("abcd", "acd", "abcx", "acx"),
        # Rows that stand side by side, each changed by one.
        ("abcd", "axcd", "abyd", "axyd"),
        # Both put something in at one place: which comes first is a person's choice.
        ("ab", "axb", "ayb", None),
        ("ab", "axb", "axb", "axb"),
        ("abc", "ac", "axc", None),
        ("", "a", "b", None),
        ("abc", "", "abc", ""),
        ("abc", "", "abx", None),
    ],
)
def test_what_both_did_is_put_together(
    base: str, mine: str, theirs: str, merged: str | None
) -> None:
    found = merged_text(merge_blocks(text(*base), text(*mine), text(*theirs)))
    assert found == (None if merged is None else text(*merged))


def test_where_a_person_chooses_only_what_both_changed_is_asked() -> None:
    blocks = merge_blocks(text(*"abcdefg"), text(*"abXdefg"), text(*"abYdeZg"))
    assert [(one.kind, one.mine, one.theirs) for one in blocks if one.kind != "same"] == [
        ("both", ("X",), ("Y",)),
        ("theirs", ("f",), ("Z",)),
    ]
    assert blocks[0] == MergeBlock("same", ("a", "b"), ("a", "b"), ("a", "b"))


@given(rows, rows, rows)
def test_nothing_is_lost(base: list[str], mine: list[str], theirs: list[str]) -> None:
    """Side by side the blocks are the three whole texts."""
    blocks = merge_blocks(text(*base), text(*mine), text(*theirs))
    for key, whole in (("base", base), ("mine", mine), ("theirs", theirs)):
        found = list(chain.from_iterable(getattr(one, key) for one in blocks))
        assert "\n".join(found) == text(*whole)


@given(rows, rows)
def test_who_alone_changed_something_has_it(base: list[str], new: list[str]) -> None:
    old = text(*base)
    assert merged_text(merge_blocks(old, text(*new), old)) == text(*new)
    assert merged_text(merge_blocks(old, old, text(*new))) == text(*new)
    assert merged_text(merge_blocks(old, text(*new), text(*new))) == text(*new)


@given(rows, rows, rows)
def test_whose_text_is_mine_does_not_matter(
    base: list[str], mine: list[str], theirs: list[str]
) -> None:
    one = merged_text(merge_blocks(text(*base), text(*mine), text(*theirs)))
    assert one == merged_text(merge_blocks(text(*base), text(*theirs), text(*mine)))


@pytest.mark.skipif(not shutil.which("diff3"), reason="GNU diffutils is not here")
def test_it_agrees_with_diff3(tmp_path: Path) -> None:
    """GNU diffutils, diff3 -m: what it puts together without a conflict, we do alike."""
    cases = [
        ("abcdefgh", "abXdefgh", "abcdefYh"), ("abcdefgh", "bcdefgh", "abcdefghi"),
        ("abcdefgh", "abcdXXefgh", "abcgh"), ("abcdefgh", "aXcdefgh", "abcdefgh"),
    ]  # fmt: skip
    for case in cases:
        names = []
        for name, content in zip("bmt", case, strict=True):
            path = tmp_path / name
            path.write_text("".join(f"{row}\n" for row in content), "utf-8")
            names.append(str(path))
        base, mine, theirs = names
        run = subprocess.run(["diff3", "-m", mine, base, theirs], capture_output=True, text=True)
        texts = [Path(one).read_text("utf-8") for one in (base, mine, theirs)]
        found = merged_text(merge_blocks(*texts))
        assert found == (run.stdout if run.returncode == 0 else None), case


def test_long_texts_that_differ_throughout_are_one_choice_at_once() -> None:
    blocks = merge_blocks("\n".join("a" * 9000), "\n".join("b" * 9000), "\n".join("c" * 9000))
    assert [one.kind for one in blocks] == ["both"]
