"""The card of a cycle in the terminal: beats, signs, hand, strokes and spoken count in columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from itertools import pairwise

from cyclechart.arrange.roles.theka import SOLKATTU
from cyclechart.arrange.roles.theka_rows import beat_counts, beat_strokes, is_counted
from cyclechart.catalog.unprinted import Unprinted
from cyclechart.finding import Finding
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.write.terminal.card_text import DEFERS, WIDTH, folded

Column = tuple[str, ...]


def cycle_card(cycle: Cycle) -> Iterator[str]:
    """The lines of a cycle's card: beats, signs, hand and strokes in columns, sections in bars."""
    sections = " + ".join(map(show_exact, cycle.sections))
    head = f"{cycle.name}: {show_exact(cycle.beats)} beats ({sections})"
    yield from textwrap.wrap(head, WIDTH, subsequent_indent=" " * 4)
    if cycle.gati:
        pulses = f"gati {cycle.gati}: {cycle.gati} pulses to the beat, {show_exact(cycle.pulses)}"
        said = SOLKATTU[cycle.gati]
        yield from folded("", f"{pulses} to the cycle; a beat is spoken {said}")
    labels = ["beat", "sign", *(["hand"] if cycle.hand else []), "strokes"]
    labels += ["spoken"] if _has_spoken_row(cycle) else []
    sections_columns = _columns(cycle)
    for number, row in enumerate(_rows(sections_columns)):
        if number:
            yield ""
        for place, label in enumerate(labels):
            cells = [column[place].ljust(max(map(len, column))) for column in row]
            yield f"  {label:<8}{' '.join(cells)}".rstrip()
    yield "  × sam, 0 a wave (khali), 2 3 … the later claps"
    if cycle.hand:
        yield from folded("hand: ", _limbs_explained(cycle))
    if cycle.aka:
        yield from folded("also: ", ", ".join(cycle.aka))
    if cycle.note:
        yield from folded("note: ", cycle.note)
    if cycle.source:
        yield from folded("source: ", cycle.source)
    yield from _strokes_explained(cycle)
    yield f"  {DEFERS}"


def _strokes_explained(cycle: Cycle) -> Iterator[str]:
    """Yield where the strokes and the spoken count of a cycle's card come from."""
    if cycle.gati and cycle.strokes:
        yield "  The theka stays as it is in any gati; the drummer divides its beats."
    if cycle.sarvalaghu and not cycle.strokes:
        says = "The strokes are a sarvalaghu, by which a drummer keeps time; what a song is given"
        yield from folded("", f"{says} follows the song.")
        if cycle.sarvalaghu_source:
            yield from folded("sarvalaghu: ", cycle.sarvalaghu_source)
    elif not cycle.strokes:
        made = f"the gati, {SOLKATTU[cycle.gati]}" if cycle.gati else "the sections"
        kind = "a sarvalaghu " if cycle.southern else ""
        yield from folded("", f"The strokes are {kind}made from {made}: the definition gives none.")
    if _has_spoken_row(cycle):
        made = "" if cycle.spoken else ", made from the sections"
        yield from folded("", f"The spoken count is to be recited{made}; it is no drummer's part.")


def _has_spoken_row(cycle: Cycle) -> bool:
    """Return whether a card shows the spoken count; that of a gati stands above the beats."""
    return is_counted(cycle) and bool(cycle.spoken or not cycle.gati)


def _limbs_explained(cycle: Cycle) -> str:
    """The limbs in the order of the cycle, with the hand signs of each kind that it has."""
    ways = {
        "I": "a laghu (I) is a clap and finger counts from the little finger",
        "O": "a drutam (O) a clap and a wave",
        "U": "an anudrutam (U) a clap",
    }
    kept = [way for limb, way in ways.items() if limb in cycle.limbs]
    return f"limbs {' '.join(cycle.limbs)}: {', '.join(kept)}"


def _columns(cycle: Cycle) -> list[list[Column]]:
    """Each section's beats: beat, sign, what the hand does where it is a limb's, strokes, and the
    spoken count where it is shown."""
    sections: list[list[Column]] = []
    counts = dict(beat_counts(cycle)) if _has_spoken_row(cycle) else {}
    for offset, text in beat_strokes(cycle):
        if offset in cycle.starts:
            sections.append([])
        hand = (cycle.hand.get(offset, ""),) if cycle.hand else ()
        count = (counts[offset],) if counts else ()
        sign = cycle.signs.get(offset, "")
        sections[-1].append((show_exact(offset + 1), sign, *hand, text, *count))
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


def unprinted_card(known_of: Unprinted) -> Iterator[str]:
    """The card of a cycle without a printed form, with a definition to start from."""
    yield f"{known_of.name}: {known_of.beats} beats"
    yield from folded("", f"{known_of.says[0].upper()}{known_of.says[1:]}.")
    yield from folded("write it: ", known_of.how)
    if known_of.aka:
        yield from folded("also: ", ", ".join(known_of.aka))
    yield from folded("source: ", known_of.source)
    yield f"  {DEFERS}"


def question_card(findings: Iterable[Finding]) -> Iterator[str]:
    """The card of a name that is no cycle but asks for one: what is wrong, and what to try."""
    for finding in findings:
        yield from textwrap.wrap(finding.message, WIDTH)
        for suggestion in finding.tries:
            yield from folded("", suggestion)
