"""Random lines and independent writers of them in other spellings.

The tables here are the notations' own, from memory where no standard is named: Bhatkhande's signs,
akarmatrik letters, the sixteen southern names, Curwen's and the class rooms' sol-fa, numbers with
dots, scientific pitch (ASA). Nothing of the catalogue's readers is used.
"""

from __future__ import annotations

import random
import unicodedata
from collections.abc import Callable

Element = int | str
"""A pitch in semitones above the middle Sa, ``-`` or ``z``."""
Cells = list["list[Element] | str"]
"""Cells of elements, bars among them."""
Writer = Callable[[int], str]

SARGAM = "SrRgGmMPdDnN"
LOWER, HIGHER = "\u0331", "\u030d"


def random_cells(tones: list[int], chance: random.Random, *, octaves: int = 1) -> Cells:
    """A line over some tones (0 to 11): steps and leaps, holds, rests, bars, parts of beats."""
    pitches = [tone + 12 * octave for octave in range(-octaves, octaves + 1) for tone in tones]
    pitches.sort()
    at = pitches.index(0)
    cells: Cells = []

    def step() -> int:
        nonlocal at
        at = max(0, min(len(pitches) - 1, at + chance.choice((-3, -2, -1, -1, 1, 1, 2, 3, 5))))
        return pitches[at]

    for number in range(chance.randint(4, 16)):
        if number % 4 == 3 and chance.random() < 0.5:
            cells.append(chance.choice(("|", "||")))
        parts = chance.choice((1, 1, 1, 2, 2, 3, 4))
        cells.append(
            [
                step() if chance.random() < 0.75 or not cells else chance.choice("--z")
                for _ in range(parts)
            ]
        )
    return cells


def written(cells: Cells, tone: Writer, *, hold: str = "-", rest: str = "z") -> str:
    """The cells as text, each tone by a writer."""
    signs = {"-": hold, "z": rest}
    return " ".join(
        cell if isinstance(cell, str)
        else "".join(signs[one] if isinstance(one, str) else tone(one) for one in cell)
        for cell in cells
    )  # fmt: skip


def _marks(octave: int, up: str = "'", down: str = ",") -> str:
    return up * octave if octave >= 0 else down * -octave


def sargam(pitch: int) -> str:
    """Our own text."""
    octave, tone = divmod(pitch, 12)
    return SARGAM[tone] + _marks(octave)


def printed(pitch: int) -> str:
    """S R G with lines for the lower and raised tones and dots for the octave, composed where
    Unicode has the letter."""
    octave, tone = divmod(pitch, 12)
    sign = LOWER if tone in (1, 3, 8, 10) else HIGHER if tone == 6 else ""
    dots = {0: "", 1: "\u0307", 2: "\u0308", -1: "\u0323", -2: "\u0324"}[octave]
    return unicodedata.normalize("NFC", SARGAM[tone].upper() + sign + dots)


def charted(pitch: int) -> str:
    """As our charts print: our letters with dots."""
    octave, tone = divmod(pitch, 12)
    dots = {0: "", 1: "\u0307", 2: "\u0308", -1: "\u0323", -2: "\u0324"}[octave]
    return unicodedata.normalize("NFC", SARGAM[tone] + dots)


def named(pitch: int) -> str:
    """Sa Re♭ Ma♯, typographic primes."""
    octave, tone = divmod(pitch, 12)
    name = ("Sa", "Re", "Re", "Ga", "Ga", "Ma", "Ma", "Pa", "Dha", "Dha", "Ni", "Ni")[tone]
    sign = "♭" if tone in (1, 3, 8, 10) else "♯" if tone == 6 else ""
    return name + sign + _marks(octave, "\u2019")


def in_words(pitch: int) -> str:
    """Re(k), Ma(t)."""
    octave, tone = divmod(pitch, 12)
    name = ("Sa", "Re", "Re", "Ga", "Ga", "Ma", "Ma", "Pa", "Dha", "Dha", "Ni", "Ni")[tone]
    sign = "(k)" if tone in (1, 3, 8, 10) else "(t)" if tone == 6 else ""
    return name + sign + _marks(octave)


def devanagari(pitch: int) -> str:
    """Bhatkhande's: anudatta under lower tones, udatta over the raised fourth; anusvara and nukta
    as octave dots."""
    octave, tone = divmod(pitch, 12)
    name = ("सा", "रे", "रे", "ग", "ग", "म", "म", "प", "ध", "ध", "नि", "नि")[tone]
    dots = {0: "", 1: "\u0902", 2: "\u0902\u0902", -1: "\u093c", -2: "\u093c\u093c"}[octave]
    sign = "\u0952" if tone in (1, 3, 8, 10) else "\u0951" if tone == 6 else ""
    if octave < 0:
        return name[0] + dots + name[1:] + sign
    return name + dots + sign


def bengali(pitch: int) -> str:
    """Akarmatrik letters, with primes for octaves."""
    octave, tone = divmod(pitch, 12)
    letters = ("স", "ঋ", "র", "জ্ঞ", "গ", "ম", "হ্ম", "প", "দ", "ধ", "ণ", "ন")
    return letters[tone] + _marks(octave)


def tamil(pitch: int) -> str:
    """The southern names with figures."""
    octave, tone = divmod(pitch, 12)
    return (
        ("ஸ", "ரி₁", "ரி₂", "க₂", "க₃", "ம₁", "ம₂", "ப", "த₁", "த₂", "நி₂", "நி₃")[tone]
        + _marks(octave)
    )  # fmt: skip


def sixteen(pitch: int) -> str:
    """R1 G3 M2 as a southern chart has them."""
    octave, tone = divmod(pitch, 12)
    return (
        ("S", "R1", "R2", "G2", "G3", "M1", "M2", "P", "D1", "D2", "N2", "N3")[tone]
        + _marks(octave)
    )  # fmt: skip


def syllables(pitch: int) -> str:
    """Movable do with the class rooms' names of lower and raised tones."""
    octave, tone = divmod(pitch, 12)
    return (
        ("do", "ra", "re", "me", "mi", "fa", "fi", "so", "le", "la", "te", "ti")[tone]
        + _marks(octave)
    )  # fmt: skip


def curwen(pitch: int) -> str:
    """Tonic sol-fa letters."""
    octave, tone = divmod(pitch, 12)
    return (
        ("d", "de", "r", "ma", "m", "f", "fe", "s", "se", "l", "ta", "t")[tone] + _marks(octave)
    )  # fmt: skip


def numbers(pitch: int) -> str:
    """Numbers with dots over and under them, as numbered notation prints them."""
    octave, tone = divmod(pitch, 12)
    name = ("1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7")[tone]
    return name + {0: "", 1: "\u0307", 2: "\u0308", -1: "\u0323", -2: "\u0324"}[octave]


def scientific(pitch: int) -> str:
    """Letters with the octave's number, for Sa on D4 (MIDI 62)."""
    octave, key = divmod(pitch + 62, 12)
    name = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")[key]
    return f"{name}{octave - 1}"
