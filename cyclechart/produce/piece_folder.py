"""What a piece is written out as: each kind of file by its name, all into one folder."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from cyclechart.piece.model import Piece
from cyclechart.theory.tones import SARGAM
from cyclechart.write.files.manifest import write_files

if TYPE_CHECKING:
    from cyclechart.arrange.parts.band import Band
    from cyclechart.arrange.sheet.model import Sheet
    from cyclechart.write.files.paper_sizes import Look


CHARTS = ("chart", "parts", "score", "grid")
"""The kinds that are set on pages."""


@contextmanager
def _without_garbage_collection() -> Iterator[None]:
    """Hold the search for circles of garbage: what a piece is written through has hardly any, and
    looking for them again and again takes a tenth of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


@_without_garbage_collection()
def write_outputs(
    piece: Piece, folder: Path, stem: str, kinds: Sequence[str], look: Look
) -> tuple[list[Path], tuple[str, ...]]:
    """Write the chosen kinds (midi, musicxml, chart, parts, score, grid) of a piece.

    Returns the files written, and in plain sentences what the MIDI file could not give its players,
    what has no font, and whose files were kept.

    Everything is made before anything is put in its place, so that a failure leaves the old files
    whole; then pages and parts that an earlier run wrote and the piece no longer has are removed.
    Raises OSError with the name of what cannot be written.
    """
    from cyclechart.arrange.parts.band import Band

    made: dict[str, dict[str, bytes]] = {}
    told: tuple[str, ...] = ()
    band = Band(piece)
    if "midi" in kinds:
        from cyclechart.write.midi.file import midi_with_report

        midi, told = midi_with_report(band.score)
        made["midi"] = {f"{stem}.mid": midi}
        told = (*told, *equal_keys(piece))
    if "musicxml" in kinds or set(CHARTS) & set(kinds):
        from cyclechart.arrange.sheet.lead_sheet import sheet_of

        lead = sheet_of(piece, band.road)
        if "musicxml" in kinds:
            from cyclechart.arrange.sheet.key_signatures import signed
            from cyclechart.write.musicxml.document import score_xml

            dressed = signed(replace(lead, names=look.names), look.signature)
            made["musicxml"] = {f"{stem}.musicxml": score_xml(dressed)}
        if set(CHARTS) & set(kinds):
            more, without = _charts(band, lead, stem, kinds, look)
            made |= more
            told = (*told, *without)
    kept = write_files(folder, made)
    return [folder / name for files in made.values() for name in files], (*told, *kept)


def _charts(
    band: Band, lead: Sheet, stem: str, kinds: Sequence[str], look: Look
) -> tuple[dict[str, dict[str, bytes]], tuple[str, ...]]:
    """What is set on pages, and what has no font."""
    from cyclechart.produce import piece_charts as sheets
    from cyclechart.write.files.fonts import told_without_font
    from cyclechart.write.paper.charts import texts_of

    made: dict[str, dict[str, bytes]] = {}
    if "chart" in kinds:
        made["chart"] = sheets.lead_sheet(lead, stem, look)
    if "parts" in kinds:
        made["parts"] = sheets.parts(band, look)
    if "score" in kinds:
        made["score"] = sheets.score(band, lead, stem, look)
    if "grid" in kinds:
        made["grid"] = sheets.grid(lead, stem, look)
    return made, tuple(told_without_font(texts_of(lead)))


def equal_keys(piece: Piece) -> Iterator[str]:
    """Who plays melodies on equal-tempered keys, and how far those are from the piece's tuning."""
    if piece.tuning.name == "equal":
        return
    tones = sorted(tone for mode in piece.modes for tone in mode.up | mode.down)
    off = {SARGAM[tone]: piece.tuning.bend(tone) for tone in tones}
    heard = [f"{letter} {-cents:+.0f}" for letter, cents in off.items() if round(cents)]
    for player in piece.players:
        if not player.instrument.bends and heard:
            yield (
                f"{player.name} is in equal temperament: against the drone its "
                f"{', '.join(heard)} cents"
            )
