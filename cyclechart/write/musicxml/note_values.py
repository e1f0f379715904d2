"""Written note values: their names, what a length is written as, and their beams."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

IN_QUARTER = 256
"""Written lengths are counted in so many a quarter: the finest value is MusicXML's 1024th."""

_NAMES = (
    "1024th", "512th", "256th", "128th", "64th", "32nd", "16th", "eighth",
    "quarter", "half", "whole", "breve", "long",
)  # fmt: skip

FLAGS = {name: max(0, 8 - power) for power, name in enumerate(_NAMES)} | {"": 0}
"""How many flags, or beams, a value has."""


@dataclass(frozen=True, slots=True)
class Value:
    """A note value: MusicXML's name of it, its dots, its written length in ``IN_QUARTER``."""

    type: str
    dots: int
    size: int


@lru_cache(maxsize=256)
def value_of(size: int) -> Value:
    """The value of this written length, with at most one dot. Raises ValueError if none is."""
    power = size.bit_length() - 1
    if 0 < size == 1 << power and power < len(_NAMES):
        return Value(_NAMES[power], 0, size)
    if size > 2 and size == 3 << (power - 1) and power < len(_NAMES):
        return Value(_NAMES[power], 1, size)
    raise ValueError(f"no note value is {size}/{IN_QUARTER} of a quarter long")


@lru_cache(maxsize=4096)
def in_values(size: int) -> tuple[Value, ...]:
    """A written length as values that add up to it, the longest first."""
    values = []
    while size:
        power = min(size.bit_length(), len(_NAMES)) - 1
        dotted = power > 0 and size >= 3 << (power - 1)
        values.append(value_of(3 << (power - 1) if dotted else 1 << power))
        size -= values[-1].size
    return tuple(values)


@lru_cache(maxsize=4096)
def beam_levels(flags: tuple[int, ...]) -> tuple[tuple[str, ...], ...]:
    """The beams of notes joined by one: for each note, from the first beam, MusicXML's words.

    ``flags`` are the flags of two or more notes in a row, each at least 1.
    """
    beams = []
    for before, count, after in zip((0, *flags), flags, (*flags[1:], 0), strict=False):
        # A hook leans on the neighbour that has more beams; of equals, on the one before.
        lone = "backward hook" if before and before >= after else "forward hook"
        words = []
        for level in range(1, count + 1):
            if before >= level:
                words.append("continue" if after >= level else "end")
            else:
                words.append("begin" if after >= level else lone)
        beams.append(tuple(words))
    return tuple(beams)
