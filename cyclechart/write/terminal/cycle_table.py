"""The table of all cycles in the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.catalog.library import Library
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.write.terminal.card_text import DEFERS, folded
from cyclechart.write.terminal.instrument_card import columns

LONGEST_ALSO = 40
"""The letters of other names in a row; `show NAME` has them all."""
SUNDRY = (
    "The 35 suladi talas go by JATI-jati-TALA (khanda-jati-triputa), and any cycle by its gati too "
    "(tisra-gati-adi)."
)


def cycle_table(library: Library) -> Iterator[str]:
    """Yield every cycle: its name, beats, sections with their signs, and other names."""
    found: dict[str, Cycle] = {}
    for shelf in library.cycles:
        for name in shelf.names():
            entry = shelf.get(name)
            if entry is not None and entry[0] is not None:
                found.setdefault(name, entry[0])
    rows = [("name", "beats", "sections", "signs", "also")]
    rows += [
        (name, show_exact(cycle.beats), _sections(cycle), _signs(cycle), _also(cycle))
        for name, cycle in sorted(found.items(), key=lambda item: item[1].beats)
    ]
    yield from columns(rows)
    yield "× is sam, 0 a wave (khali), 2 3 … the later claps, . a section without a sign."
    yield from folded("", SUNDRY)
    yield f"  {DEFERS}"


def _sections(cycle: Cycle) -> str:
    if len(cycle.sections) > 8:
        return f"{len(cycle.sections)} sections"
    return " + ".join(map(show_exact, cycle.sections))


def _signs(cycle: Cycle) -> str:
    if len(cycle.sections) > 8:
        return ""
    return " ".join(cycle.signs.get(start, ".") for start in cycle.starts)


def _also(cycle: Cycle) -> str:
    shown: list[str] = []
    for name in cycle.aka:
        if len(", ".join([*shown, name])) > LONGEST_ALSO:
            return f"{', '.join(shown)} …"
        shown.append(name)
    return ", ".join(shown)
