"""The book of a set: for each player the set list, the modes and cycles, and their charts."""

from __future__ import annotations

import gc
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from cyclechart.arrange.set_book import SetBook
from cyclechart.produce.set_charts import Chart, charts_drawn, charts_of
from cyclechart.text.display import as_read, player_title, shown
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fonts import font_warnings
from cyclechart.write.files.manifest import write_files
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.paper.book_pages import ChartPlace, front_matter, page_numbers
from cyclechart.write.paper.charts import user_texts
from cyclechart.write.paper.pdf_binding import BookPart, bind_book, page_count

CHARTS = ".charts"
"""The cache of drawn charts, inside the book's folder."""
LONGEST_STEM = 60
ALL = "all"


@dataclass(frozen=True)
class WrittenBooks:
    """The books that a run wrote, how many charts were drawn for them, and sentences about fonts
    that are missing and files of somebody else's that were kept."""

    files: list[Path]
    drawn: int
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Book:
    """A reader's book, not yet bound. ``reader``: None for everybody."""

    reader: str | None
    charts: list[Chart]
    front: bytes
    pages: int


def write_book(
    book: SetBook,
    folder: Path,
    stem: str,
    *,
    paper: Paper = A4,
    players: Sequence[str] = (),
    missing: Sequence[tuple[int, str]] = (),
    show: Callable[[int, int], None] = lambda _done, _of: None,
) -> WrittenBooks:
    """Write a book for each player, or for those of ``players``, and without these one for all.

    ``missing``: the number and file of each tune that could not be read whole. ``show`` is called
    with how many charts are drawn, and of how many. Charts that have not changed come from a cache
    in the folder. Raises OSError with the name of what cannot be written.
    """
    everybody = names_of(book)
    chosen = [name for name in everybody if not players or name in players]
    every_chart = charts_of(book.tunes, paper)
    charts = [chart for chart in every_chart if chart.player in chosen]
    cache = FolderCache(folder / CHARTS, ".pdf")
    pdfs, drawn = charts_drawn(charts, paper, cache, show)
    readers: list[str | None] = [*chosen, *([] if players else [None])]
    counts = {key: page_count(pdf) for key, pdf in pdfs.items()}
    books = []
    for reader in readers:
        own = [chart for chart in charts if reader in (None, chart.player)]
        front = front_matter(book, reader, list(_places(own, counts)), paper, missing)
        pages = page_count(front) + sum(counts[chart.key] for chart in own)
        books.append(_Book(reader, own, front, pages))
    numbers = page_numbers(max(one.pages for one in books), paper) if books else b""
    names = file_names(everybody)
    files: dict[str, bytes] = {}
    for one in books:
        ending = ALL if one.reader is None else names[one.reader]
        files[f"{stem[:LONGEST_STEM]}-{ending}.pdf"] = _bound(book, one, pdfs, numbers)
        gc.collect()  # what a bound book was made of holds itself, some 100 MB of it
    theirs = write_files(folder, {f"book {name}": {name: data} for name, data in files.items()})
    for chart in every_chart:
        cache.mark_used(chart.key)  # those of players without a book this time too
    cache.remove_unused()
    sentences = (*font_warnings(_texts(book, charts)), *theirs)
    return WrittenBooks([folder / name for name in files], drawn, sentences)


def _places(charts: Iterable[Chart], counts: Mapping[str, int]) -> Iterator[ChartPlace]:
    """The page of each chart in a book, from 1 after what stands in front. ``counts``: pages by a
    chart's key."""
    page = 1
    for chart in charts:
        yield ChartPlace(chart.number, chart.player, page)
        page += counts[chart.key]


def _bound(book: SetBook, one: _Book, pdfs: Mapping[str, bytes], numbers: bytes) -> bytes:
    """A reader's book as a PDF. ``pdfs``: of the charts, by key; ``numbers``: pages with nothing
    but their numbers."""
    tunes = {tune.number: f"{tune.number} {as_read(shown(tune.title))}" for tune in book.tunes}
    bound = []
    for chart in one.charts:
        outline = [tunes[chart.number]]
        if one.reader is None:
            outline.insert(0, as_read(shown(player_title(chart.player))))
        bound.append(BookPart(pdfs[chart.key], *outline))
    title = book.title if one.reader is None else f"{book.title}: {player_title(one.reader)}"
    return bind_book(one.front, bound, numbers, as_read(shown(title)))


def _texts(book: SetBook, charts: Iterable[Chart]) -> list[str]:
    """Return the texts of the user's on the pages of a set, for the fonts that they need."""
    texts = [book.title, book.date, book.venue, *book.players]
    texts += [tune.title for tune in book.tunes] + [entry.note for entry in book.entries]
    return [*texts, *(text for chart in charts for text in user_texts(chart.sheet))]


def names_of(book: SetBook) -> list[str]:
    """Everybody who has a book: all who play, and who is at the gig and sits everything out."""
    out = (name for tune in book.tunes for name in tune.out if book.has_player(name))
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
