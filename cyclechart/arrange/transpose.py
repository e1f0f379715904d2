"""Transposes a piece to another Sa, with every tonic that its form changes to."""

from __future__ import annotations

from dataclasses import replace

from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Step
from cyclechart.theory.spelling import TONICS, Tonic


def transposed(piece: Piece, tonic: Tonic) -> Piece:
    """Return the piece with another Sa; its changes of tonic keep their distance from it."""
    if tonic == piece.tonic:
        return piece
    semitones = tonic.semitone - piece.tonic.semitone

    def new_tonic(old: Tonic) -> Tonic:
        return tonic if old == piece.tonic else TONICS[(old.semitone + semitones) % 12]

    def with_new_tonic(old: Step) -> Step:
        return replace(old, state=replace(old.state, tonic=new_tonic(old.state.tonic)))

    form = tuple(with_new_tonic(step) for step in piece.form)
    return replace(piece, tonic=tonic, form=form, nodes=None)
