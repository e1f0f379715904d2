"""The parts of the rehearsal page: engraved systems, and the times of their notes.

A part is folded: passages that come again are written once (repeats, endings, rests in a row, from
a sign). ``arrange.parts`` gives the place of each played bar in the part; a written note is then
found by its place within the bar, not by its pitch. Places are in beats of the strain, in exact
fractions.
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
from cyclechart.arrange.parts.bar_fragments import Fragment
from cyclechart.arrange.parts.bar_places import BarPlace
from cyclechart.arrange.parts.part_sheets import part_sheet_with_places
from cyclechart.arrange.sheet.key_signatures import with_signature
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.arrange.sheet.road_map import tempo_text
from cyclechart.arrange.transpose import transposed
from cyclechart.arrange.unroller import unroll
from cyclechart.finding import Spot
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.text.display import as_read, shown
from cyclechart.theory.exact import show_cycles
from cyclechart.theory.spelling import TONICS
from cyclechart.write.files.cache import Cache, MemoryCache
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import A4, Look
from cyclechart.write.musicxml.note_ids import WrittenNote, note_indices, written_notes
from cyclechart.write.webpage.schema import PartData
from cyclechart.write.webpage.svg_slimming import ids_of, slim

MOST_STRAINS = 1000
"""The most strains that are kept in memory, where there is no cache of drawn systems."""

DECIMALS = 5
"""Decimals of a second."""

TextSpan = Callable[[Spot], tuple[int, int] | None]
"""Gives the beginning and the end of a place in the text of the piece, None where it is in none."""

PAGE_LOOK = Look(paper=replace(A4, name="page", line=1000))
"""Half the line of a sheet of paper: on a phone a system is as wide as the screen, on a wide screen
several stand side by side."""


def packed_parts(
    piece: Piece,
    shift: int = 0,
    look: Look | None = None,
    drawn: Cache | None = None,
    clock: Clock | None = None,
    text_span: TextSpan | None = None,
) -> dict[str, str]:
    """Return the parts of all players who read, by player: each a ``PartData`` as ``packed_part``
    packs it.

    ``shift``: semitones that Sa is moved from the piece's own; ``drawn``: the cache of drawn
    systems; ``clock``: that of the score on any Sa, if there is one already; ``text_span``: for the
    places of its notes in the text.
    """
    clock = clock or clock_of(unroll(piece))
    if shift:
        piece = transposed(piece, TONICS[(piece.tonic.semitone + shift) % 12])
    band = Band(piece)
    parts = (part_data(band, player, look, drawn, clock, text_span) for player in piece.players)
    return {part["player"]: packed_part(part) for part in parts if part is not None}


def packed_part(part: PartData) -> str:
    """Return a part as JSON, deflated without a header, in base64."""
    text = json.dumps(part, ensure_ascii=False, separators=(",", ":"))
    compressor = zlib.compressobj(9, zlib.DEFLATED, -15)
    return b64encode(compressor.compress(text.encode()) + compressor.flush()).decode()


def part_data(
    band: Band,
    player: Player,
    look: Look | None = None,
    drawn: Cache | None = None,
    clock: Clock | None = None,
    text_span: TextSpan | None = None,
) -> PartData | None:
    """Return a player's part; None for a drone and for a player who has nothing to read."""
    look, drawn = look or PAGE_LOOK, drawn or MemoryCache(MOST_STRAINS)
    sheet, places = part_sheet_with_places(band, player)
    if not player.role.reads_staff or all(strain.silent for strain in sheet.strains):
        return None
    sheet = with_signature(sheet.named(look.names), look.signature)
    systems: list[str] = []
    heads: list[tuple[int, str, str, str]] = []
    spans: list[tuple[list[WrittenNote], list[WrittenNote]]] = []
    """The notes and the measures of each strain."""
    cells: list[tuple[int, int, str]] = []
    for strain in sheet.strains:
        heads.append((len(systems), strain.shown_letter, plain_text(strain.name), _remark(strain)))
        if strain.silent:
            spans.append(([], []))
            continue
        drawings, strain = _systems(sheet, strain, look, drawn)
        ids = dict.fromkeys(name for system in drawings for name in ids_of(system))
        spans.append((written_notes(strain), measure_spans(strain, ids)))
        systems += drawings
        if text_span is not None:
            cells += _cells(strain, text_span)
    clock = clock or clock_of(band.timeline)
    notes, bars = [], []
    for bar, place in sorted(places.items()):
        seconds = partial(_seconds, clock, band.bars[bar], place)
        strain_notes, measures = spans[place.strain]
        notes += list(_sounding_spans(strain_notes, place, seconds))
        bars += list(_sounding_spans(measures, place, seconds))
        if text_span is not None:
            cells += _played_cells(band.fragments[player.name][bar], place, strain_notes, text_span)
    part: PartData = {
        "player": plain_text(player.name),
        "systems": systems,
        "notes": notes,
        "heads": heads,
        "sa": str(sheet.tonic),
        "measures": bars,
    }
    return part if text_span is None else {**part, "cells": list(dict.fromkeys(cells))}


