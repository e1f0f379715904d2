"""The count of a cycle as a reciter says it: konnakol in the South, the theka's syllables else."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.arrange.roles.theka import SOLKATTU, ThekaStroke, strokes_of, theka
from cyclechart.catalog.instruments import Instrument
from cyclechart.theory.cycle import Cycle, groups_of

COUNTED_GROUPS = {1: "ta", 2: "ta ka", 3: "ta ki ta", 4: "ta ka di mi"}
"""The spoken syllables of so many beats (common practice)."""


def kept_time(cycle: Cycle, instrument: Instrument) -> tuple[ThekaStroke, ...]:
    """Return what an instrument keeps a cycle with: a reciter its count, a drum its strokes."""
    return spoken_count(cycle) if instrument.recites else theka(cycle)


def spoken_count(cycle: Cycle) -> tuple[ThekaStroke, ...]:
    """Return the spoken count of a cycle: its own, that of its gati or of its southern limbs; the
    strokes of its theka where it has one."""
    if cycle.spoken:
        return strokes_of(cycle.spoken)
    if cycle.strokes or not (cycle.southern or cycle.gati):
        return theka(cycle)
    return tuple(_counted_gati(cycle) if cycle.gati else _counted_sections(cycle))


def _counted_gati(cycle: Cycle) -> Iterator[ThekaStroke]:
    """Yield the pulses of every beat; a short beat has as many as fit, or a single stroke."""
    names = SOLKATTU[cycle.gati].split()
    for _, at, length in cycle.walk():
        count = length * cycle.gati
        if count.denominator != 1:
            yield ThekaStroke(at, length, names[0])
            continue
        for pulse, name in enumerate(names[: int(count)]):
            yield ThekaStroke(at + Fraction(pulse, cycle.gati), Fraction(1, cycle.gati), name)


def _counted_sections(cycle: Cycle) -> Iterator[ThekaStroke]:
    """Yield a syllable for each beat, in the groups of its section."""
    names = [
        name
        for size in cycle.sections
        for name in [
            *" ".join(COUNTED_GROUPS[group] for group in groups_of(int(size))).split(),
            *(["ta"] if size % 1 else []),
        ]
    ]
    for (_, at, length), name in zip(cycle.walk(), names, strict=True):
        yield ThekaStroke(at, length, name)
