"""A player of the band: who plays what on which instrument."""

from __future__ import annotations

from dataclasses import dataclass

from cyclechart.catalog.instruments import Instrument
from cyclechart.catalog.roles import Role
from cyclechart.finding import Spot


@dataclass(frozen=True)
class Player:
    """``octave``: by how many octaves the part lies above (below) what the line is written in."""

    name: str
    instrument: Instrument
    role: Role
    spot: Spot
    octave: int = 0

    @property
    def plays(self) -> str:
        """The name of the role, as the piece has it."""
        return self.role.name

    @property
    def octave_of_lines(self) -> int:
        """``octave`` for who plays melodies; 0 for the others, who have it in what they sound."""
        return self.octave if self.role.plays_melody else 0

    @property
    def tunes_to_sa(self) -> bool:
        """Whether the instrument is tuned again where Sa moves."""
        return self.role.tunes_to_sa and not self.instrument.is_kit
