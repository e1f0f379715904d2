"""A plain text of sargam as a tune: rows of tones in any usual spelling, with a head and names of
sections."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.catalog.spellings.latin import MARKED
from cyclechart.catalog.spellings.model import Known, Spelling
from cyclechart.catalog.spellings.recognise import all_spellings, respelled
from cyclechart.finding import Spot
from cyclechart.piece.heading import read_tonic
from cyclechart.text.excerpts import clip
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.source import PlacedText, Source, with_plain_ends
from cyclechart.text.timing import Timed, time_line
from cyclechart.text.typographic_signs import with_plain_signs
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import parse_exact
from cyclechart.transcription.refusal import CannotRead
from cyclechart.transcription.sargam_rows import MusicRow, Rows, rows_of
from cyclechart.transcription.tune import Bar, Loss, Meter, TempoMark, Tune, TuneNote, TuneVoice

CAPITALS = replace(
    MARKED, title="S R G in capitals, each in the form that the mode has", proves=bool
)
LONGEST_ROW = 4_000
MOST_CHARACTERS = 200_000
MOST_ROWS = 2_000
MOST_LOST = 8
"""The most rows that are named among what is lost."""
_NOWHERE = Spot("", 1, 1)


class _Reading(NamedTuple):
    """A spelling that reads a text, None for our own sargam, with what is known beside it."""

    spelling: Spelling | None
    known: Known

    @property
    def title(self) -> str:
        """Its name in a sentence."""
        return "sargam" if self.spelling is None else self.spelling.title

    def sargam(self, text: str) -> str | None:
        """Return a text as our sargam, or None where it cannot be read."""
        plain = text
        if self.spelling is not None:
            found = respelled(text, self.known, (self.spelling,))
            if found is None or found.unread:
                return None
            plain = found.text
        elif not any(sign in "SrRgGmMPdDnN" for sign in text):
            return None
        passage = _passage(plain)
        return passage.text if not read_line(passage, SARGAM_SCRIPT)[1] else None


def is_sargam_text(text: str) -> bool:
    """Return whether a text has rows of tones: one of every three at least, for words are not."""
    rows = [row for row in text[:MOST_CHARACTERS].splitlines()[:60] if row.strip()]
    if not rows:
        return False
    reading = _reading(rows, Known())
    found = rows_of(rows, lambda row: len(row) <= LONGEST_ROW and reading.sargam(row) is not None)
    return bool(found.music) and 3 * len(found.music) >= len(rows) - len(found.head)


def text_tune(
    text: str, library: Library | None = None, mode: str | None = None
) -> tuple[Tune, tuple[str, ...]]:
    """Return the tune in a plain text of sargam, and a sentence on how its tones were read.

    ``mode`` is the mode that is asked for; else the one that the text names. Where the spelling
    leaves the form of a tone open, it decides. Raises CannotRead where there is none.
    """
    if len(text) > MOST_CHARACTERS or text.count("\n") > MOST_ROWS:
        raise CannotRead(f"a text of sargam has at most {MOST_CHARACTERS:,} characters")
    library = library if library is not None else Library.beside(None)
    lines = with_plain_ends(text).split("\n")
    known = _known(lines, library, mode)
    reading = _reading(lines, known)
    rows = rows_of(lines, lambda row: len(row) <= LONGEST_ROW and reading.sargam(row) is not None)
    if not rows.music:
        raise CannotRead("it has no row of tones", "", "S R G m, or Sa Re Ga Ma")
    texts, reasons = _together(rows.music, reading)
    said = f"spelling: {reading.title}" + "".join(f"; {reason}" for reason in reasons)
    return _tune(rows, texts, reading, library, mode), (said,)


def _known(lines: Sequence[str], library: Library, mode: str | None) -> Known:
    """Return the mode and the letter of Sa that are given or stand at the head of a text."""
    head = rows_of(lines, lambda _: False).head
    name = mode if mode is not None else head.get("mode", "")
    found = library.mode(name, _NOWHERE)[0] if name else None
    return Known(found, read_tonic(head.get("tonic", "")))


def _reading(lines: Sequence[str], known: Known) -> _Reading:
    """Return the reading that most rows of a text have; of equals our own sargam, then the first.

    Rows are tried one by one, and a few of a long text only.
    """
    tried = [row.strip() for row in lines if 0 < len(row.strip()) <= LONGEST_ROW][:200]
    bare = [part for row in tried for part in (row, row.partition(":")[2].strip()) if part]
    candidates = [_Reading(None, known), *(_Reading(one, known) for one in all_spellings())]
    counts = [sum(one.sargam(row) is not None for row in bare) for one in candidates]
    best = candidates[counts.index(max(counts))]
    if best.spelling is None and known.mode is not None:
        music = "".join(row for row in bare if best.sargam(row) is not None)
        if not set(music) & set("rgmdn"):  # capitals say nothing where there are no small letters
            return _Reading(CAPITALS, known)
    return best


def _together(music: Sequence[MusicRow], reading: _Reading) -> tuple[list[str], tuple[str, ...]]:
    """Return the rows as sargam and the reasons: read together, for a sign in one row says how the
    others are meant."""
    rows = [row.text for row in music]
    if reading.spelling is not None:
        one = "\n".join(rows)
        found = respelled(one, reading.known, (reading.spelling,), longest=MOST_CHARACTERS)
        if found is not None and not found.unread:
            return found.text.split("\n"), found.reasons
    return [reading.sargam(row) or "" for row in rows], ()


def _tune(
    rows: Rows, texts: list[str], reading: _Reading, library: Library, mode: str | None
) -> Tune:
    timed = [_timed(text) for text in texts]
    starts = [Fraction(0), *accumulate(one.length for one in timed)]
    whole = _timed("\n".join(texts))
    if whole.length != starts[-1] or not whole.strikes:  # a bracket that runs over rows
        raise CannotRead("a group or a slur runs over the end of a row")
    cycle = library.cycle(rows.head["cycle"], _NOWHERE)[0] if rows.head.get("cycle") else None
    meters = _meters(rows, cycle, timed)
    notes = tuple(_notes(whole))
    tonic = rows.head.get("tonic", "")
    return Tune(
        title=rows.head.get("title", ""),
        composer=rows.head.get("composer", ""),
        voices=(TuneVoice("melody", notes),),
        bars=tuple(_bars(rows, timed, starts, meters)),
        meters=meters,
        tempos=tuple(_tempo(rows)),
        from_sa=True,
        tonic=tonic if read_tonic(tonic) is not None else "",
        mode=rows.head.get("mode", "") if reading.known.mode is not None or mode else "",
        cycle=rows.head.get("cycle", "") if cycle is not None else "",
        losses=(*_losses(rows, reading, cycle), *_lost_lines(timed, meters)),
    )


def _passage(text: str) -> PlacedText:
    return with_plain_signs(PlacedText(Source.of("", text), text, 0), "sargam")


def _timed(text: str) -> Timed:
    passage = _passage(text)
    items, _ = read_line(passage, SARGAM_SCRIPT)
    return time_line(items, passage)[0]


def _notes(timed: Timed) -> Iterator[TuneNote]:
    for strike in timed.strikes:
        assert isinstance(strike.value, int)
        yield TuneNote(
            start=strike.start,
            length=strike.length,
            pitch=strike.value,
            graces=tuple(one for one in strike.grace if isinstance(one, int)),
            marks=strike.marks,
            glides=strike.glides,
            slur=strike.slur,
            text=strike.text,
        )


def _meters(rows: Rows, cycle: Cycle | None, timed: Sequence[Timed]) -> tuple[Meter, ...]:
    """Return the meter: the cycle that the text names, rows that are all as long, or bars."""
    if cycle is not None:
        return (Meter(Fraction(0), cycle.beats, name=rows.head["cycle"]),)
    lengths = {one.length for one in timed}
    if len(timed) > 1 and len(lengths) == 1:
        beats = lengths.pop()
        if 3 <= beats <= 64:
            return (Meter(Fraction(0), beats, name=f"rows of {beats} beats"),)
    for lines in ("||", "|"):
        length = _bar_length(timed, doubles_only=lines == "||")
        if length is not None:
            return (Meter(Fraction(0), length, name=f"bars between {lines}"),)
    return ()


def _bar_length(timed: Sequence[Timed], *, doubles_only: bool) -> Fraction | None:
    """Return how long the bars between the section lines are: two at least as long as each other,
    and none longer; at the ends of a row one may be shorter. None where they are not alike."""
    inner: list[Fraction] = []
    outer: list[Fraction] = []
    for row in timed:
        lines = {one.offset for one in row.section_lines if one.double or not doubles_only}
        if not lines:
            return None
        edges = sorted({Fraction(0), *lines, row.length})
        lengths = [stop - start for start, stop in pairwise(edges)]
        outer += [lengths[0], lengths[-1]]
        inner += lengths[1:-1]
    longest = max([*inner, *outer], default=Fraction(0))
    alike = [one for one in (*inner, *outer) if one == longest]
    fits = len(alike) >= 2 and all(one == longest for one in inner)
    return longest if fits and 2 <= longest <= 64 else None


def _bars(
    rows: Rows, timed: Sequence[Timed], starts: Sequence[Fraction], meters: Sequence[Meter]
) -> Iterator[Bar]:
    """Yield the bars: turns of the cycle from each section's first beat, else rows.

    A ``||`` in a section says where the first beat is: what is before it is a pickup.
    """
    beats = meters[0].beats if meters else None
    firsts = sorted({0, *rows.sections})
    number = 0
    for at, row in enumerate(rows.music):
        begin, end = starts[at], starts[at + 1]
        if begin == end:
            continue
        section = rows.sections.get(at, "")
        edges = [begin, end]
        if beats is not None:
            origin = _origin(at, firsts, timed, starts, at_bars=meters[0].name.endswith(" |"))
            first = origin + -(-(begin - origin) // beats) * beats
            count = int((end - first) // beats) + 1 if end > first else 0
            inner = (first + turn * beats for turn in range(count))
            edges = sorted({begin, end, *(edge for edge in inner if begin < edge < end)})
        for part, (start, stop) in enumerate(pairwise(edges)):
            number += 1
            last = stop == end
            yield Bar(
                start=start,
                length=stop - start,
                number=str(number),
                section=section if part == 0 else "",
                opens_repeat=part == 0 and (row.opens or (row.times > 1 and not row.closes)),
                closes_repeat=row.times if last and row.times > 1 else 0,
            )


def _origin(
    at: int,
    firsts: Sequence[int],
    timed: Sequence[Timed],
    starts: Sequence[Fraction],
    *,
    at_bars: bool,
) -> Fraction:
    """Return a first beat of the section that a row is in; ``at_bars``: each bar begins on one."""
    begins = max(first for first in firsts if first <= at)
    ends = min((first for first in firsts if first > at), default=len(timed))
    for row in range(begins, ends):
        for line in timed[row].section_lines:
            if line.double and line.offset < timed[row].length:
                return starts[row] + line.offset
    first = timed[begins].section_lines[:1]
    return starts[begins] + (first[0].offset if first and at_bars else 0)


def _tempo(rows: Rows) -> Iterator[TempoMark]:
    try:
        tempo = parse_exact(rows.head.get("tempo", "").split()[0]) if "tempo" in rows.head else None
    except (ValueError, IndexError):
        return
    if tempo is not None and 10 <= tempo <= 400:
        yield TempoMark(Fraction(0), tempo)


def _lost_lines(timed: Sequence[Timed], meters: Sequence[Meter]) -> Iterator[Loss]:
    if not meters and any(one.section_lines for one in timed):
        yield Loss("the | are left out: what stands between them is not all as long")


def _losses(rows: Rows, reading: _Reading, cycle: Cycle | None) -> Iterator[Loss]:
    """Yield what is not kept."""
    for number, row in rows.others[:MOST_LOST]:
        yield Loss(f"a row that is no music: '{clip(row)}'", f"line {number}")
    if len(rows.others) > MOST_LOST:
        yield Loss(f"{len(rows.others) - MOST_LOST} more rows that are no music")
    if rows.head.get("mode") and reading.known.mode is None:
        yield Loss(f"the mode '{clip(rows.head['mode'])}', which is not in the catalogue")
    if rows.head.get("cycle") and cycle is None:
        yield Loss(f"the cycle '{clip(rows.head['cycle'])}', which is not in the catalogue")
