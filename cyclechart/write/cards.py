"""A mode or a cycle shown in the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from cyclechart.arrange.theka import theka
from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Spot
from cyclechart.text.source import Source
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, readable_tonic, spell
from cyclechart.theory.tones import SARGAM, show_path
from cyclechart.theory.tuning import JUST, ratio_cents

DEFERS = "Grammars differ by teacher and lineage; your own teacher's goes before this one."


@dataclass(frozen=True)
class Found:
    """What a name is: the cards of a mode, a cycle or both (``texts``), and every name there is.

    ``findings`` are the mistakes in a definition of that name and in the band's files, whose texts
    are in ``sources`` by file.
    """

    texts: list[str]
    known: list[str]
    findings: list[Finding]
    sources: dict[str, Source]


def look_up(name: str, tonic: Tonic, folder: Path) -> Found:
    """Look a name up in the catalogue, and in a band's shared/ in ``folder`` and beside it."""
    library = Library.beside(folder)
    nowhere = Spot("", 1, 1)
    mode, of_mode = library.mode(name, nowhere)
    cycle, of_cycle = library.cycle(name, nowhere)
    texts = []
    if mode is not None:
        texts.append("\n".join(mode_card(mode, tonic)))
    if cycle is not None:
        texts.append("\n".join(cycle_card(cycle)))
    known = [known for shelf in library.modes for known in shelf.names()]
    known += [known for shelf in library.cycles for known in shelf.names()]
    # That there is no such name is said at ``nowhere``: it is no mistake of a file.
    wrong = [finding for finding in (*of_mode, *of_cycle) if finding.spot != nowhere]
    sources = {source.file: source for source in library.sources}
    return Found(texts, known, [*library.findings, *wrong], sources)


def mode_card(mode: Mode, tonic: Tonic) -> Iterator[str]:
    """The lines of a mode's card."""
    written = readable_tonic(tonic, mode.tones)
    yield f"{mode.name} on {written}"
    yield f"  ascent    {show_path(mode.ascent)}"
    yield f"  descent   {show_path(mode.descent)}"
    leans = [
        f"{what} {SARGAM[semitone]}"
        for what, semitone in (("vadi", mode.vadi), ("samvadi", mode.samvadi))
        if semitone is not None
    ]
    if leans:
        yield f"  leans on  {', '.join(leans)}"
    if mode.rests:
        yield f"  rests on  {' '.join(SARGAM[semitone] for semitone in mode.rests)}"
    if mode.phrases:
        yield f"  phrases   {' · '.join(show_path(phrase) for phrase in mode.phrases)}"
    if mode.hour:
        yield f"  hour      {mode.hour}"
    if mode.aka:
        yield f"  also      {', '.join(mode.aka)}"
    if mode.family:
        yield f"  family    {mode.family}"
    yield ""
    yield "  tone   letter   just    cents   against equal"
    for semitone in sorted(mode.tones):
        cents = ratio_cents(JUST[semitone])
        up, down = semitone in mode.up, semitone in mode.down
        only = (
            ""
            if up and down
            else "   up only"
            if up
            else "   down only"
            if down
            else "   in phrases"
        )
        yield (
            f"  {SARGAM[semitone]:<7}{spell(written, semitone)!s:<9}{JUST[semitone]!s:<8}"
            f"{cents:>6.1f}   {cents - 100 * semitone:>+6.1f}{only}"
        )
    yield ""
    if mode.note:
        yield f"  note: {mode.note.strip()}"
    if mode.source:
        yield f"  source: {mode.source.strip()}"
    yield f"  {DEFERS}"


def cycle_card(cycle: Cycle) -> Iterator[str]:
    """The lines of a cycle's card: beats, signs and strokes in columns, sections in bars."""
    sections = " + ".join(map(show_exact, cycle.sections))
    yield f"{cycle.name}: {show_exact(cycle.beats)} beats ({sections})"
    columns = list(_columns(cycle))
    for row, label in enumerate(("beat", "sign", "strokes")):
        cells = [column[row].ljust(max(map(len, column))) for column in columns]
        yield f"  {label:<8}{' '.join(cells)}".rstrip()
    yield "  × sam, 0 a wave (khali), 2 3 … the later claps"
    if cycle.aka:
        yield f"  also: {', '.join(cycle.aka)}"
    if cycle.note:
        yield f"  note: {cycle.note.strip()}"
    if cycle.source:
        yield f"  source: {cycle.source.strip()}"
    if not cycle.strokes:
        yield "  The strokes are made from the sections: the entry gives none."
    yield f"  {DEFERS}"


def beat_strokes(cycle: Cycle) -> list[tuple[Fraction, str]]:
    """Each beat of the cycle (its offset) and what is struck in it, a held beat as ``-``.

    Beats are counted anew from each section: one that ends in a half beat has a short beat there.
    """
    pattern = theka(cycle)
    found = []
    for _, offset, length in cycle.walk():
        struck = [beat for beat in pattern if offset <= beat.at < offset + length]
        text = "".join(beat.syllable for beat in struck) or "-"
        if struck and struck[0].at > offset:
            text = "-" + text
        found.append((offset, text))
    return found


def _columns(cycle: Cycle) -> Iterator[tuple[str, str, str]]:
    """Beat, sign and strokes of each beat; a bar before each section but the first."""
    for offset, text in beat_strokes(cycle):
        if offset and offset in cycle.starts:
            yield "|", "|", "|"
        yield show_exact(offset + 1), cycle.signs.get(offset, ""), text
