"""The registry of roles: for each, a function for its sounds and one for its staff.

Facts about roles that lower layers need as well are in ``catalog.roles``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import StaffContent
from cyclechart.arrange.roles.bass import pedal_content, pedal_part
from cyclechart.arrange.roles.drone import drone_content, drone_part
from cyclechart.arrange.roles.drummer import drummer_part
from cyclechart.arrange.roles.drummer_content import drummer_content
from cyclechart.arrange.roles.melody import melody_content, melody_part
from cyclechart.arrange.roles.voicings import voicings_content, voicings_part
from cyclechart.arrange.score import Part
from cyclechart.arrange.timeline import Timeline
from cyclechart.catalog.roles import DRONE, MELODY, PEDAL, THEKA, VOICINGS, Role, UnknownRole
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player


@dataclass(frozen=True)
class RoleFunctions:
    """The two functions of a role: ``part`` returns a player's sounds, ``content`` the notes on
    their staff."""

    part: Callable[[Piece, Timeline, Player], Part]
    content: Callable[[Piece, Timeline, Sequence[Bar], Player, Part], StaffContent]


REGISTRY: dict[Role, RoleFunctions] = {
    MELODY: RoleFunctions(
        lambda piece, timeline, player: melody_part(timeline, player, piece.tuning), melody_content
    ),
    VOICINGS: RoleFunctions(
        lambda _, timeline, player: voicings_part(timeline, player), voicings_content
    ),
    PEDAL: RoleFunctions(lambda _, timeline, player: pedal_part(timeline, player), pedal_content),
    THEKA: RoleFunctions(drummer_part, drummer_content),
    DRONE: RoleFunctions(lambda _, timeline, player: drone_part(timeline, player), drone_content),
}


def role_part(piece: Piece, timeline: Timeline, player: Player) -> Part:
    """Return what a player's role plays by itself, without lines of other kinds they are given.

    Raises UnknownRole for a player whose role is not in the registry.
    """
    return _functions(player).part(piece, timeline, player)


def staff_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return the content of a player's staff in the bars of a timeline; ``part`` is what their role
    plays by itself.

    Raises UnknownRole for a player whose role is not in the registry.
    """
    return _functions(player).content(piece, timeline, bars, player, part)


def _functions(player: Player) -> RoleFunctions:
    """Return the functions of a player's role.

    Raises UnknownRole where it has none.
    """
    functions = REGISTRY.get(player.role)
    if functions is None:
        raise UnknownRole(
            f"{player.name} has the role '{player.role.name}', which arrange.roles.registry "
            "does not have"
        )
    return functions
