"""A mode, a cycle or a drum stroke shown in the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, product
from pathlib import Path

from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.library import Library
from cyclechart.catalog.roles import ROLES
from cyclechart.catalog.same_or_near import kin_of
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.catalog.strokes import MAX_CUTS, DrumSound, Strokes, TimedSyllable, strokes
from cyclechart.catalog.time_signatures import time_signature
from cyclechart.finding import Finding, Spot
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.text.source import Source
from cyclechart.theory.mode import REGISTERS, Mode
from cyclechart.theory.spelling import Tonic, readable_tonic, spell
from cyclechart.theory.tones import SARGAM, show_path
from cyclechart.theory.tuning import JUST
from cyclechart.write.terminal.card_text import DEFERS, WIDTH, folded, row
from cyclechart.write.terminal.cycle_card import cycle_card, question_card, unprinted_card
from cyclechart.write.terminal.instrument_card import instrument_card, role_card
from cyclechart.write.terminal.theory_rows import theory_rows

STROKES_NOTE = (
    "treble is the right-hand drum (or head), bass the left; an open stroke rings, a closed one is "
    "damped. The keys are General MIDI percussion, which has no hand drums of these kinds."
)
STROKES_DEFER = "Schools name and play strokes differently; your own teacher's hand comes first."

LONGEST_RUN = 60
"""The most letters of a run of syllables."""


NO_BREAK = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True)
class Found:
    """The answer to a name: its cards (``texts``), and every name there is.

    A mode or a cycle of the name or both, else a cycle that is known without a form, else drum
    syllables.

    ``findings`` are the mistakes in a definition of that name and in the band's files, whose texts
    are in ``sources`` by file.
    """

    texts: list[str]
    known: list[str]
    findings: list[Finding]
    sources: dict[str, Source]
    mode: Mode | None = None


def look_up(name: str, tonic: Tonic, folder: Path, *, theory: bool = False) -> Found:
    """Look a name up in the catalogue, and in a band's shared/ in ``folder`` and beside it.

    With ``theory`` a mode's card has the whole table of its chords and murchhanas.
    """
    library = Library.beside(folder)
    nowhere = Spot("", 1, 1)
    mode, of_mode = library.mode(name, nowhere)
    cycle, of_cycle = library.cycle(name, nowhere)
    on = instrument(name)
    role = ROLES.get(name.strip().lower())
    texts = []
    if mode is not None:
        texts.append(_card_with_kin(mode, tonic, entries(library)[0], theory=theory))
    if cycle is not None:
        texts.append("\n".join(cycle_card(cycle)))
    if on is not None:
        texts.append("\n".join(instrument_card(on)))
    if role is not None:
        texts.append("\n".join(role_card(role)))
    kinds = {"a mode": mode, "a cycle": cycle, "an instrument": on, "a role": role}
    several = [kind for kind, found in kinds.items() if found is not None]
    if len(several) > 1:
        texts.insert(0, f"'{name}' is {' and '.join(several)}.")
    known = [known for shelf in library.modes for known in shelf.names()]
    known += [*library.cycle_spellings(), *strokes().syllables, *instrument_names(), *ROLES]
    # A name in a gati is not among them, but what comes near to it is.
    known += [one for finding in of_cycle if finding.spot == nowhere for one in finding.tries]
    # That there is no such name is said at ``nowhere``: it is no mistake of a file.
    wrong = [finding for finding in (*of_mode, *of_cycle) if finding.spot != nowhere]
    if not texts and not wrong:
        known_of = library.unprinted(name)
        card = list(unprinted_card(known_of) if known_of else stroke_card(name))
        if time_signature(name) is not None:
            card = list(question_card(of_cycle))
        texts += ["\n".join(card)] if card else []
    sources = {source.file: source for source in library.sources}
    return Found(texts, known, [*library.findings, *wrong], sources, mode)


def of_piece(piece: Piece, library: Library, tonic: Tonic | None, *, theory: bool = False) -> Found:
    """The modes and the cycles of a piece, its Sa the piece's own where no other is given."""
    sa = {step.state.mode: step.state.tonic for step in reversed(piece.steps)}
    sa[piece.mode] = piece.tonic
    known, _ = entries(library)
    texts = [
        _card_with_kin(mode, tonic or sa.get(mode, piece.tonic), known, theory=theory)
        for mode in dict.fromkeys((piece.mode, *piece.modes))
        if _is_read(mode)
    ]
    texts += ["\n".join(cycle_card(cycle)) for cycle in piece.cycles if cycle is not ANY_CYCLE]
    return Found(texts, [], [], {}, piece.mode if _is_read(piece.mode) else None)


