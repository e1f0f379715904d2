"""The rule over the drone's strings."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.model import Piece
from cyclechart.piece.piece_edits import player_key_edits
from cyclechart.rules.rule import Rule, rule
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM

_USUAL = (7, 5, 11, 0)
"""The tones that a second string is tuned to, the usual ones first; 0: like the others, to Sa."""


@rule("advice")
def drone_string(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A player tunes the drone's second string to a tone that a mode of the piece does not have.

    Pa sounds under every raga in the south, and under some in the north that leave it out; but it
    sounds through everything, so that the ear takes it for a tone of the mode.

    wrong:  mode: malkauns     players: {flute: , tanpura: {drone: P}}
    right:  mode: malkauns     players: {flute: , tanpura: {drone: m}}
    """
    for player in piece.players:
        string = player.drone
        if string is None or not player.role.is_drone:
            continue
        letter = SARGAM[string]
        for mode in (mode for mode in piece.modes if not _has(mode, string)):
            usual = next(tone for tone in _USUAL if all(_has(one, tone) for one in piece.modes))
            edits = player_key_edits(piece, player.name, "drone", SARGAM[usual])
            yield this.found(
                player.spot,
                f"{player.name}'s second string is tuned to {letter}, and {mode.name} has none",
                Suggestion(f"drone: {SARGAM[usual]}", edits),
                tone=letter,
            )


def _has(mode: Mode, tone: int) -> bool:
    """Return whether a string of this tone sounds no tone that the mode lacks."""
    return tone in (0, mode.drone) or tone in mode.tones
