"""The accidentals that a passage prints under a key signature, and the signature with fewest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cyclechart.theory.spelling import (
    MOST_SIGNS,
    Spelled,
    Tonic,
    key_alter,
    nearest_signature,
    spell,
)

FEW = 1
"""A signature fits a mode if it leaves so many of its tones to accidentals, at most."""


def left_to_accidentals(tonic: Tonic, tones: Iterable[int], fifths: int) -> list[Spelled]:
    """Return the tones (0 to 11 above Sa) that a signature does not give, from Sa upward."""
    spelled = [spell(tonic, tone) for tone in sorted(set(tones))]
    return [tone for tone in spelled if key_alter(fifths, tone.step) != tone.alter]


def printed_accidentals(tonic: Tonic, fifths: int, measures: Iterable[Sequence[int]]) -> int:
    """Return how many accidentals the pitches of some measures print under a signature.

    One is printed where a note differs from the signature, or from the accidental before it in the
    measure on its line or space.
    """
    count = 0
    for pitches in measures:
        in_force: dict[tuple[str, int], int] = {}
        for pitch in pitches:
            note = spell(tonic, pitch)
            place = note.step, note.octave
            if note.alter != in_force.get(place, key_alter(fifths, note.step)):
                in_force[place] = note.alter
                count += 1
    return count


def written_signature(
    tonic: Tonic, tones: Iterable[int], measures: Sequence[Sequence[int]], like: int = 0
) -> int:
    """Return the key signature of a mode's tones in a part, in fifths.

    It is the nearest one (to ``like`` of equals) where that fits the mode. Where none does, it is
    the one under which the pitches of the part's ``measures`` print fewest accidentals, and the
    mode's own tones where there are none; of equals the one with fewest signs.
    """
    own = sorted(set(tones))
    nearest = nearest_signature(tonic, own, like, MOST_SIGNS)
    if len(left_to_accidentals(tonic, own, nearest)) <= FEW:
        return nearest
    written = [measure for measure in measures if measure] or [own]

    def cost(fifths: int) -> tuple[int, int, int, int]:
        printed = printed_accidentals(tonic, fifths, written)
        return printed, abs(fifths), abs(fifths - like), -fifths if tonic.alter >= 0 else fifths

    return min(range(-MOST_SIGNS, MOST_SIGNS + 1), key=cost)


def signature_remark(tonic: Tonic, tones: Iterable[int], fifths: int) -> str:
    """Return what was chosen where no signature fits the tones: the signs of the signature and the
    tones left to accidentals; else ""."""
    left = left_to_accidentals(tonic, tones, fifths)
    if len(left) <= FEW:
        return ""
    kind = "sharp" if fifths > 0 else "flat"
    signs = f"{abs(fifths)} {kind}{'' if abs(fifths) == 1 else 's'}" if fifths else "no signature"
    return f"{signs}, {' '.join(map(str, left))} marked"
