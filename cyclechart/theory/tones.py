"""The twelve tones against Sa. A pitch is an int: semitones above the middle Sa (−1 is N,)."""

from __future__ import annotations

SARGAM = "SrRgGmMPdDnN"
"""The tone letters by semitone: lower case is the lower form of R G D N; M the raised fourth."""

SEMITONE = {letter: semitone for semitone, letter in enumerate(SARGAM)}

SOLFA16 = {
    "S": 0, "R1": 1, "R2": 2, "R3": 3, "G1": 2, "G2": 3, "G3": 4, "M1": 5,
    "M2": 6, "P": 7, "D1": 8, "D2": 9, "D3": 10, "N1": 9, "N2": 10, "N3": 11,
}  # fmt: skip
"""The sixteen South Indian names; some share a key (R2 and G1)."""

DEGREES = {
    "1": 0, "b2": 1, "2": 2, "b3": 3, "3": 4, "4": 5,
    "#4": 6, "5": 7, "b6": 8, "6": 9, "b7": 10, "7": 11,
}  # fmt: skip

_DOT_ABOVE, _DOT_BELOW = "̇", "̣"
_TWO_ABOVE, _TWO_BELOW = "̈", "̤"


def tone(pitch: int) -> str:
    """The letter of a pitch without its octave: 12 -> ``S``."""
    return SARGAM[pitch % 12]


def show_pitch(pitch: int) -> str:
    """A pitch as it is written in a line: 12 -> ``S'``, −1 -> ``N,``."""
    octave = pitch // 12
    return tone(pitch) + ("'" * octave if octave >= 0 else "," * -octave)


def show_path(pitches: tuple[int, ...]) -> str:
    """Several pitches as text, parted by spaces."""
    return " ".join(show_pitch(pitch) for pitch in pitches)


def dotted(pitch: int) -> str:
    """A pitch with the trade's octave dots, above for tar and below for mandra (for charts)."""
    return tone(pitch) + octave_dots(pitch)


def octave_dots(pitch: int) -> str:
    """The combining dots of a pitch's octave: "" for the middle one."""
    octave = pitch // 12
    if octave == 0:
        return ""
    one, two = (_DOT_ABOVE, _TWO_ABOVE) if octave > 0 else (_DOT_BELOW, _TWO_BELOW)
    pairs, single = divmod(abs(octave), 2)
    return two * pairs + one * single
