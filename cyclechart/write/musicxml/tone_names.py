"""The names of tones under notes and on the grid: sargam, letters, degrees, sixteen names."""

from __future__ import annotations

from collections.abc import Callable

from cyclechart.arrange.sheet.model import StaffKey
from cyclechart.catalog.svara_scripts import SVARA_SCRIPTS
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import spell
from cyclechart.theory.tones import DEGREES, SARGAM, octave_dots

NAMES = ("sargam", "letters", "degrees", "solfa16")

ToneNamer = Callable[[int], tuple[str, str]]
"""Gives the letter of a pitch, and the small figure after it or ""; without its octave."""


def tone_namer(key: StaffKey, names: str) -> ToneNamer:
    """Return the namer of pitches without their octaves."""
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
    """Return the names of the twelve tones in a mode, out of the sixteen.

    Four keys have two names. Such a tone is the third form of R or D where the mode has no other R
    or D and a higher G or N; the first form of G or N where it has a lower R or D and no other G
    or N; otherwise R2, G2, D2 or N2.
    """
    tones = mode.tones
    table = ["S", "R1", "R2", "G2", "G3", "M1", "M2", "P", "D1", "D2", "N2", "N3"]
    for low, first, third in ((1, "G1", "R3"), (8, "N1", "D3")):
        lower, middle, upper, higher = ((low + step) in tones for step in range(4))
        if lower and middle and not upper and not higher:
            table[low + 1] = first
        if upper and higher and not lower and not middle:
            table[low + 2] = third
    return table


def svara_namer(key: StaffKey, names: str, script: str) -> Callable[[int], str]:
    """Return the namer of pitches as svaras in a script of India, with the dots that it has.

    A southern script has the figures of the sixteen names, whichever names are asked for.
    """
    svaras = SVARA_SCRIPTS[script]
    if svaras.twelve and names != "solfa16":
        return lambda pitch: svaras.dotted(svaras.twelve[pitch % 12], pitch // 12)
    of_letter = dict(zip("SRGMPDN", svaras.seven, strict=True))
    named = [(of_letter[name[0]], name[1:]) for name in sixteen_names(key.mode)]

    def name(pitch: int) -> str:
        svara, figure = named[pitch % 12]
        return svaras.dotted(svara, pitch // 12) + figure

    return name


def full_tone_namer(key: StaffKey, names: str, script: str = "") -> Callable[[int], str] | None:
    """Return the namer of pitches with their octave dots; None where ``names`` is "none".

    Letters have no dots: the staff shows their octave. ``script``: of svara names, "" for Latin.
    """
    if names == "none":
        return None
    if script and names in ("sargam", "solfa16"):
        return svara_namer(key, names, script)
    name_of = tone_namer(key, names)

    def name(pitch: int) -> str:
        letter, figure = name_of(pitch)
        dots = "" if names == "letters" else octave_dots(pitch)
        return letter + dots + figure

    return name
