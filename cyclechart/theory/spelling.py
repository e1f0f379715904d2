"""The spelling of a pitch on a staff: letter, accidental, octave, for a Sa on any letter."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import product
from typing import NamedTuple

LETTERS = "CDEFGAB"
NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHARPS = "FCGDAEB"
_STEPS_UP = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""Staff steps above Sa for each of the twelve tones: r and R are both seconds, m and M fourths."""

LOWEST_SA = 58
"""Sa is taken from B♭3 (58) to A4 (69), so that the middle octave sits on a treble staff."""


class Tonic(NamedTuple):
    """The letter that Sa stands on: ``letter`` C to B, ``alter`` −1, 0 or 1."""

    letter: str
    alter: int = 0

    @property
    def semitone(self) -> int:
        """0 to 11 above C."""
        return (NATURAL[self.letter] + self.alter) % 12

    @property
    def midi(self) -> int:
        """The MIDI key of the middle Sa."""
        return LOWEST_SA + (self.semitone - LOWEST_SA) % 12

    def __str__(self) -> str:
        return self.letter + {-1: "♭", 0: "", 1: "♯"}[self.alter]

    @property
    def octave(self) -> int:
        """The scientific octave number of the middle Sa as it is spelled (B♯3 sounds as C4)."""
        return (self.midi - self.alter) // 12 - 1


TONICS = tuple(
    Tonic(letter, alter)
    for letter, alter in (
        ("C", 0), ("D", -1), ("D", 0), ("E", -1), ("E", 0), ("F", 0), ("F", 1), ("G", 0),
        ("A", -1), ("A", 0), ("B", -1), ("B", 0),
    )
)  # fmt: skip
"""Sa on each of the twelve keys from C up, as it is mostly written."""


def written_for(tonic: Tonic, transposes: int) -> Tonic:
    """The letter on which an instrument that sounds so many semitones from what is written reads
    Sa: on the alto saxophone (9 lower) D is read as B."""
    return TONICS[(tonic.semitone - transposes) % 12]


class Spelled(NamedTuple):
    """A written note: step C to B, alter −1 to 1, scientific octave (middle C begins octave 4)."""

    step: str
    alter: int
    octave: int

    @property
    def midi(self) -> int:
        """The MIDI key it sounds."""
        return 12 * (self.octave + 1) + NATURAL[self.step] + self.alter

    def __str__(self) -> str:
        return self.step + {-1: "♭", 0: "", 1: "♯"}[self.alter]


@lru_cache(maxsize=4096)
def spell(tonic: Tonic, pitch: int) -> Spelled:
    """Spell a pitch from Sa upward by scale steps; never with a double accidental.

    Where the scale step would need a double sharp or flat, the neighbouring letter that needs
    none is taken instead, as a reader at sight would want it.
    """
    key = tonic.midi + pitch
    index = LETTERS.index(tonic.letter) + _STEPS_UP[pitch % 12] + 7 * (pitch // 12)
    for nudge in (0, 1, -1):
        octave, letter = divmod(index + nudge, 7)
        step = LETTERS[letter]
        at = tonic.octave + octave
        alter = key - (12 * (at + 1) + NATURAL[step])
        if abs(alter) <= 1:
            return Spelled(step, alter, at)
    raise AssertionError(f"no single spelling for {tonic} + {pitch}")


def needs_respelling(tonic: Tonic, tones: Iterable[int]) -> bool:
    """Return whether any tone needs a double accidental when it is spelled by scale steps."""
    letters = LETTERS.index(tonic.letter)
    for tone in tones:
        step = LETTERS[(letters + _STEPS_UP[tone % 12]) % 7]
        if spell(tonic, tone % 12).step != step:
            return True
    return False


def fifths_of(tonic: Tonic) -> int:
    """Return the place of a tonic on the line of fifths: C is 0, G 1, F −1, C♯ 7."""
    return "FCGDAEB".index(tonic.letter) - 1 + 7 * tonic.alter


def readable_tonic(tonic: Tonic, tones: Iterable[int]) -> Tonic:
    """The tonic a chart is written in: the composer's, or its enharmonic twin if only that reads.

    G♯ with a raised leading tone wants F double sharp; the same piece in A♭ has plain letters. A
    signature of seven signs gives way to a shorter one likewise (a Lydian mode on F♯ to G♭).
    """
    held = tuple(tones)
    best = tonic
    for letter, alter in product(LETTERS, (-tonic.alter, 0)):
        twin = Tonic(letter, alter)
        if tonic.alter and twin.semitone == tonic.semitone:
            best = min(best, twin, key=lambda written: _hard_to_read(written, held))
    return best


def written_tonic(tonic: Tonic, tones: Iterable[int], own: Iterable[int]) -> Tonic:
    """The tonic that a passage in a mode of its ``own`` tones is written in, in a piece that has
    ``tones`` in all: a signature of seven signs gives way there too."""
    read = readable_tonic(tonic, tones)
    held = tuple(own)
    return readable_tonic(read, held) if _wants_seven_signs(read, held) else read


def _hard_to_read(tonic: Tonic, tones: tuple[int, ...]) -> tuple[bool, bool]:
    return needs_respelling(tonic, tones), _wants_seven_signs(tonic, tones)


def _wants_seven_signs(tonic: Tonic, tones: tuple[int, ...]) -> bool:
    return abs(nearest_signature(tonic, tones)) == 7


def key_alter(fifths: int, step: str) -> int:
    """Return the sign that a standard key signature gives a letter: −1, 0 or 1."""
    if fifths > 0:
        return 1 if step in _SHARPS[:fifths] else 0
    return -1 if fifths < 0 and step in _SHARPS[::-1][:-fifths] else 0


MOST_SIGNS = 6
"""The most signs of a key signature that is printed."""


def nearest_signature(tonic: Tonic, tones: Iterable[int], like: int = 0, most: int = 7) -> int:
    """The standard key signature of at most so many signs (in fifths, flats below 0) that leaves
    fewest of the tones to accidentals.

    Of equals, the one nearest to ``like`` (with fewest signs, where that is 0), sharps before flats
    for a sharp tonic.
    """
    spelled = {spell(tonic, tone) for tone in tones}

    def cost(fifths: int) -> tuple[int, int, int, int]:
        wrong = sum(key_alter(fifths, note.step) != note.alter for note in spelled)
        away = abs(fifths - like)
        return wrong, away, abs(fifths), -fifths if tonic.alter >= 0 else fifths

    return min(range(-most, most + 1), key=cost)
