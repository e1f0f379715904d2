"""The 35 suladi talas, made by rule: seven talas in limbs (angas), each in five jatis.

A laghu (I) lasts as many beats as the jati says, a drutam (O) two, an anudrutam (U) one. A limb
begins with a clap; the finger counts of a laghu and the wave that ends a drutam stand inside it.
Sources: public tala charts, whose 35 totals agree (see tests/catalog/test_suladi.py).

Any of the five kinds may also be a gati, the pulses of a beat: ``khanda-gati-adi``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import accumulate

from cyclechart.theory.cycle import KINDS, Cycle

LIMBS = {
    "dhruva": "IOII",
    "matya": "IOI",
    "rupaka": "OI",
    "jhampa": "IUO",
    "triputa": "IOO",
    "ata": "IIOO",
    "eka": "I",
}
JATIS = KINDS
NAMES = tuple(f"{jati}-jati-{tala}" for tala in LIMBS for jati in JATIS)

SPELLINGS = {
    "tishra": "tisra",
    "trisra": "tisra",
    "chatusra": "chaturasra",
    "chatushra": "chaturasra",
    "chaturashra": "chaturasra",
    "kanda": "khanda",
    "mishra": "misra",
    "sankeerna": "sankirna",
}
"""Other spellings of the five kinds (common practice), each also with a final -m."""

_JATI = re.compile(r"([a-z]+)[\s-]*jati[\s-]+([a-z]+)", re.IGNORECASE)
_GATI = re.compile(r"(\S*?)[\s-]*\b(?:gati|nadai)[\s-]+(\S.*)", re.IGNORECASE | re.DOTALL)


def kind_of(word: str) -> str | None:
    """One of the five kinds by any of its spellings, or None."""
    plain = word.lower().removesuffix("m")
    plain = SPELLINGS.get(plain, plain)
    return plain if plain in KINDS else None


def suladi(name: str) -> Cycle | None:
    """The cycle of a name such as ``khanda-jati-dhruva``, or None."""
    match = _JATI.fullmatch(name.strip())
    jati, tala = (kind_of(match[1]), match[2].lower()) if match else (None, "")
    if jati is None or tala not in LIMBS:
        return None
    sizes = {"I": JATIS[jati], "O": 2, "U": 1}
    sections = tuple(Fraction(sizes[limb]) for limb in LIMBS[tala])
    starts = (Fraction(1), *(1 + end for end in accumulate(sections[:-1])))
    return Cycle(
        name=f"{jati.capitalize()}-jati {tala}",
        beats=sum(sections, Fraction(0)),
        sections=sections,
        stressed=starts,
        source="made by rule from limbs and jati, as public tala charts print them",
        note=f"Limbs {' '.join(LIMBS[tala])}; the laghu lasts {JATIS[jati]} beats.",
        limbs=LIMBS[tala],
        southern=True,
    )


def split_gati(name: str) -> tuple[str, str] | None:
    """``khanda-gati-adi`` as its gati word and the cycle's name, or None without a gati."""
    match = _GATI.fullmatch(name.strip())
    return (match[1], match[2]) if match else None
