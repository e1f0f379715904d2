"""A mode, a cycle or a drum stroke shown in the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, pairwise, product
from pathlib import Path

from cyclechart.arrange.roles.theka import SOLKATTU
from cyclechart.arrange.roles.theka_rows import beat_strokes
from cyclechart.catalog.library import Library
from cyclechart.catalog.same_or_near import kin_of
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.catalog.strokes import MAX_CUTS, DrumSound, Strokes, TimedSyllable, strokes
from cyclechart.catalog.unprinted import Unprinted
from cyclechart.finding import Finding, Spot
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.text.source import Source
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import REGISTERS, Mode
from cyclechart.theory.spelling import Tonic, readable_tonic, spell
from cyclechart.theory.tones import SARGAM, show_path
from cyclechart.theory.tuning import JUST
from cyclechart.write.terminal.theory_rows import theory_rows

DEFERS = "Grammars differ by teacher and lineage; your own teacher's comes first."
STROKES_NOTE = (
    "treble is the right-hand drum (or head), bass the left; an open stroke rings, a closed one is "
    "damped. The keys are General MIDI percussion, which has no hand drums of these kinds."
)
STROKES_DEFER = "Schools name and play strokes differently; your own teacher's hand comes first."

WIDTH = 100
"""The width of a card in columns."""
LONGEST_RUN = 60
"""The most letters of a run of syllables."""


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
    texts = []
    if mode is not None:
        texts.append(_card_with_kin(mode, tonic, entries(library)[0], theory=theory))
    if cycle is not None:
        texts.append("\n".join(cycle_card(cycle)))
    known = [known for shelf in library.modes for known in shelf.names()]
    known += [*library.cycle_names(), *strokes().syllables]
    # A name in a gati is not among them, but what comes near to it is.
    known += [one for finding in of_cycle if finding.spot == nowhere for one in finding.tries]
    # That there is no such name is said at ``nowhere``: it is no mistake of a file.
    wrong = [finding for finding in (*of_mode, *of_cycle) if finding.spot != nowhere]
    if not texts and not wrong:
        known_of = library.unprinted(name)
        card = list(_unprinted_card(known_of) if known_of else stroke_card(name))
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
    kin = [line for said in kin_of(mode, known) for line in _folded("", said)]
    tones, notes = card[:after_tones], card[after_tones:-1]
    return "\n".join([*tones, *rows, "", *notes, *kin, card[-1]])


def _unprinted_card(known_of: Unprinted) -> Iterator[str]:
    """The card of a cycle without a printed form, with a definition to start from."""
    yield f"{known_of.name}: {known_of.beats} beats"
    yield from _folded("", f"{known_of.says[0].upper()}{known_of.says[1:]}.")
    yield from _folded("write it: ", known_of.how)
    if known_of.aka:
        yield from _folded("also: ", ", ".join(known_of.aka))
    yield from _folded("source: ", known_of.source)
    yield f"  {DEFERS}"


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
        yield from _row("phrases", [show_path(phrase) for phrase in mode.phrases])
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
        yield from _folded("note: ", mode.note)
    if mode.source:
        yield from _folded("source: ", mode.source)
    others = dict.fromkeys(form.source for form in mode.also if form.source)
    if others:
        yield from _folded("other forms: ", "; ".join(others))
    if mode.tuning_source:
        yield from _folded("tuning: ", mode.tuning_source)
    yield f"  {DEFERS}"


def _row(label: str, items: Sequence[str]) -> Iterator[str]:
    """Yield items beside their label with dots between, in as many lines as they need."""
    text = " · ".join(items)
    yield from textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"  {label:<10}",
        subsequent_indent=" " * 12,
        break_long_words=False,
        break_on_hyphens=False,
    )


def cycle_card(cycle: Cycle) -> Iterator[str]:
    """The lines of a cycle's card: beats, signs, hand and strokes in columns, sections in bars."""
    sections = " + ".join(map(show_exact, cycle.sections))
    head = f"{cycle.name}: {show_exact(cycle.beats)} beats ({sections})"
    yield from textwrap.wrap(head, WIDTH, subsequent_indent=" " * 4)
    if cycle.gati:
        pulses = f"gati {cycle.gati}: {cycle.gati} pulses to the beat, {show_exact(cycle.pulses)}"
        said = SOLKATTU[cycle.gati]
        yield from _folded("", f"{pulses} to the cycle; a beat is spoken {said}")
    labels = ["beat", "sign", *(["hand"] if cycle.hand else []), "strokes"]
    sections_columns = _columns(cycle)
    for number, row in enumerate(_rows(sections_columns)):
        if number:
            yield ""
        for place, label in enumerate(labels):
            cells = [column[place].ljust(max(map(len, column))) for column in row]
            yield f"  {label:<8}{' '.join(cells)}".rstrip()
    yield "  × sam, 0 a wave (khali), 2 3 … the later claps"
    if cycle.hand:
        yield from _folded("hand: ", _limbs_explained(cycle))
    if cycle.aka:
        yield from _folded("also: ", ", ".join(cycle.aka))
    if cycle.note:
        yield from _folded("note: ", cycle.note)
    if cycle.source:
        yield from _folded("source: ", cycle.source)
    if cycle.gati and cycle.strokes:
        yield "  The theka stays as it is in any gati; the drummer divides its beats."
    if not cycle.strokes:
        made = f"the gati, {SOLKATTU[cycle.gati]}" if cycle.gati else "the sections"
        yield from _folded("", f"The strokes are made from {made}: the definition gives none.")
    elif cycle.spoken:
        yield "  The strokes are a spoken count, not a drummer's part."
    yield f"  {DEFERS}"


