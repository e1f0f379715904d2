"""A part for the rehearsal page: engraved, and which of its notes sounds when.

A part is folded: what comes again is written once (repeats, endings, rests in a row, from a sign).
``arrange.parts`` says for each bar as it is played where it stands in the part; a written note is
then known by its place within the bar, not by its pitch. Places are in beats of the strain, in
exact fractions.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from base64 import b64encode
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.clock import Clock, clock_of
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_places import BarPlace
from cyclechart.arrange.parts.part_sheets import part_with_places
from cyclechart.arrange.sheet.key_signatures import signed
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.arrange.transpose import moved
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.text.display import as_read, shown
from cyclechart.theory.exact import show_cycles
from cyclechart.theory.spelling import TONICS
from cyclechart.write.files.cache import Cache, MemoryCache
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import A4, Look
from cyclechart.write.musicxml.note_ids import WrittenNote, written_notes
from cyclechart.write.webpage.schema import PartData
from cyclechart.write.webpage.svg_slimming import ids_of, slim

MOST_STRAINS = 1000
"""In memory, where nothing is kept from one page to the next."""

DECIMALS = 5
"""Of a second."""

PAGE_LOOK = Look(paper=replace(A4, name="page", line=1000))
"""Half the line of a sheet of paper: on a phone a system is as wide as the screen, on a wide one
several stand in a row."""


def packed_parts(
    piece: Piece,
    shift: int = 0,
    look: Look | None = None,
    drawn: Cache | None = None,
    clock: Clock | None = None,
) -> dict[str, str]:
    """The parts of all who read on a Sa so many semitones from the piece's own, by player: each a
    ``PartData`` as JSON, deflated (raw), base64. What is drawn is kept in ``drawn``; the ``clock``
    is that of the score on any Sa, if it is there already."""
    clock = clock or clock_of(unroll(piece))
    if shift:
        piece = moved(piece, TONICS[(piece.tonic.semitone + shift) % 12])
    band = Band(piece)
    parts = (part_data(band, player, look, drawn, clock) for player in piece.players)
    return {part["player"]: packed_part(part) for part in parts if part is not None}


def packed_part(part: PartData) -> str:
    """A part as JSON, deflated without a header, in base64."""
    said = json.dumps(part, ensure_ascii=False, separators=(",", ":"))
    press = zlib.compressobj(9, zlib.DEFLATED, -15)
    return b64encode(press.compress(said.encode()) + press.flush()).decode()


def part_data(
    band: Band,
    player: Player,
    look: Look | None = None,
    drawn: Cache | None = None,
    clock: Clock | None = None,
) -> PartData | None:
    """A player's part; None for a drone, and for who has nothing to read."""
    look, drawn = look or PAGE_LOOK, drawn or MemoryCache(MOST_STRAINS)
    sheet, places = part_with_places(band, player)
    if not player.role.reads_staff or all(strain.silent for strain in sheet.strains):
        return None
    sheet = signed(replace(sheet, names=look.names), look.signature)
    systems: list[str] = []
    heads: list[tuple[int, str, str, str]] = []
    marks: list[tuple[list[WrittenNote], list[WrittenNote]]] = []
    for strain in sheet.strains:
        heads.append((len(systems), strain.letter, plain_text(strain.name), _remark(strain)))
        if strain.silent:
            marks.append(([], []))
            continue
        made, strain = _systems(sheet, strain, look, drawn)
        known = dict.fromkeys(name for system in made for name in ids_of(system))
        marks.append((written_notes(strain), measure_spans(strain, known)))
        systems += made
    clock = clock or clock_of(band.timeline)
    notes, bars = [], []
    for bar, place in sorted(places.items()):
        seconds = partial(_seconds, clock, band.bars[bar], place)
        spans, measures = marks[place.strain]
        notes += list(_sounding_spans(spans, place, seconds))
        bars += list(_sounding_spans(measures, place, seconds))
    return {
        "player": plain_text(player.name),
        "systems": systems,
        "notes": notes,
        "heads": heads,
        "sa": str(sheet.tonic),
        "measures": bars,
    }


def plain_text(text: str) -> str:
    """Return a text as it is read, without the characters that steer how it is written."""
    return as_read(shown(text))


def _remark(strain: Strain) -> str:
    """What stands beside a strain's name."""
    rests = strain.rests if strain.silent and not strain.holds else 0
    silent = f"rest {show_cycles(rests)}" if rests else ""
    told = (strain.remark, silent, strain.holds, strain.tones, strain.turn)
    return plain_text("; ".join(filter(None, told)))


def _systems(sheet: Sheet, strain: Strain, look: Look, drawn: Cache) -> tuple[list[str], Strain]:
    """The pictures of a strain, as they were drawn or drawn now, and the strain with its measures
    as they are drawn: one that is cut has its notes spelled otherwise."""
    last = strain.letter == sheet.strains[-1].letter
    plain = replace(strain, name="", remark="", tones="", holds="", turn="")
    # The last strain of a part has another barline at its end.
    key = key_of(_drawing_input(sheet, plain), look.paper)
    if last:
        key = hashlib.sha256(f"{key}-end".encode()).hexdigest()
    known = drawn.get(key)
    if known is not None:
        systems, places = _unpacked(known)
    else:
        from cyclechart.write.engraving.systems import engrave

        made = engrave(sheet, strain, first=strain.first, line=look.paper.line)
        cuts = {one.start for one in made.measures} - {one.start for one in strain.measures}
        systems = [
            slim(drawing, f"{strain.letter}{at}") for at, drawing in enumerate(made.drawings)
        ]
        places = sorted(cuts)
        drawn.put(key, _packed(systems, places))
    measures = tuple(piece for measure in strain.measures for piece in measure.cut(places))
    return systems, replace(strain, measures=measures)


def _packed(systems: Sequence[str], places: Sequence[Fraction]) -> bytes:
    """The systems of a strain and the places at which its measures are cut, as they are cached."""
    data = {"systems": systems, "cuts": [str(place) for place in places]}
    return zlib.compress(json.dumps(data).encode(), 6)


def _unpacked(packed_part: bytes) -> tuple[list[str], list[Fraction]]:
    """The inverse of ``_packed``."""
    data = json.loads(zlib.decompress(packed_part))
    return list(data["systems"]), [Fraction(place) for place in data["cuts"]]


def _drawing_input(sheet: Sheet, strain: Strain) -> Sheet:
    """All that a strain is drawn from."""
    return replace(
        sheet, title="", composer="", cycles=(), strains=(strain,), road=(), liberties=()
    )


def measure_spans(strain: Strain, known: Iterable[str]) -> list[WrittenNote]:
    """The measures of a strain as they are drawn."""
    names = [name for name in known if name.startswith("m-")]
    pairs = zip(strain.measures, names, strict=True)
    return [WrittenNote(measure.start, measure.end, name) for measure, name in pairs]


def _seconds(clock: Clock, bar: Bar, place: BarPlace, at: Fraction) -> float:
    """When what stands at a place of the strain is played in a bar."""
    return round(float(clock.seconds(bar.start + place.played(at))), DECIMALS)


def _sounding_spans(
    spans: Sequence[WrittenNote], place: BarPlace, seconds: Callable[[Fraction], float]
) -> Iterator[tuple[float, float, str]]:
    """What of a strain is played in a bar, in seconds; the bars of a rest share its measure."""
    begun = bisect_right(spans, place.at, key=lambda span: span[1])
    until = bisect_left(spans, place.end, key=lambda span: span[0])
    for start, end, name in spans[begun:until]:
        yield seconds(max(start, place.at)), seconds(min(end, place.end)), name
