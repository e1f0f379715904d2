"""What a piece says of the sound of every mode in it: the drone's string, plain tones."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cyclechart.piece.model import Piece
from cyclechart.piece.steps import StepState
from cyclechart.theory.mode import Mode


def over_band_drone(piece: Piece) -> Piece:
    """Return the piece with its modes over the string of the first player who tunes one."""
    tone = next((player.drone for player in piece.players if player.drone is not None), None)
    if tone is None:
        return piece
    return _with_each_mode(piece, lambda mode: replace(mode, band_drone=tone))


def without_andolan(piece: Piece) -> Piece:
    """Return the piece with modes none of whose tones shakes of itself."""
    return _with_each_mode(piece, lambda mode: replace(mode, andolan=()))


def _with_each_mode(piece: Piece, change: Callable[[Mode], Mode]) -> Piece:
    changed: dict[Mode, Mode] = {}

    def new(mode: Mode) -> Mode:
        # One object for each mode: what is worked out of a mode is kept with it.
        if mode not in changed:
            changed[mode] = change(mode)
        return changed[mode]

    def in_state(state: StepState) -> StepState:
        return replace(state, mode=new(state.mode))

    form = tuple(replace(step, state=in_state(step.state)) for step in piece.form)
    return replace(piece, mode=new(piece.mode), form=form)
