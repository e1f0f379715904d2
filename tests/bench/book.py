"""A book of thirty tunes for seven players, against the bare engraver and typesetter."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import typst
from table import Subject, Target

from cyclechart.arrange.set_book import SetBook, gig_of, set_book_of
from cyclechart.piece.set.setlist import load_setlist
from cyclechart.produce.set_book import write_book
from cyclechart.produce.set_charts import charts_of, draw
from cyclechart.write.engraving import engraver as engraving
from cyclechart.write.files.paper_sizes import A4
from cyclechart.write.paper import typesetting

TUNES = 30
PIECES = Path(__file__).parent.parent.parent / "pieces"

ABOUT = """
Thirty tunes: the demo book five times over, each time on another Sa, for seven players.
first run: write_book into an empty folder: parts, charts, front matter, all books.
again: the same once more, nothing having changed. bare: for the same charts what verovio and typst
do by themselves, in one process: the documents loaded and rendered as often as we load and render
them, the pages compiled from the same sources; what we called them with was noted beforehand.
"""


def book(folder: Path) -> SetBook:
    """The set, its list written into a folder."""
    names = sorted(path.name for path in PIECES.glob("*.yaml"))
    tonics = ("C", "D", "Eb", "F", "G")
    lines = ["title: A long night", "players: tidewater", "pieces:"]
    for number in range(TUNES):
        turn, which = divmod(number, len(names))
        lines.append(f"  - {{piece: ../pieces/{names[which]}, tonic: {tonics[turn]}}}")
    (folder / "sets").mkdir()
    for name in ("pieces", "shared"):
        (folder / name).symlink_to(PIECES.parent / name)
    (folder / "sets" / "night.yaml").write_text("\n".join(lines) + "\n")
    made, findings, _ = load_setlist(folder / "sets" / "night.yaml")
    assert made is not None, findings
    return set_book_of(gig_of(made))


def noted(of: SetBook) -> tuple[list[Callable[[], object]], int]:
    """Every call of the engraver and the typesetter for the charts of a set, to be made again."""
    calls: list[Callable[[], object]] = []
    toolkit: Any = engraving._toolkit()
    drew, compiled = engraving._draw, typst.compile

    def drawing(document: bytes, options: dict[str, Any], *strains: Any) -> list[str]:
        def bare() -> None:
            toolkit.resetOptions()
            toolkit.setOptions(options)
            toolkit.resetXmlIdSeed(1)
            toolkit.loadData(document.decode())
            for page in range(1, toolkit.getPageCount() + 1):
                toolkit.renderToSVG(page)

        calls.append(bare)
        return drew(document, options, *strains)

    def compiling(files: Any, **rest: Any) -> Any:
        calls.append(lambda: compiled(files, **rest))
        return compiled(files, **rest)

    charts = charts_of(of.tunes, A4)
    engraving._draw, typesetting.typst.compile = drawing, compiling  # type: ignore[assignment]
    try:
        for chart in charts:
            draw(chart.sheet, A4)
    finally:
        engraving._draw, typesetting.typst.compile = drew, compiled
    return calls, len(charts)


def timed(work: Callable[[], object]) -> float:
    """Seconds that one run takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def subject() -> Subject:
    """The whole table; each is run once, for a run takes half a minute."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        of = book(folder)
        calls, charts = noted(of)
        bare = timed(lambda: [call() for call in calls])
        out = folder / "out"
        first = timed(lambda: write_book(of, out, "night"))
        again = timed(lambda: write_book(of, out, "night"))
    rows = tuple(
        (name, f"{seconds:.1f}", f"{seconds / bare:.2f}")
        for name, seconds in (("first run", first), ("again", again), ("bare", bare))
    )
    target = Target(f"{TUNES} tunes, {charts} charts: first run / bare", first / bare, 1.3)
    return Subject("A book", ABOUT, ("book", "seconds", "/ bare"), rows, (target,))