def _cells(strain: Strain, text_span: TextSpan) -> Iterator[tuple[int, int, str]]:
    """Yield the span in the text of each written note of a strain that stands there, and its id."""
    for name, index in note_indices(strain):
        spot = strain.notes[index].spot
        span = text_span(spot) if spot.line else None
        if span is not None:
            yield *span, name


def _played_cells(
    fragments: Iterable[Fragment],
    place: BarPlace,
    written: Sequence[WrittenNote],
    text_span: TextSpan,
) -> Iterator[tuple[int, int, str]]:
    """Yield the spans in the text of the notes played in a bar, each with the id of the note that
    is written for it: bars that are alike are written once, from several places of the text."""
    for fragment in fragments:
        start = place.at + fragment.note.start
        at = bisect_left(written, start, key=lambda note: note[0])
        spot = fragment.note.spot
        span = text_span(spot) if spot.line and not fragment.note.tied_in else None
        if span is not None and at < len(written) and written[at].start == start:
            yield *span, written[at].name


def plain_text(text: str) -> str:
    """Return a text as it is read, without the characters that steer how it is written."""
    return as_read(shown(text))


def _remark(strain: Strain) -> str:
    """Return the text beside a strain's name."""
    rests = strain.rests if strain.silent and not strain.staff_text else 0
    silent = f"rest {show_cycles(rests)}" if rests else ""
    tempo = tempo_text(strain.tempo) if strain.tempo is not None else ""
    remarks = (
        tempo,
        strain.remark,
        strain.note,
        silent,
        strain.staff_text,
        strain.tones,
        strain.next_change,
    )
    return plain_text("; ".join(filter(None, remarks)))


def _systems(sheet: Sheet, strain: Strain, look: Look, drawn: Cache) -> tuple[list[str], Strain]:
    """Return the systems of a strain, cached or drawn now, and the strain as it is drawn.

    Its measures may be cut between systems, where their notes are spelled otherwise.
    """
    last = strain.letter == sheet.strains[-1].letter
    plain = replace(
        strain, name="", remark="", note="", tones="", staff_text="", next_change="", tempo=None
    )
    # The last strain of a part ends with another barline.
    key = key_of(_drawing_input(sheet, plain), look.paper)
    if last:
        key = hashlib.sha256(f"{key}-end".encode()).hexdigest()
    cached = drawn.get(key)
    if cached is not None:
        systems, places = _unpacked(cached)
    else:
        from cyclechart.write.engraving.systems import engrave

        engraved = engrave(sheet, strain, first=strain.first, line=look.paper.line)
        cuts = {measure.start for measure in engraved.measures} - {
            measure.start for measure in strain.measures
        }
        systems = [
            slim(drawing, f"{strain.letter}{at}") for at, drawing in enumerate(engraved.drawings)
        ]
        places = sorted(cuts)
        drawn.put(key, _packed(systems, places))
    measures = tuple(part for measure in strain.measures for part in measure.cut(places))
    return systems, replace(strain, measures=measures)


def _packed(systems: Sequence[str], places: Sequence[Fraction]) -> bytes:
    """Return the systems of a strain and the cuts in its measures as bytes for the cache."""
    data = {"systems": systems, "cuts": [str(place) for place in places]}
    return zlib.compress(json.dumps(data).encode(), 6)


def _unpacked(cached: bytes) -> tuple[list[str], list[Fraction]]:
    """Return the systems and the cuts that ``_packed`` packed."""
    data = json.loads(zlib.decompress(cached))
    return list(data["systems"]), [Fraction(place) for place in data["cuts"]]


def _drawing_input(sheet: Sheet, strain: Strain) -> Sheet:
    """Return a sheet of all that the drawing of a strain depends on, for the key of the cache."""
    return replace(
        sheet, title="", composer="", cycles=(), strains=(strain,), road=(), liberties=()
    )


def measure_spans(strain: Strain, ids: Iterable[str]) -> list[WrittenNote]:
    """Return the span of each measure of a strain, with its id among those of the drawing."""
    names = [name for name in ids if name.startswith("m-")]
    pairs = zip(strain.measures, names, strict=True)
    return [WrittenNote(measure.start, measure.end, name) for measure, name in pairs]


def _seconds(clock: Clock, bar: Bar, place: BarPlace, at: Fraction) -> float:
    """Return the seconds at which a place of the strain is played in a bar."""
    return round(float(clock.seconds(bar.start + place.played(at))), DECIMALS)


def _sounding_spans(
    spans: Sequence[WrittenNote], place: BarPlace, seconds: Callable[[Fraction], float]
) -> Iterator[tuple[float, float, str]]:
    """Yield the spans of a strain that are played in a bar: start and end in seconds, and id.

    The bars of a multiple rest share its measure.
    """
    first = bisect_right(spans, place.at, key=lambda span: span[1])
    until = bisect_left(spans, place.end, key=lambda span: span[0])
    for start, end, name in spans[first:until]:
        yield seconds(max(start, place.at)), seconds(min(end, place.end)), name
