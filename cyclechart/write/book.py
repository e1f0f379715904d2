"""The book of a set: for each player the set list, the modes and cycles in use, and his charts."""

from __future__ import annotations

import gc
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from cyclechart.arrange.setbook import BreakPage, SetBook, TunePage
from cyclechart.piece import gig
from cyclechart.text.display import as_read, settable, shown
from cyclechart.text.faults import clip
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, readable_tonic, spell, written_for
from cyclechart.theory.tones import SARGAM, dotted
from cyclechart.write.binding import LINK, Bound, bind, page_count
from cyclechart.write.cards import beat_strokes
from cyclechart.write.charts import Chart, Kept, charts_of, draw_missing
from cyclechart.write.manifest import write_files
from cyclechart.write.mode_page import leans_of
from cyclechart.write.pages import LARGE, NARROW, shown_tempo
from cyclechart.write.papers import A4, Paper
from cyclechart.write.typesetting import typeset

CAUTION = (
    "Mode grammars differ by teacher and lineage, and so do the strokes of a cycle: your own "
    "teacher's word goes before these pages."
)
CHARTS = ".charts"
"""The folder of drawn charts inside the book's."""
LONGEST_STEM = 60
ALL = "all"


@dataclass(frozen=True)
class Written:
    """What a run wrote: the books, how many charts were drawn for them, and sentences about files
    of somebody else's that were kept."""

    files: list[Path]
    drawn: int
    kept: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Part:
    """A chart in a book: how many pages it has, and how many of charts are before it."""

    chart: Chart
    offset: int


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
    kept = Kept(folder / CHARTS)
    of_these = [chart for chart in charts if chart.player in chosen]
    drawn = draw_missing(of_these, paper, kept, show)
    pdfs = {chart.key: kept.read(chart.key) or b"" for chart in of_these}
    counts = {key: page_count(pdf) for key, pdf in pdfs.items()}

    readers: list[str | None] = [*chosen, *([] if players else [None])]
    fronts = []
    for reader in readers:
        own = [chart for chart in of_these if reader in (None, chart.player)]
        parts, offset = [], 0
        for chart in own:
            parts.append(_Part(chart, offset + 1))
            offset += counts[chart.key]
        front = front_matter(book, reader, parts, paper, missing)
        fronts.append((reader, parts, front, page_count(front) + offset))
    numbers = _numbers(max(pages for *_, pages in fronts), paper) if fronts else b""
    titles = {tune.number: f"{tune.number} {as_read(shown(tune.title))}" for tune in book.tunes}
    names = file_names(everybody)
    files: dict[str, bytes] = {}
    for reader, parts, front, _ in fronts:
        bound = [
            Bound(pdfs[part.chart.key], titles[part.chart.number])
            if reader is not None
            else Bound(
                pdfs[part.chart.key], as_read(shown(part.chart.player)), titles[part.chart.number]
            )
            for part in parts
        ]
        title = as_read(shown(book.title if reader is None else f"{book.title}: {reader}"))
        name = f"{stem[:LONGEST_STEM]}-{ALL if reader is None else names[reader]}.pdf"
        files[name] = bind(front, bound, numbers, title)
        gc.collect()  # what a bound book was made of holds itself, some 100 MB of it
    theirs = write_files(folder, {f"book {name}": {name: data} for name, data in files.items()})
    kept.remove_all_but(chart.key for chart in charts)
    return Written([folder / name for name in files], drawn, theirs)


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


@lru_cache(maxsize=1)
def _template() -> bytes:
    return (Path(__file__).parent / "book.typ").read_bytes()


def _compiled(texts: dict[str, Any], paper: Paper) -> bytes:
    texts = {"plain_title": "", "numbers": 0, "paper": asdict(paper), **texts}
    return typeset({"main.typ": _template()}, texts, "pdf")[0]


def _numbers(pages: int, paper: Paper) -> bytes:
    """A PDF of so many pages with nothing but their numbers."""
    return _compiled({"numbers": pages}, paper)


