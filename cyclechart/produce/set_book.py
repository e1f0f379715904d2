"""The books of a set, for each player, the leader and the whole band: set list, modes, charts."""

from __future__ import annotations

import gc
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from cyclechart.arrange.set_book import SetBook
from cyclechart.catalog.svara_scripts import letters_of
from cyclechart.produce.set_charts import Chart, ChartKind, charts_drawn, charts_of
from cyclechart.text.display import as_read, player_title, shown
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fonts import font_warnings
from cyclechart.write.files.manifest import write_files
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.files.progress import Show, show_nothing
from cyclechart.write.paper.book_pages import (
    ALL_PARTS,
    ChartPlace,
    blank_page,
    front_matter,
    page_numbers,
)
from cyclechart.write.paper.charts import user_texts
from cyclechart.write.paper.page_order import Placed, page_order
from cyclechart.write.paper.pdf_binding import BookPart, bind_book, page_count

CHARTS = ".charts"
"""The cache of drawn charts, inside the book's folder."""
LONGEST_STEM = 60
ALL, LEADER, GRID = "all", "leader", "grid"
"""The endings of the books of the whole band: all charts; the leader's; for who reads no staff."""

LeaderCharts = Literal["lead sheet", "score"]


@dataclass(frozen=True)
class WrittenBooks:
    """The books that a run wrote, how many charts were drawn for them, and sentences about fonts
    that are missing and files of somebody else's that were kept."""

    files: list[Path]
    drawn: int
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Book:
    """A book to be bound. ``reader``: None for one of the whole band, which ``whose`` names."""

    reader: str | None
    whose: str
    ending: str
    charts: list[Chart]
    facing: bool
    """True where a chart of two pages opens on a left-hand page."""


def write_book(
    book: SetBook,
    folder: Path,
    stem: str,
    *,
    paper: Paper = A4,
    players: Sequence[str] = (),
    leader: LeaderCharts = "lead sheet",
    heading: str = "full",
    also: Collection[str] = (LEADER, GRID),
    missing: Sequence[tuple[int, str]] = (),
    show: Show = show_nothing,
) -> WrittenBooks:
    """Write a book for each player, or for those of ``players``; without these one of all charts
    too, and those of ``also``: the leader's, and one of grids.

    ``leader``: what the leader's book has of each tune; ``heading``: of its charts, ``full`` or
    ``short``; ``missing``: the number and file of each tune that could not be read whole. ``show``
    is called with how many charts are drawn, and of how many. Charts that have not changed come
    from a cache in the folder. Raises OSError with the name of what cannot be written.
    """
    everybody = names_of(book)
    chosen = [name for name in everybody if not players or name in players]
    kinds: list[ChartKind] = ["part", "lead sheet"]
    kinds += [leader] if LEADER in also else []
    kinds += ["grid"] if GRID in also else []
    every_chart = charts_of(book.tunes, paper, kinds, heading)
    charts = [
        chart
        for chart in every_chart
        if (chart.player in chosen if chart.kind == "part" else not players)
    ]
    cache = FolderCache(folder / CHARTS, ".pdf")
    pdfs, drawn = charts_drawn(charts, paper, cache, show)
    counts = {key: page_count(pdf) for key, pdf in pdfs.items()}
    books = list(
        _books(charts, chosen, file_names(everybody), leader, () if players else (ALL, *also))
    )
    blank = blank_page(book, paper) if books else b""
    guess = 1
    sets = []
    for one in books:
        front, places = _front(book, one, counts, paper, missing, guess)
        guess = page_count(front)
        sets.append((one, front, places))
    numbers = page_numbers(max(_pages(*one, counts) for one in sets), paper) if sets else b""
    files: dict[str, bytes] = {}
    for one, front, places in sets:
        name = f"{stem[:LONGEST_STEM]}-{one.ending}.pdf"
        files[name] = _bound(book, one, places, pdfs, (front, blank, numbers))
        gc.collect()  # what a bound book was made of holds itself, some 100 MB of it
    theirs = write_files(folder, {f"book {name}": {name: data} for name, data in files.items()})
    for chart in every_chart:
        cache.mark_used(chart.key)  # those of players without a book this time too
    cache.remove_unused()
    sentences = (*font_warnings(_texts(book, charts)), *theirs)
    return WrittenBooks([folder / name for name in files], drawn, sentences)


