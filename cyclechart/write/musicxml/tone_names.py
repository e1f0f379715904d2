"""What a tone is called under its note or on the grid: sargam, letters, degrees, sixteen names."""

from __future__ import annotations

from collections.abc import Callable

from cyclechart.arrange.sheet.model import Key
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import spell
from cyclechart.theory.tones import DEGREES, SARGAM, octave_dots

NAMES = ("sargam", "letters", "degrees", "solfa16")

ToneNamer = Callable[[int], tuple[str, str]]
"""A pitch's letter, and the small figure after it or ""; without its octave."""


def tone_namer(key: Key, names: str) -> ToneNamer:
    """How a pitch is called on the page, its octave apart."""
    if names == "letters":
        return lambda pitch: (str(spell(key.tonic, pitch)), "")
    if names == "degrees":
        degrees = {tone: name for name, tone in DEGREES.items()}
        return lambda pitch: (degrees[pitch % 12].replace("b", "♭").replace("#", "♯"), "")
    if names == "solfa16":
        table = sixteen_names(key.mode)
        return lambda pitch: (table[pitch % 12][0], table[pitch % 12][1:])
    return lambda pitch: (SARGAM[pitch % 12], "")


def sixteen_names(mode: Mode) -> list[str]:
    """The sixteen names for the twelve tones, as a mode has them.

    Four keys have two names. One is the third form of R or D where the mode has no other R or D
    and a higher G or N; or the first form of G or N where it has a lower R or D and no other G or
    N; all else is R2, G2, D2, N2.
    """
    held = mode.tones
    table = ["S", "R1", "R2", "G2", "G3", "M1", "M2", "P", "D1", "D2", "N2", "N3"]
    for low, first, third in ((1, "G1", "R3"), (8, "N1", "D3")):
        lower, middle, upper, higher = ((low + step) in held for step in range(4))
        if lower and middle and not upper and not higher:
            table[low + 1] = first
        if upper and higher and not lower and not middle:
            table[low + 2] = third
    return table


def full_tone_namer(key: Key, names: str) -> Callable[[int], str] | None:
    """How a pitch is called under its note, with its octave dots; None for ``names`` none.

    Letters go without dots: the staff says their octave.
    """
    if names == "none":
        return None
    called = tone_namer(key, names)

    def name(pitch: int) -> str:
        letter, figure = called(pitch)
        dots = "" if names == "letters" else octave_dots(pitch)
        return letter + dots + figure

    return name
