"""The theka: the strokes that keep the cycle, the cycle's own or made from its sections."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from cyclechart.catalog.strokes import strokes
from cyclechart.text.reading import read_line
from cyclechart.text.source import Passage, Source
from cyclechart.text.timing import time_line
from cyclechart.theory.cycle import Cycle


@dataclass(frozen=True, slots=True)
class Beat:
    """A stroke of the theka: when in the cycle, how long, which syllable."""

    at: Fraction
    length: Fraction
    syllable: str


def theka(cycle: Cycle) -> tuple[Beat, ...]:
    """The cycle's own strokes, or a plain pattern made from its sections where it has none."""
    if not cycle.strokes:
        return _made(cycle)
    source = Source.of("theka", cycle.strokes)
    passage = Passage(source, cycle.strokes, 0)
    items, _ = read_line(passage, strokes().script())
    timed, _ = time_line(items, passage)
    return tuple(Beat(s.start, s.length, str(s.value)) for s in timed.strikes)


def _made(cycle: Cycle) -> tuple[Beat, ...]:
    """Bass on sam and stressed beats, none with an open bass through an open section."""
    beats = []
    for number, at, length in cycle.walk():
        start, size = cycle.starts[number], cycle.sections[number]
        is_open = start + 1 in cycle.open
        head, middle, tail = ("ta", "tin", "ta") if is_open else ("dha", "dhin", "na")
        if start + 1 not in cycle.stressed and not is_open and start:
            head = "na"
        last = at + length == start + size
        syllable = head if at == start else tail if last and size > 2 else middle
        beats.append(Beat(at, length, syllable if length == 1 else "te"))
    return tuple(beats)
