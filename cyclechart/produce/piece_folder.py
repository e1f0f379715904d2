"""The folder of a piece: MIDI, MusicXML and charts, all written together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
    sentences: tuple[str, ...] = ()
    band = Band(piece)
    if "midi" in kinds:
        from cyclechart.write.midi.file import midi_with_report

        midi, sentences = midi_with_report(band.score)
        made["midi"] = {f"{stem}.mid": midi}
        sentences = (*sentences, *equal_keys(piece))
    if "musicxml" in kinds or set(CHARTS) & set(kinds):
        from cyclechart.arrange.sheet.lead_sheet import sheet_of

        lead = sheet_of(piece, band.road)
        if "musicxml" in kinds:
            from cyclechart.arrange.sheet.key_signatures import signed
            from cyclechart.write.musicxml.document import score_xml

            dressed = signed(replace(lead, names=look.names), look.signature)
            made["musicxml"] = {f"{stem}.musicxml": score_xml(dressed)}
        if set(CHARTS) & set(kinds):
            more, missing = _charts(band, lead, stem, kinds, look)
            made |= more
            sentences = (*sentences, *missing)
    kept = write_files(folder, made)
    return [folder / name for files in made.values() for name in files], (*sentences, *kept)


def _charts(
    band: Band, lead: Sheet, stem: str, kinds: Sequence[str], look: Look
) -> tuple[dict[str, dict[str, bytes]], tuple[str, ...]]:
    """Return the files that are set on pages, by kind, and sentences about missing fonts."""
    from cyclechart.produce import piece_charts as sheets
    from cyclechart.write.files.fonts import font_warnings
    from cyclechart.write.paper.charts import user_texts

    made: dict[str, dict[str, bytes]] = {}
    if "chart" in kinds:
        made["chart"] = sheets.lead_sheet(lead, stem, look)
    if "parts" in kinds:
        made["parts"] = sheets.parts(band, look)
    if "score" in kinds:
        made["score"] = sheets.score(band, lead, stem, look)
    if "grid" in kinds:
        made["grid"] = sheets.grid(lead, stem, look)
    return made, tuple(font_warnings(user_texts(lead)))


def equal_keys(piece: Piece) -> Iterator[str]:
    """Say of each player on equal-tempered keys how far those are from the piece's tuning."""
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
