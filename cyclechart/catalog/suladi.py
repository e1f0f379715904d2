"""The 35 suladi talas, made by rule: seven talas in limbs (angas), each in five jatis.

A laghu (I) lasts as many beats as the jati says, a drutam (O) two, an anudrutam (U) one. A limb
begins with a clap; the finger counts of a laghu and the wave that ends a drutam stand inside it.
Sources: public tala charts, whose 35 totals agree (see tests/catalog/test_suladi.py).
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

from cyclechart.theory.cycle import Cycle

LIMBS = {
    "dhruva": "IOII",
    "matya": "IOI",
    "rupaka": "OI",
    "jhampa": "IUO",
    "triputa": "IOO",
    "ata": "IIOO",
    "eka": "I",
}
JATIS = {"tisra": 3, "chaturasra": 4, "khanda": 5, "misra": 7, "sankirna": 9}
NAMES = tuple(f"{jati}-jati-{tala}" for tala in LIMBS for jati in JATIS)


def suladi(name: str) -> Cycle | None:
    """The cycle of a name such as ``khanda-jati-dhruva``, or None."""
    jati, _, tala = name.partition("-jati-")
    if jati not in JATIS or tala not in LIMBS:
        return None
    sizes = {"I": JATIS[jati], "O": 2, "U": 1}
    sections = tuple(Fraction(sizes[limb]) for limb in LIMBS[tala])
    starts = (Fraction(1), *(1 + end for end in accumulate(sections[:-1])))
    limbs = " ".join(LIMBS[tala])
    return Cycle(
        f"{jati.capitalize()}-jati {tala}",
        sum(sections, Fraction(0)),
        sections,
        starts,
        source="made by rule from limbs and jati, as public tala charts print them",
        note=f"Limbs {limbs}: a laghu is a clap and finger counts, a drutam a clap and a wave.",
    )
