"""A piece moved to another Sa: everything with it, tonics that the form changes to as well."""

from __future__ import annotations

from dataclasses import replace

from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Step
from cyclechart.theory.spelling import TONICS, Tonic


def moved(piece: Piece, tonic: Tonic) -> Piece:
    """The piece on another Sa."""
    if tonic == piece.tonic:
        return piece
    by = tonic.semitone - piece.tonic.semitone

    def there(old: Tonic) -> Tonic:
        return tonic if old == piece.tonic else TONICS[(old.semitone + by) % 12]

    def step(old: Step) -> Step:
        return replace(old, force=replace(old.force, tonic=there(old.force.tonic)))

    return replace(piece, tonic=tonic, form=tuple(step(one) for one in piece.form))
