"""Tunes of music21's own corpus, brought and held against music21's reading of them.

tests/bench/bring.py brings all of them.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest
from music21 import corpus
from support.brought_tunes import differences, fully_brought

from cyclechart.catalog.library import Library
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.transcription.abc_source import abc_tunes

LIBRARY = Library.beside(Path.cwd())
EVERY = {"ryansMammoth": 70, "essenFolksong": 4, "oneills1850": 6, "trecento": 20}
"""Of each folder of the corpus every so manieth file; of each ABC file the first and last tune."""


@lru_cache(maxsize=1)
def known() -> list[ModeEntry]:
    return entries(LIBRARY)[0]


def some_tunes() -> list[tuple[Path, str | None]]:
    found: list[tuple[Path, str | None]] = []
    paths = sorted(Path(str(one)) for one in corpus.getPaths())
    for folder, every in EVERY.items():
        files = [
            one for one in paths if one.parent.name == folder and one.suffix in (".abc", ".xml")
        ]
        for path in files[::every]:
            if path.suffix == ".xml":
                found.append((path, None))
                continue
            numbers = [one.number for one in abc_tunes(path.read_text("utf-8", "replace"))]
            found += [(path, number) for number in dict.fromkeys((numbers[0], numbers[-1]))]
    return found


@pytest.mark.parametrize(
    ("path", "number"), some_tunes(), ids=lambda one: one.name if isinstance(one, Path) else one
)
def test_a_tune_has_the_notes_that_music21_reads(path: Path, number: str | None) -> None:
    brought, heard = fully_brought(path, number, LIBRARY, known())
    assert heard
    assert list(differences(brought, heard)) == []
