"""The front matter of a book: title page, set list, contents, cards of modes and cycles."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from cyclechart.arrange.roles.drone import second_tone
from cyclechart.arrange.roles.theka_rows import beat_counts, beat_strokes, is_counted
from cyclechart.arrange.set_book import BreakPage, SetBook, TunePage, modes_in
from cyclechart.catalog.roles import Role
from cyclechart.piece.set import gig
from cyclechart.text.display import as_read, player_title, settable, shown
from cyclechart.text.excerpts import clip
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, readable_tonic, spell, written_for
from cyclechart.theory.tones import SARGAM, dotted
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.paper.charts import LARGE, NARROW, SHORT, shown_tempo
from cyclechart.write.paper.mode_page import leans_of
from cyclechart.write.paper.pdf_binding import LINK
from cyclechart.write.paper.typesetting import template, typeset

ALL_PARTS = "all parts"
"""The name on the book with the charts of everybody, tune by tune."""


@dataclass(frozen=True)
class ChartPlace:
    """A chart in a book: the number of its tune, its name within the tune, and its first page.

    ``offset``: that page counted from the first page of charts, which is 1.
    """

    number: int
    name: str
    offset: int


CAUTION = (
    "Mode grammars differ by teacher and lineage, and so do the strokes of a cycle: your own "
    "teacher's word goes before these pages."
)


def _compiled(texts: dict[str, Any], paper: Paper) -> bytes:
    """Return the PDF of the book template with these texts."""
    texts = {"plain_title": "", "numbers": 0, "foot": "", "paper": asdict(paper), **texts}
    files = {"main.typ": template("book.typ"), "paths.typ": template("paths.typ")}
    return typeset(files, texts, "pdf")[0]


def page_numbers(pages: int, paper: Paper) -> bytes:
    """Return a PDF of so many pages with nothing but their numbers."""
    return _compiled({"numbers": pages}, paper)


def blank_page(book: SetBook, paper: Paper) -> bytes:
    """Return a page with nothing but its foot, as a PDF."""
    return _compiled({"numbers": -1, "foot": _foot(book)}, paper)


def front_matter(
    book: SetBook,
    reader: str | None,
    parts: Sequence[ChartPlace],
    paper: Paper = A4,
    missing: Sequence[tuple[int, str]] = (),
    whose: str = ALL_PARTS,
) -> bytes:
    """Return the pages before the charts, as a PDF.

    ``reader``: the player whose book it is, None for a book of the whole band, which ``whose``
    names; ``parts``: its charts in order; ``missing``: the number and the file of each tune that
    could not be read.
    """
    seats = {(tune.number, seat.name): seat.role for tune in book.tunes for seat in tune.seats}
    own = {role for (_, name), role in seats.items() if name == reader}
    drones = reader is not None and bool(own) and all(role.is_drone for role in own)
    charted = {part.number for part in parts}
    in_use = [] if drones else _keys_in_use(book.tunes, reader)
    texts = {
        "plain_title": as_read(shown(book.title)),
        "title": settable(book.title, LARGE),
        "date": settable(book.date),
        "venue": settable(book.venue),
        "foot": _foot(book),
        "whose": settable(player_title(whose if reader is None else reader), LARGE),
        "all": reader is None and whose == ALL_PARTS,
        "band": list(_band(book)),
        "entries": list(_entries(book, reader, seats, charted, missing)),
        **_length_sums(book),
        "tuning": list(_tuning(book, reader)) if drones or reader is None else [],
        "link": LINK,
        "contents": list(_contents(book, parts)),
        "modes": [_mode_card(mode, in_use) for mode in _of_reader(book, reader, drones)[0]],
        "cycles": [_cycle_card(cycle) for cycle in _of_reader(book, reader, drones)[1]],
        "caution": CAUTION,
    }
    return _compiled(texts, paper)


def _foot(book: SetBook) -> str:
    """Return the text at the foot of each page: the set, its version and its date."""
    texts = [clip(book.title, SHORT), book.edition, clip(book.date, SHORT // 2)]
    return settable(" · ".join(filter(None, texts)))


def _of_reader(
    book: SetBook, reader: str | None, drones: bool
) -> tuple[tuple[Mode, ...], tuple[Cycle, ...]]:
    """Return the modes and cycles of the tunes that a reader plays in."""
    if drones:
        return (), ()
    pieces = [tune.piece for tune in book.tunes if _plays_in(tune, reader)]
    modes = {mode.as_defined for piece in pieces for mode in modes_in(piece)}
    cycles = {cycle for piece in pieces for cycle in piece.cycles}
    return (
        tuple(mode for mode in book.modes if mode in modes),
        tuple(cycle for cycle in book.cycles if cycle in cycles),
    )


def _plays_in(tune: TunePage, reader: str | None) -> bool:
    """Return True if a reader (None: anyone) plays in a tune."""
    return reader is None or any(seat.name == reader for seat in tune.seats)


def _band(book: SetBook) -> Iterator[dict[str, str]]:
    """Yield the name and the instruments of each player."""
    for name in book.players:
        seats = [seat for tune in book.tunes for seat in tune.seats if seat.name == name]
        titles = dict.fromkeys(seat.instrument for seat in seats)
        plays = ", ".join(titles)
        known = _says(name, plays)
        yield {"name": settable(player_title(name)), "plays": "" if known else settable(plays)}


def _says(name: str, instrument: str) -> bool:
    """Return True if a player's name says their instrument: alto-sax an alto saxophone."""
    words, whole = (re.sub(r"[\W_]+", " ", text).lower().split() for text in (name, instrument))
    return len(words) == len(whole) and all(map(str.startswith, whole, words))


