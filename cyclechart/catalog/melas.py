"""The 72 melas, made by rule: parent scales of the south, numbered by their tones.

A number less one is 36 m + 6 a + b: m picks the natural fourth or the raised one, a one of six
pairs of R and G, b one of six pairs of D and N. Sources: public pages on the melakarta scheme,
whose table of 72 agrees (see tests/catalog/test_melas.py). A mela is a scale, not a raga: it
gives the tones, but no rules of movement.
"""

from __future__ import annotations

import re

from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_path

NAMES = (
    "Kanakangi", "Ratnangi", "Ganamurti", "Vanaspati", "Manavati", "Tanarupi",
    "Senavati", "Hanumatodi", "Dhenuka", "Natakapriya", "Kokilapriya", "Rupavati",
    "Gayakapriya", "Vakulabharanam", "Mayamalavagowla", "Chakravakam", "Suryakantam", "Hatakambari",
    "Jhankaradhvani", "Natabhairavi", "Keeravani", "Kharaharapriya", "Gourimanohari", "Varunapriya",
    "Mararanjani", "Charukesi", "Sarasangi", "Harikambhoji", "Dheerasankarabharanam", "Naganandini",
    "Yagapriya", "Ragavardhini", "Gangeyabhushani", "Vagadheesvari", "Shulini", "Chalanata",
    "Salagam", "Jalarnavam", "Jhalavarali", "Navaneetam", "Pavani", "Raghupriya",
    "Gavambhodi", "Bhavapriya", "Shubhapantuvarali", "Shadvidhamargini", "Suvarnangi", "Divyamani",
    "Dhavalambari", "Namanarayani", "Kamavardhini", "Ramapriya", "Gamanasrama", "Vishvambhari",
    "Shyamalangi", "Shanmukhapriya", "Simhendramadhyamam", "Hemavati", "Dharmavati", "Neetimati",
    "Kantamani", "Rishabhapriya", "Latangi", "Vachaspati", "Mechakalyani", "Chitrambari",
    "Sucharitra", "Jyotisvarupini", "Dhatuvardhini", "Nasikabhushani", "Kosalam", "Rasikapriya",
)  # fmt: skip
"""The names of the melas by number, from 1."""

OTHER = {
    8: ("Thodi",),
    9: ("Neapolitan minor",),
    11: ("Neapolitan major",),
    16: ("Chakravaham",),
    21: ("Keervani",),
    22: ("Karaharapriya",),
    28: ("Harikambodhi",),
    29: ("Shankarabharanam",),
    34: ("Vagadhishvari",),
    45: ("Subhapanthuvarali",),
    51: ("Pantuvarali", "Kashiramakriya"),
    58: ("Hemavathi",),
    62: ("Rshabhapriya",),
    65: ("Kalyani",),
    70: ("Hungarian major",),
    71: ("Lydian #2",),
}  # fmt: skip
"""Other names, some of jazz (common practice; from memory). Thodi is not the north's Todi."""

PAIRS = ((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4))
"""Semitones of R1 G1, R1 G2, R1 G3, R2 G2, R2 G3, R3 G3; D and N lie seven higher."""
SOLFA = (("1", "1"), ("1", "2"), ("1", "3"), ("2", "2"), ("2", "3"), ("3", "3"))
VIVADI = (("1", "1"), ("3", "3"))
"""The pairs a semitone apart: R1 G1, R3 G3, D1 N1, D3 N3."""
CHAKRAS = (
    "Indu", "Netra", "Agni", "Veda", "Bana", "Rutu", "Rishi", "Vasu", "Brahma", "Disi", "Rudra",
    "Aditya",
)  # fmt: skip


def mela_tones(number: int) -> tuple[int, ...]:
    """The semitones of a mela from Sa up, the upper Sa left out."""
    half, rest = divmod(number - 1, 36)
    lower, upper = divmod(rest, 6)
    return (0, *PAIRS[lower], 5 + half, 7, *(7 + step for step in PAIRS[upper]))


def sounded(folded: str) -> str:
    """A folded name as it sounds, so that every usual spelling of it is one: sh and s, th and t,
    ee and i, ou and au, w and v, doubled letters, a final -m."""
    for written, said in _SOUNDS:
        folded = re.sub(written, said, folded)
    return folded


_SOUNDS = (
    ("ee", "i"), ("oo", "u"), ("o[uw](?=[^aeiou])", "au"), ("av(?=[^aeiou])", "au"), ("w", "v"),
    ("x", "ks"), ("ph", "f"), ("([bcdgjkst])h", r"\1"), (r"(.)\1+", r"\1"), ("(?<=.a)m$", ""),
)  # fmt: skip


def mela_number(folded: str) -> int | None:
    """The number of a mela by its name in small letters without signs, or by ``mela15``."""
    if folded.startswith("mela") and folded[4:].isascii() and folded[4:].isdigit():
        number = int(folded[4:7])
        return number if 1 <= number <= len(NAMES) and len(folded) <= 6 else None
    return _NUMBERS.get(folded)


def mela_by_sound(folded: str) -> int | None:
    """The number of a mela by its name in any usual spelling."""
    return _SOUNDED.get(sounded(folded))


_NUMBERS = {
    "".join(letter for letter in name.lower() if letter.isalnum()): number
    for number, names in enumerate(NAMES, start=1)
    for name in (names, *OTHER.get(number, ()))
}
_SOUNDED = {sounded(name): number for name, number in _NUMBERS.items()}


def mela(number: int) -> Mode:
    """A mela by its number, 1 to 72."""
    tones = (*mela_tones(number), 12)
    half, rest = divmod(number - 1, 36)
    (r, g), (d, n) = SOLFA[rest // 6], SOLFA[rest % 6]
    swaras = f"S R{r} G{g} M{half + 1} P D{d} N{n}"
    note = f"{swaras}; chakra {CHAKRAS[(number - 1) // 6]}. A scale, not a raga."
    letters = show_path(tones).split()
    vivadi = [
        f"{low}{a} {high}{b} are {' '.join(letters[at : at + 2])}"
        for low, a, high, b, at in (("R", r, "G", g, 1), ("D", d, "N", n, 5))
        if (a, b) in VIVADI
    ]
    if vivadi:
        note += f" Vivadi: in our letters {' and '.join(vivadi)}."
    return Mode(
        name=NAMES[number - 1],
        ascent=tones,
        descent=tones[::-1],
        aka=(f"mela {number}", *OTHER.get(number, ())),
        source="made by rule, as public pages on the melakarta scheme print it",
        note=note,
        family="the 72 melas",
    )