def _is_read(mode: Mode) -> bool:
    """Return whether a mode could be read: all twelve tones stand for one that could not."""
    return not (mode.name == "unknown" and len(mode.up) == len(JUST))


def _card_with_kin(mode: Mode, tonic: Tonic, known: Sequence[ModeEntry], *, theory: bool) -> str:
    """A mode's card with what lies in its tones, and sentences on the same and similar modes."""
    card = list(mode_card(mode, tonic))
    after_tones = len(card) - card[::-1].index("")
    rows = theory_rows(mode, tonic, known, whole=theory)
    kin = [line for said in kin_of(mode, known) for line in folded("", said)]
    tones, notes = card[:after_tones], card[after_tones:-1]
    return "\n".join([*tones, *rows, "", *notes, *kin, card[-1]])


def mode_card(mode: Mode, tonic: Tonic) -> Iterator[str]:
    """The lines of a mode's card."""
    written = readable_tonic(tonic, mode.tones)
    yield f"{mode.name} on {written}"
    for which, paths in (("ascent", mode.ascents), ("descent", mode.descents)):
        for number, path in enumerate(paths):
            yield f"  {'' if number else which:<10}{'or ' if number else ''}{show_path(path)}"
    leans = [
        f"{what} {SARGAM[semitone]}"
        for what, semitone in (("vadi", mode.vadi), ("samvadi", mode.samvadi))
        if semitone is not None
    ]
    if leans:
        yield f"  leans on  {', '.join(leans)}"
    if mode.rests:
        yield f"  rests on  {' '.join(SARGAM[semitone] for semitone in mode.rests)}"
    if mode.weak:
        yield f"  weak      {' '.join(SARGAM[semitone] for semitone in mode.weak)}"
    if mode.andolan:
        shaken = ", ".join(f"{SARGAM[semitone]} ({width})" for semitone, width in mode.andolan)
        yield f"  shaken    {shaken}: a slow andolan of their own"
    if mode.register:
        yield f"  lives in  {REGISTERS[mode.register]} ({mode.register})"
    yield f"  drone     S {SARGAM[mode.drone_second]}"
    if mode.phrases:
        yield from _items_row("phrases", [show_path(phrase) for phrase in mode.phrases])
    if mode.hour:
        yield f"  hour      {mode.hour}"
    if mode.aka:
        yield f"  also      {', '.join(mode.aka)}"
    if mode.family:
        yield f"  family    {mode.family}"
    yield ""
    yield "  tone   letter   just    cents   against equal"
    for semitone in sorted(mode.tones):
        ratio, cents = mode.sized(semitone)
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
            f"  {SARGAM[semitone]:<7}{spell(written, semitone)!s:<9}{ratio:<8}"
            f"{cents:>6.1f}   {cents - 100 * semitone:>+6.1f}{only}"
        )
    yield ""
    if mode.note:
        yield from folded("note: ", mode.note)
    if mode.source:
        yield from folded("source: ", mode.source)
    others = dict.fromkeys(form.source for form in mode.also if form.source)
    if others:
        yield from folded("other forms: ", "; ".join(others))
    if mode.tuning_source:
        yield from folded("tuning: ", mode.tuning_source)
    yield f"  {DEFERS}"


