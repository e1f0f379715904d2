"""What a piece is written out as: each kind of file by its name, all into one folder."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from cyclechart.arrange.sheet import Sheet, sheet_of
from cyclechart.piece.model import Piece
from cyclechart.theory.tones import SARGAM
from cyclechart.write.files import put_all


def write_outputs(
    piece: Piece, folder: Path, stem: str, kinds: Sequence[str], png: bool
) -> tuple[list[Path], tuple[str, ...]]:
    """Write the chosen kinds (midi, musicxml, chart) of a piece.

    Returns the files written, and in plain sentences what the MIDI file could not give its players.

    Everything is made before anything is put in its place, so that a failure leaves the old files
    whole; then pictures of pages of an older chart are removed. Raises OSError with the name of
    what cannot be written.
    """
    made: dict[str, bytes] = {}
    told: tuple[str, ...] = ()
    if "midi" in kinds:
        from cyclechart.arrange.arranger import arrange
        from cyclechart.write.midi import midi_with_report

        made[f"{stem}.mid"], told = midi_with_report(arrange(piece))
        told = (*told, *equal_keys(piece))
    sheet = sheet_of(piece) if {"musicxml", "chart"} & set(kinds) else None
    if sheet is not None and "musicxml" in kinds:
        from cyclechart.write.musicxml import score_xml

        made[f"{stem}.musicxml"] = score_xml(sheet)
    if sheet is not None and "chart" in kinds:
        made |= _chart(sheet, stem, png)
    put_all({folder / name: data for name, data in made.items()})
    if "chart" in kinds:
        _remove_pictures(folder, stem, keep=sum(name.endswith(".png") for name in made))
    return [folder / name for name in made], told


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


def _remove_pictures(folder: Path, stem: str, keep: int) -> None:
    """Pictures of pages that the chart no longer has; all of them where none were written."""
    picture = re.compile(re.escape(stem) + r"-([1-9][0-9]*)\.png")
    for path in sorted(folder.iterdir()):
        match = picture.fullmatch(path.name)
        if match and int(match[1]) > keep and path.is_file():
            path.unlink()


def _chart(sheet: Sheet, stem: str, png: bool) -> dict[str, bytes]:
    from cyclechart.write.engraving import engrave
    from cyclechart.write.pages import set_pages

    systems = {
        strain.letter: engrave(sheet, strain, first=strain.first).systems
        for strain in sheet.strains
    }
    made = {f"{stem}.pdf": set_pages(sheet, systems, "pdf")[0]}
    if png:
        for number, page in enumerate(set_pages(sheet, systems, "png"), start=1):
            made[f"{stem}-{number}.png"] = page
    return made
