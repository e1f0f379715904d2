"""What a piece is written out as: each kind of file by its name, all into one folder."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from cyclechart.piece.model import Piece
from cyclechart.theory.tones import SARGAM
from cyclechart.write.files import put_all

if TYPE_CHECKING:
    from cyclechart.arrange.sheet import Sheet
    from cyclechart.write.papers import Look

PARTS = "parts"
"""The folder of the parts, beside the other files of a piece."""


CHARTS = ("chart", "parts", "score", "grid")
"""The kinds that are set on pages."""


def write_outputs(
    piece: Piece, folder: Path, stem: str, kinds: Sequence[str], look: Look
) -> tuple[list[Path], tuple[str, ...]]:
    """Write the chosen kinds (midi, musicxml, chart, parts, score, grid) of a piece.

    Returns the files written, and in plain sentences what the MIDI file could not give its players
    and what has no font.

    Everything is made before anything is put in its place, so that a failure leaves the old files
    whole; then pages and parts that the piece no longer has are removed. Raises OSError with the
    name of what cannot be written.
    """
    made: dict[str, bytes] = {}
    told: tuple[str, ...] = ()
    if "midi" in kinds:
        from cyclechart.arrange.arranger import arrange
        from cyclechart.write.midi import midi_with_report

        made[f"{stem}.mid"], told = midi_with_report(arrange(piece))
        told = (*told, *equal_keys(piece))
    if "musicxml" in kinds or set(CHARTS) & set(kinds):
        from cyclechart.arrange.sheet import sheet_of

        lead = sheet_of(piece)
        if "musicxml" in kinds:
            from cyclechart.arrange.signatures import signed
            from cyclechart.write.musicxml import score_xml

            dressed = signed(replace(lead, names=look.names), look.signature)
            made[f"{stem}.musicxml"] = score_xml(dressed)
        if set(CHARTS) & set(kinds):
            more, without = _charts(piece, lead, stem, kinds, look)
            made |= more
            told = (*told, *without)
    put_all({folder / name: data for name, data in made.items()})
    _remove_old(folder, stem, kinds, made)
    return [folder / name for name in made], told


def _charts(
    piece: Piece, lead: Sheet, stem: str, kinds: Sequence[str], look: Look
) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """What is set on pages, and what has no font."""
    from cyclechart.arrange.band import Band
    from cyclechart.write import sheets
    from cyclechart.write.fonts import told_without_font
    from cyclechart.write.pages import texts_of

    made: dict[str, bytes] = {}
    band = Band(piece)
    if "chart" in kinds:
        made |= sheets.lead_sheet(lead, stem, look)
    if "parts" in kinds:
        made |= sheets.parts(band, look)
    if "score" in kinds:
        made |= sheets.score(band, lead, stem, look)
    if "grid" in kinds:
        made |= sheets.grid(lead, stem, look)
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


_OLD = {
    "chart": r"{stem}-([1-9][0-9]*)\.png",
    "score": r"{stem}-score-([1-9][0-9]*)\.png",
    "grid": r"{stem}-grid-([1-9][0-9]*)\.png",
}
"""Pictures of the pages of each kind, and their numbers."""


def _remove_old(folder: Path, stem: str, kinds: Sequence[str], made: Collection[str]) -> None:
    """Pictures of pages that a chart no longer has, and parts of players who have gone."""
    for kind in set(kinds) & set(_OLD):
        picture = re.compile(_OLD[kind].format(stem=re.escape(stem)))
        for path in sorted(folder.iterdir()):
            if picture.fullmatch(path.name) and path.name not in made and path.is_file():
                path.unlink()
    parts = folder / PARTS
    if "parts" in kinds and parts.is_dir():
        for path in sorted(parts.iterdir()):
            ours = path.suffix in (".pdf", ".musicxml", ".png") and path.is_file()
            if ours and f"{PARTS}/{path.name}" not in made:
                path.unlink()