def _entries(
    book: SetBook,
    reader: str | None,
    seats: dict[tuple[int, str], Role],
    charted: set[int],
    missing: Sequence[tuple[int, str]],
) -> Iterator[dict[str, Any]]:
    unread = sorted(missing)
    for entry in book.entries:
        if isinstance(entry, BreakPage):
            yield {
                "kind": "break",
                "starts": _starts(book, entry.starts),
                "minutes": gig.clock_time(entry.minutes),
                "note": settable(entry.note),
            }
            continue
        while unread and unread[0][0] < entry.number:
            yield _missing(*unread.pop(0))
        yours = _remark_to(reader, entry, seats, charted)
        yield {
            "kind": "tune",
            "number": str(entry.number),
            "title": settable(entry.title),
            "modes": settable(", ".join(entry.modes), NARROW),
            "sa": str(entry.tonic),
            "cycles": settable(", ".join(entry.cycles), NARROW),
            "tempo": shown_tempo(entry.tempo),
            "starts": _starts(book, entry.starts),
            "minutes": gig.clock_time(entry.minutes),
            "estimated": entry.estimated,
            "out": settable(", ".join(player_title(name) for name in entry.out if name != reader)),
            "note": settable(entry.note),
            "retuning": settable(entry.retuning),
            "away": bool(yours),
            "yours": yours,
        }
    for number, file in unread:
        yield _missing(number, file)


def _starts(book: SetBook, minutes: Fraction) -> str:
    """Return when an entry starts: the time of day, or how long after the beginning of the set."""
    if book.starts is None:
        return gig.clock_time(minutes)
    return gig.time_of_day(book.starts + minutes)


def _remark_to(
    reader: str | None, tune: TunePage, seats: dict[tuple[int, str], Role], charted: set[int]
) -> str:
    """Return the remark to a reader beside a tune they have no chart for, or ""."""
    if reader is None:
        return ""
    if not _plays_in(tune, reader):
        return "you sit out"
    if seats[tune.number, reader].reads_staff and tune.number not in charted:
        return "nothing for you to play"
    return ""


def _missing(number: int, file: str) -> dict[str, Any]:
    note = f"{settable(clip(file, 60))} could not be read whole: it has no chart and no length"
    return {"kind": "missing", "number": str(number), "note": note}


