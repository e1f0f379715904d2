"""The drone of a band: the second string that a player of it tunes, under every mode of a piece."""

from __future__ import annotations

from dataclasses import replace

from cyclechart.piece.model import Piece
from cyclechart.piece.steps import StepState
from cyclechart.theory.mode import Mode


def over_band_drone(piece: Piece) -> Piece:
    """Return the piece with its modes over the string of the first player who tunes one."""
    tone = next((player.drone for player in piece.players if player.drone is not None), None)
    if tone is None:
        return piece
    tuned: dict[Mode, Mode] = {}

    def over(mode: Mode) -> Mode:
        # One object for each mode: what is worked out of a mode is kept with it.
        if mode not in tuned:
            tuned[mode] = replace(mode, band_drone=tone)
        return tuned[mode]

    def state_over(state: StepState) -> StepState:
        return replace(state, mode=over(state.mode))

    form = tuple(replace(step, state=state_over(step.state)) for step in piece.form)
    return replace(piece, mode=over(piece.mode), form=form)
