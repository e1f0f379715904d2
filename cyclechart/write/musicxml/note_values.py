"""Note values: their names, the values that make up a written length, and their beams."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

IN_QUARTER = 256
"""The units of a written length in a quarter note: the finest value is MusicXML's 1024th."""

_NAMES = (
    "1024th", "512th", "256th", "128th", "64th", "32nd", "16th", "eighth",
    "quarter", "half", "whole", "breve", "long",
)  # fmt: skip

FLAGS = {name: max(0, 8 - power) for power, name in enumerate(_NAMES)} | {"": 0}
"""The flags, or beams, of each value."""


@dataclass(frozen=True, slots=True)
class Value:
    """A note value: MusicXML's name of it, its dots, its written length in ``IN_QUARTER``."""

    type: str
    dots: int
    size: int


@lru_cache(maxsize=256)
def value_of(size: int) -> Value:
    """Return the value of a written length, with at most one dot.

    Raises:
        ValueError: No value has this length.
    """
    power = size.bit_length() - 1
    if 0 < size == 1 << power and power < len(_NAMES):
        return Value(_NAMES[power], 0, size)
    if size > 2 and size == 3 << (power - 1) and power < len(_NAMES):
        return Value(_NAMES[power], 1, size)
    raise ValueError(f"no note value is {size}/{IN_QUARTER} of a quarter long")


@lru_cache(maxsize=4096)
def in_values(size: int) -> tuple[Value, ...]:
    """Return the values that add up to a written length, the longest first."""
    values = []
    while size:
        power = min(size.bit_length(), len(_NAMES)) - 1
        dotted = power > 0 and size >= 3 << (power - 1)
        values.append(value_of(3 << (power - 1) if dotted else 1 << power))
        size -= values[-1].size
    return tuple(values)


@lru_cache(maxsize=4096)
def beam_levels(flags: tuple[int, ...]) -> tuple[tuple[str, ...], ...]:
    """Return the beams of notes joined by one beam: for each note MusicXML's words for its beams.

    ``flags`` are the flags of two or more notes in a row, each at least 1.
    """
    beams = []
    for before, count, after in zip((0, *flags), flags, (*flags[1:], 0), strict=False):
        # A hook points to the neighbour that has more beams; of equals, to the one before.
        lone = "backward hook" if before and before >= after else "forward hook"
        words = []
        for level in range(1, count + 1):
            if before >= level:
                words.append("continue" if after >= level else "end")
            else:
                words.append("begin" if after >= level else lone)
        beams.append(tuple(words))
    return tuple(beams)