def _limbs_explained(cycle: Cycle) -> str:
    """The limbs in the order of the cycle, with the hand signs of each kind that it has."""
    ways = {
        "I": "a laghu (I) is a clap and finger counts from the little finger",
        "O": "a drutam (O) a clap and a wave",
        "U": "an anudrutam (U) a clap",
    }
    kept = [way for limb, way in ways.items() if limb in cycle.limbs]
    return f"limbs {' '.join(cycle.limbs)}: {', '.join(kept)}"


def _folded(label: str, text: str) -> list[str]:
    """A text under its label, broken where it would run past the width."""
    return textwrap.wrap(
        " ".join(text.split()),
        WIDTH,
        initial_indent=f"  {label}",
        subsequent_indent=" " * 4,
        break_long_words=False,
        break_on_hyphens=False,
    )


Column = tuple[str, ...]


def _columns(cycle: Cycle) -> list[list[Column]]:
    """Each section's beats: beat, sign, what the hand does where it is a limb's, strokes."""
    sections: list[list[Column]] = []
    for offset, text in beat_strokes(cycle):
        if offset in cycle.starts:
            sections.append([])
        hand = (cycle.hand.get(offset, ""),) if cycle.hand else ()
        sections[-1].append((show_exact(offset + 1), cycle.signs.get(offset, ""), *hand, text))
    return sections


def _rows(sections: list[list[Column]]) -> Iterator[list[Column]]:
    """The columns in rows that fit the width, broken between sections where one fits at all.

    A bar stands between two sections, at the end of a row too where another section follows.
    """
    bar: Column = ("|",) * len(sections[0][0])
    room = WIDTH - len("  strokes ") - len(" |")
    row: list[Column] = []
    for number, section in enumerate(sections):
        for part in _parts(section, room):
            if row and _width(row) + 1 + _width(part) > room:
                yield row
                row = []
            row += part
        if number < len(sections) - 1:
            row.append(bar)
    yield row


def _parts(section: list[Column], room: int) -> Iterator[list[Column]]:
    """A section whole, or in as few about even parts as fit."""
    count = next(
        count
        for count in range(1, len(section) + 1)
        if count == len(section) or all(_width(p) <= room for p in _even(section, count))
    )
    yield from _even(section, count)


def _even(section: list[Column], count: int) -> list[list[Column]]:
    cuts = [-(-len(section) * part // count) for part in range(count + 1)]
    return [section[start:end] for start, end in pairwise(cuts)]


def _width(columns: list[Column]) -> int:
    return sum(max(map(len, column)) for column in columns) + len(columns) - 1


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
            yield from _folded(f"{names}: ", says)
        for syllable, other in table.after.items():
            if syllable in spoken and syllable in group.syllables:
                yield from _folded(f"{syllable} ", f"{other.says} ({other.source})")
    yield from _folded("", STROKES_NOTE)
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
        yield from _folded("", f"In a line, separate the syllables with a dot: {dotted}.")
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