def _length_sums(book: SetBook) -> dict[str, Any]:
    """Return the lengths of the set and of its parts, and the difference from the time given."""
    parts = [("music", book.music), ("breaks", book.breaks), ("retuning", book.retuning)]
    fits = ""
    if book.length is not None:
        over = book.minutes - book.length
        side = "over" if over > 0 else "to spare"
        by = f"{gig.clock_time(abs(over))} {side}" if over else "exactly"
        fits = f"of {gig.clock_time(book.length)}: {by}"
    return {
        "sums": [[name, gig.clock_time(minutes)] for name, minutes in parts if minutes],
        "hours": ""
        if book.starts is None
        else f"{_starts(book, Fraction(0))} to {gig.time_of_day(book.starts + book.minutes)}",
        "total": gig.clock_time(book.minutes),
        "fits": fits,
    }


def _contents(book: SetBook, parts: Sequence[ChartPlace]) -> Iterator[dict[str, Any]]:
    for tune in book.tunes:
        own = [
            {"name": settable(part.name), "offset": part.offset, "index": index}
            for index, part in enumerate(parts)
            if part.number == tune.number
        ]
        if own:
            yield {"number": str(tune.number), "title": settable(tune.title), "parts": own}


def _tuning(book: SetBook, reader: str | None) -> Iterator[dict[str, Any]]:
    """Yield the tones of the drone in each tune."""
    for tune in book.tunes:
        keys = dict.fromkeys((step.state.tonic, step.state.mode) for step in tune.piece.steps) or {
            (tune.piece.tonic, tune.piece.mode): None
        }
        own = next((player for player in tune.piece.players if player.name == reader), None)
        drones = []
        for sa, mode in keys:
            written = readable_tonic(sa, mode.tones)
            second = second_tone(mode, own)
            tones = [spell(written, 0), *([spell(written, second)] if second else [])]
            drones.append(" ".join(map(str, tones)))
        yield {
            "number": str(tune.number),
            "title": settable(tune.title),
            "sa": str(tune.tonic),
            "drone": ", then ".join(dict.fromkeys(drones)),
            "retuning": settable(tune.retuning),
            "away": not _plays_in(tune, reader),
        }


_Keys = list[tuple[Mode, Tonic, int]]
"""A mode, the Sa it is played on, and the semitones that its reader transposes."""


def _keys_in_use(tunes: Iterable[TunePage], reader: str | None) -> _Keys:
    """Return the Sas of each mode in the tunes of a reader, each once."""
    keys: dict[tuple[Mode, Tonic, int], None] = {}
    for tune in tunes:
        if not _plays_in(tune, reader):
            continue
        (transposes,) = [
            player.as_read.transposes % 12 for player in tune.piece.players if player.name == reader
        ] or [0]
        states = [*(step.state for step in tune.piece.steps), tune.piece.state]
        keys |= {(state.mode.as_defined, state.tonic, transposes): None for state in states}
    return list(keys)


def _mode_card(mode: Mode, in_use: _Keys) -> dict[str, Any]:
    keys: dict[str, dict[str, Any]] = {}
    for _, sa, transposes in (key for key in in_use if key[0] == mode):
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
    strokes, counted = beat_strokes(cycle), is_counted(cycle)
    beats = f"{show_exact(cycle.beats)} beats"
    sections = f" ({' + '.join(map(show_exact, cycle.sections))})"
    return {
        "name": settable(cycle.name, LARGE),
        "length": beats + (sections if len(cycle.sections) > 1 else ""),
        "beats": [show_exact(offset + 1) for offset, _ in strokes],
        "signs": [cycle.signs.get(offset, "") for offset, _ in strokes],
        "strokes": [settable(text, NARROW) for _, text in strokes],
        "counts": [settable(text, NARROW) if counted else "" for _, text in beat_counts(cycle)],
        "counted": counted,
        "starts": [at for at, (offset, _) in enumerate(strokes) if offset in cycle.starts],
        "source": settable(" ".join(cycle.source.split())).rstrip("."),
    }
