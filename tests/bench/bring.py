"""Every tune of music21's own corpus brought, and held against music21's reading of it.

    PYTHONPATH=. python tests/bench/bring.py [FOLDER…] [--every N]

prints what is refused and why, what differs, and how long it took.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from music21 import corpus

from cyclechart.catalog.library import Library
from cyclechart.catalog.search import entries
from cyclechart.transcription.abc_source import abc_tunes
from cyclechart.transcription.refusal import CannotRead
from tests.support.brought_tunes import differences, fully_brought


def tunes(folders: list[str]) -> Iterator[tuple[Path, str | None]]:
    """Yield the files of the corpus, and of each ABC file the numbers of its tunes."""
    for path in sorted(Path(str(one)) for one in corpus.getPaths()):
        if path.suffix not in (".abc", ".xml", ".musicxml", ".mxl"):
            continue
        if folders and path.parent.name not in folders:
            continue
        if path.suffix != ".abc":
            yield path, None
            continue
        try:
            listed = abc_tunes(path.read_text("utf-8", "replace"))
        except CannotRead:
            listed = []
        for one in listed:
            yield path, one.number


def main() -> None:
    """Bring every tune and print the sums."""
    words = [one for one in sys.argv[1:] if not one.startswith("--")]
    every = next((int(one[8:]) for one in sys.argv if one.startswith("--every=")), 1)
    library = Library.beside(Path.cwd())
    known = entries(library)[0]
    refused: Counter[str] = Counter()
    different: Counter[str] = Counter()
    losses: Counter[str] = Counter()
    count, slowest, began = 0, (0.0, ""), time.time()
    for path, number in list(tunes(words))[::every]:
        start = time.time()
        name = f"{path.parent.name}/{path.name} {number or ''}".strip()
        count += 1
        try:
            brought, tune = fully_brought(path, number, library, known)
        except CannotRead as refusal:
            refused[refusal.what] += 1
            continue
        except Exception as error:
            print(f"TRACEBACK {name}: {type(error).__name__} {error}", flush=True)
            different["traceback"] += 1
            continue
        losses.update(one.what for one in brought.losses)
        for what in differences(brought, tune):
            different[what.split(":")[0]] += 1
            print(f"{name}: {what}", flush=True)
        slowest = max(slowest, (time.time() - start, name))
    print(f"{count} tunes in {time.time() - began:.0f} s; the slowest {slowest}")
    for title, counts in (("refused", refused), ("different", different), ("lost", losses)):
        print(f"{title}: {counts.total()}")
        for what, many in counts.most_common(30):
            print(f"  {many:6} {what}")


if __name__ == "__main__":
    main()
