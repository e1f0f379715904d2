"""The cycle of a meter: one of the catalogue that fills one, two or four bars, or the bar itself
written out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import accumulate
from typing import NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.theory.cycle import Cycle, groups_of
from cyclechart.theory.exact import show_exact
from cyclechart.transcription.sections import Section
from cyclechart.transcription.tune import Meter

BARS = (1, 2, 4)
"""The bars that one cycle may fill."""
BEST_KNOWN = (
    "keherwa", "dadra", "rupak", "jhaptal", "tintal", "ektal", "matta", "khanda-chapu",
    "dipchandi", "misra-chapu", "ektal-bengali", "rudra", "pancham-savari",
)  # fmt: skip
"""The cycles that are taken first where several fit."""
MOST_NAMED = 4


class CycleChoice(NamedTuple):
    """A cycle for a meter: its name ("" where it is written out), how it is written in a piece (as
    YAML), why, and the names of others that fit."""

    name: str
    beats: Fraction
    sections: tuple[Fraction, ...]
    written: str
    reason: str
    others: tuple[str, ...]


def choices(library: Library, meter: Meter, sections: Sequence[Section]) -> list[CycleChoice]:
    """Return the cycles that fit a meter and the sections in it, the likeliest first."""
    counts = _bar_counts(meter, sections)
    found: list[tuple[tuple[bool, int, int, int], str, Cycle, int]] = []
    for at, name in enumerate(_plain_names(library)):
        cycle = _of_name(library, name)
        if cycle is None:
            continue
        for bars in BARS:
            fills = cycle.beats == bars * meter.beats and all(one % bars == 0 for one in counts)
            if fills and _parts_at_bars(cycle, meter, bars):
                known = BEST_KNOWN.index(name) if name in BEST_KNOWN else len(BEST_KNOWN)
                found.append(((known == len(BEST_KNOWN), known, bars, at), name, cycle, bars))
    found.sort(key=lambda one: one[0])
    names = [name for _, name, _, _ in found]
    chosen = [
        CycleChoice(
            name,
            cycle.beats,
            cycle.sections,
            name,
            _why(meter, bars, cycle),
            _without(names, name),
        )
        for _, name, cycle, bars in found
    ]
    return [*chosen, _written_out(meter, names)]


def named(library: Library, name: str) -> CycleChoice | None:
    """Return the cycle of a name that somebody gives; None where there is none."""
    cycle = _of_name(library, name)
    if cycle is None:
        return None
    return CycleChoice(name, cycle.beats, cycle.sections, name, "given", ())


def _of_name(library: Library, name: str) -> Cycle | None:
    return library.cycle(name, Spot("--cycle", 1, 1, len(name)))[0]


def _plain_names(library: Library) -> Iterable[str]:
    """Return the names of all cycles, the band's own first."""
    return dict.fromkeys(name for shelf in library.cycles for name in shelf.names())


def _without(names: Sequence[str], name: str) -> tuple[str, ...]:
    return tuple(one for one in names if one != name)[:MOST_NAMED]


def _bar_counts(meter: Meter, sections: Sequence[Section]) -> list[int]:
    """Return the bars of each section's body, a last bar that is not full counted as one."""
    whole = meter.beats * meter.unit
    bodies = (section.length - section.pickup for section in sections)
    return [int(-(-body // whole)) for body in bodies]


def _parts_at_bars(cycle: Cycle, meter: Meter, bars: int) -> bool:
    """Return whether a cycle's sections and the bars in it go together: each bar begins one, or
    each of them begins with a bar; where a bar has groups, the sections are these."""
    starts = {Fraction(0), *accumulate(cycle.sections)}
    wanted = {meter.beats * number for number in range(bars)}
    if meter.groups:
        inner = [Fraction(0), *accumulate(meter.groups)][:-1]
        return starts == {at + one for at in wanted for one in inner} | {cycle.beats}
    return wanted <= starts or all(start % meter.beats == 0 for start in starts)


def _why(meter: Meter, bars: int, cycle: Cycle) -> str:
    many = "a bar has" if bars == 1 else f"{bars} bars have"
    return f"{meter.name}: {many} {show_exact(cycle.beats)} beats"


def _written_out(meter: Meter, names: Sequence[str]) -> CycleChoice:
    """Return the bar itself as a cycle."""
    groups = tuple(meter.groups or _groups(meter))
    listed = ", ".join(map(show_exact, groups))
    written = f"{{beats: {show_exact(meter.beats)}, sections: [{listed}], stressed: [1]}}"
    reason = f"{meter.name or 'the meter'}: the bar itself, written out"
    return CycleChoice("", meter.beats, groups, written, reason, tuple(names[:MOST_NAMED]))


def _groups(meter: Meter) -> list[Fraction]:
    """Return the groups that a bar is counted in."""
    whole, rest = divmod(meter.beats, 1)
    beats = int(whole)
    if rest == 0 and meter.unit < 1 and beats % 3 == 0:
        return [Fraction(3)] * (beats // 3)
    groups = [Fraction(one) for one in groups_of(beats)]
    if rest and groups:
        groups[-1] += rest
    return groups or [rest]