def _items_row(label: str, items: Sequence[str]) -> Iterator[str]:
    """Yield items beside their label with dots between; what belongs together is not broken."""
    text = " · ".join(item.replace(" ", NO_BREAK) for item in items)
    yield from (line.replace(NO_BREAK, " ") for line in row(label, text))


def stroke_card(text: str) -> Iterator[str]:
    """The lines of a card of drum syllables as a line has them: cells separated by spaces, each of
    syllables run together or separated by dots. None where any of them is no such run.

    Each cell has its line, and a table of their strokes follows. A run that can be cut in two ways
    has both, one under the other.
    """
    table = strokes()
    if not text.isascii() or len(text) > LONGEST_RUN:
        return
    cells = {cell: _cuts(cell, table) for cell in text.split()}
    if not cells or not all(cells.values()):
        return
    for cell, cuts in cells.items():
        yield from _cell_lines(cell, cuts)
    said = _sounds_said([cells[cell] for cell in text.split()], table)
    yield ""
    yield "  stroke  hand    ring    sound                          stand-in key"
    for syllable, sounds in said:
        for number, sound in enumerate(sounds):
            yield (
                f"  {syllable if not number else '':<8}{sound.hand:<8}{sound.ring:<8}"
                f"{f'{sound.name}: {sound.says}':<31}{sound.key} {sound.like}"
            )
    yield ""
    spoken = dict.fromkeys(syllable for syllable, _ in said)
    for group in table.groups:
        names = ", ".join(syllable for syllable in spoken if syllable in group.syllables)
        if names:
            says = f"{group.says}. Said on: {', '.join(group.drums)} ({group.source})"
            yield from folded(f"{names}: ", says)
        for syllable, other in table.after.items():
            if syllable in spoken and syllable in group.syllables:
                yield from folded(f"{syllable} ", f"{other.says} ({other.source})")
    yield from folded("", STROKES_NOTE)
    yield f"  {STROKES_DEFER}"


Cut = tuple[str, ...]


def _cuts(cell: str, table: Strokes) -> list[Cut]:
    """Every way, up to some, of cutting a cell; none where a part of it is no syllables."""
    cuts: list[Cut] = [()]
    for piece in cell.lower().split("."):
        cuts = [(*before, *cut) for before in cuts for cut in table.cut(piece) if cut][:MAX_CUTS]
    return cuts


def _cell_lines(cell: str, cuts: list[Cut]) -> Iterator[str]:
    """A cell and its strokes, or the ways to cut it."""
    if len(cuts) > 1:
        ways = " or ".join(" ".join(cut) for cut in cuts)
        yield from textwrap.wrap(f"{cell}: {len(cuts)} ways to split it: {ways}", WIDTH)
        dotted = " or ".join(".".join(cut) for cut in cuts)
        yield from folded("", f"In a line, separate the syllables with a dot: {dotted}.")
    elif len(cuts[0]) > 1:
        count = len(cuts[0])
        strokes_said = " ".join(cuts[0])
        yield f"{cell}: {count} strokes in one cell, {strokes_said}, each 1/{count} of the beat"
    else:
        yield f"{cell}: one stroke"


def _sounds_said(cells: list[list[Cut]], table: Strokes) -> list[tuple[str, tuple[DrumSound, ...]]]:
    """Each syllable with its sounds, once: cell after cell, in every way of cutting them."""
    found: dict[tuple[str, tuple[DrumSound, ...]], None] = {}
    for cuts in islice(product(*cells), MAX_CUTS):
        said = [
            TimedSyllable(
                beat + Fraction(place, len(cut)),
                beat + Fraction(place + 1, len(cut)),
                syllable,
                quick=len(cut) > 1,
            )
            for beat, cut in enumerate(cuts)
            for place, syllable in enumerate(cut)
        ]
        sounding = table.sounding(said)
        found |= dict.fromkeys(zip((one.syllable for one in said), sounding, strict=True))
    return list(found)
