"""Who can play a line, and the finding where a player cannot."""

from __future__ import annotations

from collections.abc import Iterable

from cyclechart.catalog.roles import LineKind
from cyclechart.finding import Finding, Spot
from cyclechart.piece.line import Line
from cyclechart.piece.player import Player
from cyclechart.text import reading_rules

KIND_NAMES: dict[LineKind, str] = {
    "melody": "a melody",
    "strokes": "for drums",
    "chords": "a line of chords",
    "kit": "for a drum kit",
}
"""Each kind of line in words, after "is"."""


def cannot_play(
    player: Player, line: Line, band: Iterable[Player], spot: Spot, example: str
) -> Finding | None:
    """Return the finding on a line that a player cannot play; None where they can.

    ``example``: how the line would be given to somebody else, with ``{}`` for the player.
    """
    if player.can_play(line.kind):
        return None
    if player.role.is_drone:
        what = f"{player.name} keeps the drone and takes no line"
    else:
        what = (
            f"{player.name} plays {player.plays} and cannot play '{line.name}', which is "
            f"{KIND_NAMES[line.kind]}"
        )
    able = [one.name for one in band if one.takes(line.kind)] or [
        one.name for one in band if one.can_play(line.kind)
    ]
    tries = [example.replace("{}", name) for name in able[:2]]
    return reading_rules.wrong_value(spot, what, tries)