def front_matter(
    book: SetBook,
    reader: str | None,
    parts: Sequence[_Part],
    paper: Paper = A4,
    missing: Sequence[tuple[int, str]] = (),
) -> bytes:
    """What stands before the charts in a player's book, or in that for all (``reader`` None)."""
    seats = {(tune.number, seat.name): seat.plays for tune in book.tunes for seat in tune.seats}
    own = {plays for (_, name), plays in seats.items() if name == reader}
    drones = reader is not None and own == {"drone"}
    charted = {part.chart.number for part in parts}
    in_use = [] if drones else _in_use(book.tunes, reader)
    texts = {
        "plain_title": as_read(shown(book.title)),
        "title": settable(book.title, LARGE),
        "date": settable(book.date),
        "venue": settable(book.venue),
        "whose": settable(reader, LARGE) if reader is not None else "all parts",
        "all": reader is None,
        "band": list(_band(book)),
        "entries": list(_entries(book, reader, seats, charted, missing)),
        **_sums(book),
        "tuning": list(_tuning(book, reader)) if drones or reader is None else [],
        "link": LINK,
        "contents": list(_contents(book, parts)),
        "modes": [_mode_card(mode, in_use) for mode in _of_reader(book, reader, drones)[0]],
        "cycles": [_cycle_card(cycle) for cycle in _of_reader(book, reader, drones)[1]],
        "caution": CAUTION,
    }
    return _compiled(texts, paper)


def _of_reader(
    book: SetBook, reader: str | None, drones: bool
) -> tuple[tuple[Mode, ...], tuple[Cycle, ...]]:
    """The modes and cycles that a reader has to know: those of the tunes he is in."""
    if drones:
        return (), ()
    his = [tune.piece for tune in book.tunes if _is_in(tune, reader)]
    modes = {mode for piece in his for mode in piece.modes}
    cycles = {cycle for piece in his for cycle in piece.cycles}
    return (
        tuple(mode for mode in book.modes if mode in modes),
        tuple(cycle for cycle in book.cycles if cycle in cycles),
    )


def _is_in(tune: TunePage, reader: str | None) -> bool:
    return reader is None or any(seat.name == reader for seat in tune.seats)


def _band(book: SetBook) -> Iterator[dict[str, str]]:
    for name in book.players:
        seats = [seat for tune in book.tunes for seat in tune.seats if seat.name == name]
        titles = dict.fromkeys(seat.instrument for seat in seats)
        plays = ", ".join(titles)
        alike = re.sub(r"\W+", " ", name).lower() == re.sub(r"\W+", " ", plays).lower()
        yield {"name": settable(name), "plays": "" if alike else settable(plays)}


def _entries(
    book: SetBook,
    reader: str | None,
    seats: dict[tuple[int, str], str],
    charted: set[int],
    missing: Sequence[tuple[int, str]],
) -> Iterator[dict[str, Any]]:
    left = sorted(missing)
    for entry in book.entries:
        if isinstance(entry, BreakPage):
            yield {
                "kind": "break",
                "starts": gig.shown(entry.starts),
                "minutes": gig.shown(entry.minutes),
                "note": settable(entry.note),
            }
            continue
        while left and left[0][0] < entry.number:
            yield _missing(*left.pop(0))
        yours = ""
        if reader is not None and not _is_in(entry, reader):
            yours = "you sit out"
        elif reader is not None and seats[entry.number, reader] != "drone":
            yours = "" if entry.number in charted else "nothing for you to play"
        yield {
            "kind": "tune",
            "number": str(entry.number),
            "title": settable(entry.title),
            "modes": settable(", ".join(entry.modes), NARROW),
            "sa": str(entry.tonic),
            "cycles": settable(", ".join(entry.cycles), NARROW),
            "tempo": shown_tempo(entry.tempo),
            "starts": gig.shown(entry.starts),
            "minutes": gig.shown(entry.minutes),
            "estimated": entry.estimated,
            "out": settable(", ".join(name for name in entry.out if name != reader)),
            "note": settable(entry.note),
            "retuning": settable(entry.retuning),
            "away": bool(yours),
            "yours": yours,
        }
    for number, file in left:
        yield _missing(number, file)


def _missing(number: int, file: str) -> dict[str, Any]:
    note = f"{settable(clip(file, 60))} could not be read whole: it has no chart and no length"
    return {"kind": "missing", "number": str(number), "note": note}


