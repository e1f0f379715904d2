"""The drums of a kit as data: letter, name, percussion key and limb, and how fast the limbs are.

Keys are those of the General MIDI 1 percussion map (the toms: high tom, low-mid tom, high floor
tom). The letters are a kit text's own.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from typing import Literal, NamedTuple

from cyclechart.text.scripts import Script, kit_script

Limb = Literal["right hand", "left hand", "right foot", "left foot"]


class Drum(NamedTuple):
    """A sound of the kit. ``limb``: the one that has it where a groove keeps time, for a
    right-handed drummer; in a written line either hand may have what a hand plays."""

    name: str
    words: str
    """Its name in words, for the key at the head of a part."""
    key: int
    limb: Limb
    letter: str = ""
    """Its letter in a kit text; "" where a text cannot ask for it."""

    @property
    def by_foot(self) -> bool:
        """True if a foot plays it."""
        return self.limb.endswith("foot")


DRUMS = (
    Drum("kick", "bass drum", 36, "right foot", "k"),
    Drum("foot", "hi-hat, foot", 44, "left foot", "f"),
    Drum("snare", "snare", 38, "left hand", "s"),
    Drum("ghost", "ghost stroke", 40, "left hand"),
    Drum("rim", "cross-stick", 37, "left hand", "x"),
    Drum("low-tom", "low tom", 43, "right hand", "l"),
    Drum("mid-tom", "middle tom", 47, "right hand", "m"),
    Drum("high-tom", "high tom", 50, "right hand", "t"),
    Drum("hat", "hi-hat", 42, "right hand", "h"),
    Drum("open-hat", "hi-hat, open", 46, "right hand", "o"),
    Drum("ride", "ride", 51, "right hand", "r"),
    Drum("bell", "bell of the ride", 53, "right hand", "b"),
    Drum("crash", "crash", 49, "right hand", "c"),
)
"""Every sound of the kit, feet first: the order of the key at the head of a part."""

DRUM = {drum.name: drum for drum in DRUMS}
"""The same by name."""

HINT = (
    "the letters are k kick, s snare, x cross-stick, h hat, o open hat, f hat by foot, r ride, "
    "b its bell, c crash, t m l toms high to low; + strikes several at once"
)
"""The letters of a kit text in a finding."""

HATS = ("foot", "hat", "open-hat")
"""The sounds of one hi-hat: it cannot be two of them at once."""

FASTEST: dict[Limb, Fraction] = {
    "right hand": Fraction(1, 7), "left hand": Fraction(1, 7),
    "right foot": Fraction(1, 5), "left foot": Fraction(1, 3),
}  # fmt: skip
"""The fewest seconds between comfortable strokes of one limb (common practice; from memory)."""


@cache
def script() -> Script:
    """The script of kit texts."""
    return kit_script({drum.letter: drum.name for drum in DRUMS if drum.letter}, HINT)


def struck_at_once(value: str) -> tuple[str, ...]:
    """Return the drums that a value of a kit text strikes, feet first."""
    return feet_first(value.split("+"))


def feet_first(names: Iterable[str]) -> tuple[str, ...]:
    """Return drums by name in the order of the table."""
    return tuple(sorted(names, key=list(DRUM).index))


def letters_of(names: Iterable[str]) -> str:
    """Return drums as a kit text writes them; a ghost stroke is the snare's."""
    return "+".join(DRUM[name].letter or DRUM["snare"].letter for name in names)