def _books(
    charts: Sequence[Chart],
    players: Iterable[str],
    endings: Mapping[str, str],
    leader: LeaderCharts,
    whole: Collection[str],
) -> Iterator[_Book]:
    """Yield the books to be bound; ``whole``: the endings of those of the whole band."""
    for player in players:
        own = [chart for chart in charts if chart.player == player]
        yield _Book(player, player, endings[player], own, True)
    if LEADER in whole:
        of_leader = [chart for chart in charts if chart.kind == leader]
        yield _Book(None, f"leader: {leader}s", LEADER, of_leader, True)
    if GRID in whole:
        yield _Book(None, "grids", GRID, [chart for chart in charts if chart.kind == "grid"], True)
    if ALL not in whole:
        return
    # To be given out chart by chart, and to be looked at: no page of it is spent on nothing.
    every = [chart for chart in charts if chart.kind in ("part", "lead sheet")]
    yield _Book(None, ALL_PARTS, ALL, every, False)


def _front(
    book: SetBook,
    one: _Book,
    counts: Mapping[str, int],
    paper: Paper,
    missing: Sequence[tuple[int, str]],
    guess: int,
) -> tuple[bytes, list[Placed]]:
    """Return the pages before a book's charts, and where the charts stand.

    ``guess``: how many such pages there may be; on their number rests where blank pages are.
    """
    pages = [counts[chart.key] for chart in one.charts]
    for _ in range(3):
        places = page_order(pages, guess, facing=one.facing and paper.facing)
        parts = [
            ChartPlace(chart.number, chart.name, place.first - guess)
            for chart, place in zip(one.charts, places, strict=True)
        ]
        front = front_matter(book, one.reader, parts, paper, missing, one.whose)
        right, guess = guess, page_count(front)
        if right % 2 == guess % 2:
            break
    return front, page_order(pages, guess, facing=one.facing and paper.facing)


def _pages(one: _Book, front: bytes, places: Sequence[Placed], counts: Mapping[str, int]) -> int:
    """The number of pages of a book."""
    if not places:
        return page_count(front)
    return places[-1].first + counts[one.charts[-1].key] - 1


def _bound(
    book: SetBook,
    one: _Book,
    places: Sequence[Placed],
    pdfs: Mapping[str, bytes],
    sheets: tuple[bytes, bytes, bytes],
) -> bytes:
    """A book as a PDF. ``pdfs``: of the charts, by key; ``sheets``: the pages before them, a blank
    page, and pages with nothing but their numbers."""
    front, blank, numbers = sheets
    tunes = {tune.number: f"{tune.number} {as_read(shown(tune.title))}" for tune in book.tunes}
    bound = []
    for chart, place in zip(one.charts, places, strict=True):
        name, heading = tunes[chart.number], ""
        if one.ending == ALL:
            name, heading = as_read(shown(chart.name)), name
        before = blank if place.blanks else b""
        bound.append(BookPart(pdfs[chart.key], name, heading, before))
    title = book.title if one.ending == ALL else f"{book.title}: {player_title(one.whose)}"
    return bind_book(front, bound, numbers, as_read(shown(title)))


def _texts(book: SetBook, charts: Iterable[Chart]) -> list[str]:
    """Return the texts of the user's on the pages of a set, for the fonts that they need."""
    texts = [book.title, book.date, book.venue, *book.players]
    texts += [tune.title for tune in book.tunes] + [entry.note for entry in book.entries]
    for chart in charts:
        texts += user_texts(chart.sheet)
        texts += filter(None, [letters_of(chart.sheet.script)])
    return texts


def names_of(book: SetBook) -> list[str]:
    """Everybody who has a book: all who play, and who is at the gig and sits everything out."""
    out = (name for tune in book.tunes for name in tune.out if book.has_player(name))
    return list(dict.fromkeys([*book.players, *out]))


def file_names(players: Iterable[str]) -> dict[str, str]:
    """A name for the file of each player: its letters, with a number where two are alike."""
    names: dict[str, str] = {}
    taken = {ALL, LEADER, GRID}
    for player in players:
        plain = re.sub(r"[^\w]+", "-", player.lower()).strip("-_")[:40] or "player"
        name, number = plain, 2
        while name in taken:
            name, number = f"{plain}-{number}", number + 1
        taken.add(name)
        names[player] = name
    return names