def _sums(book: SetBook) -> dict[str, Any]:
    """How long it all is, of what, and how that goes into the set's length."""
    parts = [("music", book.music), ("breaks", book.breaks), ("retuning", book.retuning)]
    fits = ""
    if book.length is not None:
        over = book.minutes - book.length
        by = f"{gig.shown(abs(over))} {'over' if over > 0 else 'to spare'}" if over else "exactly"
        fits = f"of {gig.shown(book.length)}: {by}"
    return {
        "sums": [[name, gig.shown(minutes)] for name, minutes in parts if minutes],
        "total": gig.shown(book.minutes),
        "fits": fits,
    }


def _contents(book: SetBook, parts: Sequence[_Part]) -> Iterator[dict[str, Any]]:
    for tune in book.tunes:
        own = [
            {"name": settable(part.chart.player), "offset": part.offset, "index": index}
            for index, part in enumerate(parts)
            if part.chart.number == tune.number
        ]
        if own:
            yield {"number": str(tune.number), "title": settable(tune.title), "parts": own}


def _tuning(book: SetBook, reader: str | None) -> Iterator[dict[str, Any]]:
    """What the drone sounds in each tune."""
    for tune in book.tunes:
        keys = dict.fromkeys((step.force.tonic, step.force.mode) for step in tune.piece.steps) or {
            (tune.piece.tonic, tune.piece.mode): None
        }
        drones = []
        for sa, mode in keys:
            written = readable_tonic(sa, mode.tones)
            second = mode.drone_second
            named = [spell(written, 0), *([spell(written, second)] if second else [])]
            drones.append(" ".join(map(str, named)))
        yield {
            "number": str(tune.number),
            "title": settable(tune.title),
            "sa": str(tune.tonic),
            "drone": ", then ".join(dict.fromkeys(drones)),
            "retuning": settable(tune.retuning),
            "away": not _is_in(tune, reader),
        }


_Keys = list[tuple[Mode, Tonic, int]]
"""A mode, the Sa it is played on, and the semitones that its reader transposes."""


def _in_use(tunes: Iterable[TunePage], reader: str | None) -> _Keys:
    """On which Sa each mode is, for a reader: each once."""
    found: dict[tuple[Mode, Tonic, int], None] = {}
    for tune in tunes:
        if not _is_in(tune, reader):
            continue
        (transposes,) = [
            player.instrument.transposes % 12
            for player in tune.piece.players
            if player.name == reader
        ] or [0]
        found |= {
            (step.force.mode, step.force.tonic, transposes): None for step in tune.piece.steps
        }
        found.setdefault((tune.piece.mode, tune.piece.tonic, transposes))
    return list(found)


def _mode_card(mode: Mode, in_use: _Keys) -> dict[str, Any]:
    keys: dict[str, dict[str, Any]] = {}
    for _, sa, transposes in (one for one in in_use if one[0] == mode):
        sounds = readable_tonic(sa, mode.tones)
        read = readable_tonic(written_for(sa, transposes), mode.tones) if transposes else sounds
        keys[f"{read} {sounds}"] = {
            "on": str(read),
            "sounds": str(sounds) if transposes else "",
            "letters": [[SARGAM[tone], str(spell(read, tone))] for tone in sorted(mode.tones)],
        }
    return {
        "name": settable(mode.name, LARGE),
        "leans": leans_of(mode),
        "ascent": list(map(dotted, mode.ascent)),
        "descent": list(map(dotted, mode.descent)),
        "phrases": [list(map(dotted, phrase)) for phrase in mode.phrases],
        "keys": list(keys.values()),
        "source": settable(" ".join(mode.source.split())).rstrip("."),
    }


def _cycle_card(cycle: Cycle) -> dict[str, Any]:
    strokes = beat_strokes(cycle)
    beats = f"{show_exact(cycle.beats)} beats"
    sections = f" ({' + '.join(map(show_exact, cycle.sections))})"
    return {
        "name": settable(cycle.name, LARGE),
        "length": beats + (sections if len(cycle.sections) > 1 else ""),
        "beats": [show_exact(offset + 1) for offset, _ in strokes],
        "signs": [cycle.signs.get(offset, "") for offset, _ in strokes],
        "strokes": [settable(text, NARROW) for _, text in strokes],
        "starts": [at for at, (offset, _) in enumerate(strokes) if offset in cycle.starts],
        "source": settable(" ".join(cycle.source.split())).rstrip("."),
    }
