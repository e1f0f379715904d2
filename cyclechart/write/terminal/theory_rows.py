"""What lies in a mode's tones: chords, the scale of jazz, and what it becomes from other tones."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from cyclechart.catalog.murchhanas import Murchhana, murchhanas_of
from cyclechart.catalog.search import ModeEntry, tones_of
from cyclechart.theory.chords import Chord, sevenths, triads
from cyclechart.theory.mode import Mode
from cyclechart.theory.scales import scale_of, scales_around
from cyclechart.theory.spelling import Tonic, readable_tonic, spell
from cyclechart.theory.tones import SARGAM
from cyclechart.write.terminal.card_text import row

MOST_AROUND = 4
"""The most larger or smaller scales that are named."""
MOST_MODES = 2
"""The most modes that are named for a tone on a plain card."""
MOST_IN_TABLE = 6
PULLS = "*"
COLUMNS = (6, 9, 14, 22, 47)
"""The widths of the table's columns."""


def theory_rows(
    mode: Mode, tonic: Tonic, known: Sequence[ModeEntry], *, whole: bool
) -> Iterator[str]:
    """Yield the whole table of what lies in a mode's tones, or its short rows."""
    return (_whole_table if whole else _short_rows)(mode, tonic, known)


def _short_rows(mode: Mode, tonic: Tonic, known: Sequence[ModeEntry]) -> Iterator[str]:
    """Yield the short rows of a card: chords, scale, and the murchhanas that have a name."""
    written = readable_tonic(tonic, mode.tones)
    tones = tones_of(mode)
    held = list(triads(tones)), list(sevenths(tones))
    for label, chords in zip(("triads", "sevenths"), held, strict=True):
        names = [f"{SARGAM[chord.root]} {_marked(chord, mode, written)}" for chord in chords] or [
            "none lie in it"
        ]
        yield from row(label, " · ".join(names))
    if any(chord.pulls(mode.drone_second) for chords in held for chord in chords):
        yield from row("", _pulls_said(mode))
    scale = _scale_row(tones)
    if scale:
        yield from row("jazz", scale)
    become = [_became(one, written) for one in murchhanas_of(mode, known) if one.is_known]
    if become:
        yield from row("becomes", " · ".join(become))


def _whole_table(mode: Mode, tonic: Tonic, known: Sequence[ModeEntry]) -> Iterator[str]:
    """Yield the whole table: of each tone its chords, and what all become with it as Sa."""
    written = readable_tonic(tonic, mode.tones)
    tones = tones_of(mode)
    by_tone = {one.tone: one for one in murchhanas_of(mode, known)}
    rows: list[tuple[str, ...]] = [("tone", "letter", "triads", "sevenths", "with it as Sa")]
    for tone in sorted(tones):
        held = [
            ", ".join(_marked(one, mode, written) for one in chords if one.root == tone) or "-"
            for chords in (triads(tones), sevenths(tones))
        ]
        became = _all_names(by_tone[tone]) if tone in by_tone else mode.name
        rows.append((SARGAM[tone], str(spell(written, tone)), *held, became))
    for cells in rows:
        yield from _table_row(cells)
    if any(chord.pulls(mode.drone_second) for chord in (*triads(tones), *sevenths(tones))):
        yield f"  {_pulls_said(mode)}"


def _table_row(cells: Sequence[str]) -> Iterator[str]:
    """Yield a row of the table, its cells broken within their columns."""
    broken = [
        textwrap.wrap(cell, width - 3, break_long_words=False, break_on_hyphens=False)
        for cell, width in zip(cells, COLUMNS, strict=True)
    ]
    for parts in zip_longest(*broken, fillvalue=""):
        said = (part.ljust(width) for part, width in zip(parts, COLUMNS, strict=True))
        yield f"  {''.join(said)}".rstrip()


def _pulls_said(mode: Mode) -> str:
    drone = f"S {SARGAM[mode.drone_second]}"
    return f"{PULLS} pulls the ear away from Sa, even over a drone on {drone}"


def _marked(chord: Chord, mode: Mode, written: Tonic) -> str:
    """Return a chord's symbol, marked where it pulls Sa away."""
    pulls = PULLS if chord.pulls(mode.drone_second) else ""
    return f"{spell(written, chord.root)}{chord.sign}{pulls}"


def _scale_row(tones: frozenset[int]) -> str:
    """Return the name of the scale, and the scales that hold it or lie in it."""
    name = scale_of(tones)
    around = scales_around(tones)[:MOST_AROUND]
    how = "lies in" if len(tones) < 7 else "holds"
    said = f"{how} {', '.join(around)}" if around else ""
    return "; ".join(part for part in (name, said) if part)


def _became(one: Murchhana, written: Tonic) -> str:
    """Return a murchhana in short: ``from G (E) Malkauns``."""
    names = one.modes[:MOST_MODES] or (one.scale,)
    return f"from {SARGAM[one.tone]} ({spell(written, one.tone)}) {', '.join(names)}"


def _all_names(one: Murchhana) -> str:
    if not one.is_known:
        return "no mode of the catalogue"
    more = len(one.modes) - MOST_IN_TABLE
    names = ", ".join(one.modes[:MOST_IN_TABLE]) + (f" and {more} more" if more > 0 else "")
    return f"{names} ({one.scale})" if names and one.scale else names or one.scale
