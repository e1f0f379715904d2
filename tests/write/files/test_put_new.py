"""A new file is written whole, and never over one that is there."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from cyclechart.write.files.atomic import put_new


def test_a_new_file_is_whole_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    put_new(tmp_path / "deep" / "new.yaml", b"one")
    assert (tmp_path / "deep" / "new.yaml").read_bytes() == b"one"
    assert [path.name for path in (tmp_path / "deep").iterdir()] == ["new.yaml"]


@pytest.mark.parametrize("links", [True, False])
def test_what_is_there_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool) -> None:
    if not links:

        def refuse(*_: object) -> None:
            raise PermissionError

        monkeypatch.setattr(os, "link", refuse)
    put_new(tmp_path / "a.yaml", b"mine")
    with pytest.raises(FileExistsError) as told:
        put_new(tmp_path / "a.yaml", b"theirs")
    assert told.value.filename == str(tmp_path / "a.yaml")
    assert (tmp_path / "a.yaml").read_bytes() == b"mine"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_broken_link_is_no_free_place(tmp_path: Path) -> None:
    (tmp_path / "link.yaml").symlink_to(tmp_path / "nowhere")
    with pytest.raises(FileExistsError):
        put_new(tmp_path / "link.yaml", b"x")
    assert not (tmp_path / "nowhere").exists()
