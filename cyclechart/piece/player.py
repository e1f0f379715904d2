"""A player of the band: who plays what on which instrument."""

from __future__ import annotations

from dataclasses import dataclass

from cyclechart.catalog.instruments import Instrument, Role
from cyclechart.finding import Spot


@dataclass(frozen=True)
class Player:
    """``octave``: by how many octaves the part lies above (below) what the line is written in."""

    name: str
    instrument: Instrument
    plays: Role
    spot: Spot
    octave: int = 0
