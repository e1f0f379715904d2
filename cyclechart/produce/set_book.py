"""The book of a set: for each player the set list, the modes and cycles in use, and his charts."""

from __future__ import annotations

import gc
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cyclechart.arrange.set_book import SetBook
from cyclechart.produce.set_charts import Chart, charts_drawn, charts_of
from cyclechart.text.display import as_read, shown
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fonts import font_warnings
from cyclechart.write.files.manifest import write_files
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.paper.book_pages import ChartPlace, front_matter, page_numbers
from cyclechart.write.paper.charts import texts_of
from cyclechart.write.paper.pdf_binding import Bound, bind, page_count

CHARTS = ".charts"
"""The cache of drawn charts, inside the book's folder."""
LONGEST_STEM = 60
ALL = "all"


@dataclass(frozen=True)
class Written:
    """The books that a run wrote, how many charts were drawn for them, and sentences about fonts
    that are missing and files of somebody else's that were kept."""

    files: list[Path]
    drawn: int
    sentences: tuple[str, ...] = ()


def write_book(
    book: SetBook,
    folder: Path,
    stem: str,
    paper: Paper = A4,
    players: Sequence[str] = (),
    missing: Sequence[tuple[int, str]] = (),
    show: Callable[[int, int], None] = lambda _done, _of: None,
) -> Written:
    """Write a book for each player, or for those of ``players``, and without these one for all.

    ``missing``: the number and file of each tune that could not be read whole. ``show`` is told how
    many charts are drawn, and of how many. Charts that have not changed are not drawn again: they
    are kept in the folder. Raises OSError with the name of what cannot be written.
    """
    everybody = names_of(book)
    chosen = [name for name in everybody if not players or name in players]
    charts = charts_of(book.tunes, paper)
    cache = FolderCache(folder / CHARTS, ".pdf")
    of_these = [chart for chart in charts if chart.player in chosen]
    pdfs, drawn = charts_drawn(of_these, paper, cache, show)
    counts = {key: page_count(pdf) for key, pdf in pdfs.items()}

    readers: list[str | None] = [*chosen, *([] if players else [None])]
    fronts = []
    for reader in readers:
        own = [chart for chart in of_these if reader in (None, chart.player)]
        places, offset = [], 0
        for chart in own:
            places.append(ChartPlace(chart.number, chart.player, offset + 1))
            offset += counts[chart.key]
        front = front_matter(book, reader, places, paper, missing)
        fronts.append((reader, own, front, page_count(front) + offset))
    numbers = page_numbers(max(pages for *_, pages in fronts), paper) if fronts else b""
    titles = {tune.number: f"{tune.number} {as_read(shown(tune.title))}" for tune in book.tunes}
    names = file_names(everybody)
    files: dict[str, bytes] = {}
    for reader, own, front, _ in fronts:
        bound = [
            Bound(pdfs[chart.key], titles[chart.number])
            if reader is not None
            else Bound(pdfs[chart.key], as_read(shown(chart.player)), titles[chart.number])
            for chart in own
        ]
        title = as_read(shown(book.title if reader is None else f"{book.title}: {reader}"))
        name = f"{stem[:LONGEST_STEM]}-{ALL if reader is None else names[reader]}.pdf"
        files[name] = bind(front, bound, numbers, title)
        gc.collect()  # what a bound book was made of holds itself, some 100 MB of it
    theirs = write_files(folder, {f"book {name}": {name: data} for name, data in files.items()})
    for chart in charts:
        cache.mark_used(chart.key)  # those of players without a book this time too
    cache.remove_unused()
    sentences = (*font_warnings(_texts(book, of_these)), *theirs)
    return Written([folder / name for name in files], drawn, sentences)


def _texts(book: SetBook, charts: Iterable[Chart]) -> list[str]:
    """Return the texts of the user's on the pages of a set, for the fonts that they need."""
    texts = [book.title, book.date, book.venue, *book.players]
    texts += [tune.title for tune in book.tunes] + [entry.note for entry in book.entries]
    return [*texts, *(text for chart in charts for text in texts_of(chart.sheet))]


def names_of(book: SetBook) -> list[str]:
    """Everybody who has a book: all who play, and who is at the gig and sits everything out."""
    out = (name for tune in book.tunes for name in tune.out if book.has(name))
    return list(dict.fromkeys([*book.players, *out]))


def file_names(players: Iterable[str]) -> dict[str, str]:
    """A name for the file of each player: its letters, with a number where two are alike."""
    names: dict[str, str] = {}
    taken = {ALL}
    for player in players:
        plain = re.sub(r"[^\w]+", "-", player.lower()).strip("-_")[:40] or "player"
        name, number = plain, 2
        while name in taken:
            name, number = f"{plain}-{number}", number + 1
        taken.add(name)
        names[player] = name
    return names
