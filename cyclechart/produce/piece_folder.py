"""The folder of a piece: each kind of file by its name, all written together.

A kind is a function from a ``PieceMaterial`` to a ``FileSet``. A new kind is one more function,
listed in ``FILE_KINDS``; ``arrange --only`` then has it.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from cyclechart.catalog.svara_scripts import letters_of
from cyclechart.piece.model import Piece
from cyclechart.theory.tones import SARGAM
from cyclechart.write.files.manifest import write_files

if TYPE_CHECKING:
    from cyclechart.arrange.parts.band import Band
    from cyclechart.arrange.sheet.model import Sheet
    from cyclechart.write.files.paper_sizes import Look


@dataclass(frozen=True)
class FileSet:
    """The files of one kind by name, sentences about what could not be done, and details of
    these."""

    files: dict[str, bytes]
    sentences: tuple[str, ...] = ()
    details: tuple[str, ...] = ()


class WrittenFolder(NamedTuple):
    """The files that were written, sentences about what could not be done, and their details."""

    files: tuple[Path, ...]
    sentences: tuple[str, ...]
    details: tuple[str, ...]


@dataclass(frozen=True)
class PieceMaterial:
    """The material for the files of a piece; ``band`` and ``lead`` are worked out once."""

    piece: Piece
    stem: str
    """The name of the piece's files, without an ending."""
    look: Look
    plain: bool = False
    """Without phrasing in what sounds; pages do not change by it."""

    @cached_property
    def band(self) -> Band:
        """The piece arranged, with what each player reads."""
        from cyclechart.arrange.parts.band import Band

        return Band(self.piece, self.plain)

    @cached_property
    def lead(self) -> Sheet:
        """The lead sheet."""
        from cyclechart.arrange.sheet.lead_sheet import sheet_of

        return sheet_of(self.piece, self.band.road)

    @cached_property
    def font_sentences(self) -> tuple[str, ...]:
        """Sentences about letters of the lead sheet's texts, or of the names in a player's script,
        that no font has."""
        from cyclechart.write.files.fonts import font_warnings
        from cyclechart.write.paper.charts import user_texts

        scripts = [letters_of(player.reads.script) for player in self.piece.players]
        return tuple(font_warnings([*user_texts(self.lead), *filter(None, scripts)]))

    def with_fonts(self, files: dict[str, bytes]) -> FileSet:
        """Files that are set on pages, with sentences about letters that no font has."""
        return FileSet(files, self.font_sentences)


def midi(material: PieceMaterial) -> FileSet:
    """The MIDI file, with what its channels had to give up and who plays on equal keys."""
    from cyclechart.write.midi.file import midi_with_report

    data, sentences = midi_with_report(material.band.score)
    equal = list(equal_keys(material.piece))
    return FileSet(
        {f"{material.stem}.mid": data},
        (*sentences, *(sentence for sentence, _ in equal)),
        tuple(detail for _, detail in equal),
    )


def musicxml(material: PieceMaterial) -> FileSet:
    """The lead sheet as MusicXML."""
    from cyclechart.produce.piece_charts import with_look
    from cyclechart.write.musicxml.document import score_xml

    sheet = with_look(material.lead, material.look)
    return FileSet({f"{material.stem}.musicxml": score_xml(sheet)})


def chart(material: PieceMaterial) -> FileSet:
    """The lead sheet as PDF."""
    from cyclechart.produce.piece_charts import lead_sheet

    return material.with_fonts(lead_sheet(material.lead, material.stem, material.look))


def parts(material: PieceMaterial) -> FileSet:
    """A part for every player."""
    from cyclechart.produce.piece_charts import parts as part_files

    found = material.with_fonts(part_files(material.band, material.look))
    pages = _page_sentences(found.files, material.look.pages)
    return FileSet(found.files, (*found.sentences, *pages))


def _page_sentences(files: Mapping[str, bytes], wanted: int) -> Iterator[str]:
    """Yield a sentence for each part that has another number of pages than was asked for."""
    if not wanted:
        return
    from cyclechart.write.paper.pdf_binding import page_count

    for name, data in files.items():
        count = page_count(data) if name.endswith(".pdf") else wanted
        if count > wanted:
            yield (
                f"{name} has {count} pages, not {wanted}: smaller music would be hard to read;"
                " try --heading short"
            )
        elif count < wanted:
            pages = f"{count} page{'s' if count > 1 else ''}"
            yield f"{name} has {pages}, not {wanted}: it has no more systems"


def score(material: PieceMaterial) -> FileSet:
    """All parts together."""
    from cyclechart.produce.piece_charts import score as score_files

    return material.with_fonts(
        score_files(material.band, material.lead, material.stem, material.look)
    )


def grid(material: PieceMaterial) -> FileSet:
    """The page without a staff."""
    from cyclechart.produce.piece_charts import grid as grid_files

    return material.with_fonts(grid_files(material.lead, material.stem, material.look))


FILE_KINDS: dict[str, Callable[[PieceMaterial], FileSet]] = {
    "midi": midi, "musicxml": musicxml, "chart": chart, "parts": parts, "score": score,
    "grid": grid,
}  # fmt: skip
"""The kinds of files by name, in the order in which they are written."""


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
    piece: Piece,
    folder: Path,
    stem: str,
    kinds: Collection[str],
    look: Look,
    *,
    plain: bool = False,
) -> WrittenFolder:
    """Write the chosen ``FILE_KINDS`` of files of a piece. ``plain``: without phrasing.

    The sentences say what the MIDI file could not give its players, which letters no font has, and
    whose files were kept.

    Everything is made before anything is put in its place, so that a failure leaves the old files
    whole; then pages and parts that an earlier run wrote and the piece no longer has are removed.
    Raises OSError with the name of what cannot be written.
    """
    material = PieceMaterial(piece, stem, look, plain)
    made = {kind: make(material) for kind, make in FILE_KINDS.items() if kind in kinds}
    kept = write_files(folder, {kind: files.files for kind, files in made.items()})
    sentences = [sentence for files in made.values() for sentence in files.sentences]
    details = [detail for files in made.values() for detail in files.details]
    written = tuple(folder / name for files in made.values() for name in files.files)
    return WrittenFolder(written, (*dict.fromkeys(sentences), *kept), tuple(details))


def equal_keys(piece: Piece) -> Iterator[tuple[str, str]]:
    """Yield of each player on equal-tempered keys a sentence on how far those are from the piece's
    tuning at most, and one that has each tone."""
    if piece.tuning.name == "equal":
        return
    tones = sorted(tone for mode in piece.modes for tone in mode.up | mode.down)
    off = {SARGAM[tone]: round(piece.tuning.bend(tone)) for tone in tones}
    heard = [f"{letter} {-cents:+}" for letter, cents in off.items() if cents]
    for player in piece.players:
        if not player.instrument.bends and heard:
            equal = f"{player.name} is in equal temperament"
            most = max(map(abs, off.values()))
            yield (
                f"{equal}, up to {most} cents from the drone's tuning",
                f"{equal}: against the drone its {', '.join(heard)} cents",
            )
