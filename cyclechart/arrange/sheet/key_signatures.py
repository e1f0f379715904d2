"""Key signatures: the nearest standard one, the mode's own, or none."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cyclechart.arrange.sheet.model import Sheet, StaffKey
from cyclechart.theory.spelling import spell

SIGNATURES = ("nearest", "own", "none")
FLATS, SHARPS = "BEADGCF", "FCGDAEB"


def with_signature(sheet: Sheet, signature: str) -> Sheet:
    """Return the sheet with a signature of ``SIGNATURES``; sheets are built with the nearest."""
    if signature == "nearest":
        return sheet
    strains = tuple(
        replace(strain, key=_key_with_signature(strain.key, signature)) for strain in sheet.strains
    )
    fifths = 0 if signature == "none" else sheet.fifths
    return replace(sheet, strains=strains, fifths=fifths, signature="")


def _key_with_signature(key: StaffKey, signature: str) -> StaffKey:
    if signature == "none":
        return replace(key, fifths=0)
    return replace(key, signs=tuple(_mode_signs(key)))


def _mode_signs(key: StaffKey) -> Iterator[tuple[str, int]]:
    """Yield (letter, alteration) for the letters that the mode only uses altered, flats first, in
    the order of a standard signature."""
    alters: dict[str, set[int]] = {}
    for tone in key.mode.up | key.mode.down:
        spelled = spell(key.tonic, tone)
        alters.setdefault(spelled.step, set()).add(spelled.alter)
    for alter, order in ((-1, FLATS), (1, SHARPS)):
        for letter in order:
            if alters.get(letter) == {alter}:
                yield letter, alter
