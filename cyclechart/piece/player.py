"""A player of the band: name, instrument, role and octave."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from cyclechart.catalog.instruments import Instrument
from cyclechart.catalog.roles import LineKind, Role
from cyclechart.finding import Spot
from cyclechart.piece.reads import PLAIN, Reads, as_read


@dataclass(frozen=True)
class Player:
    """``octave``: by how many octaves the part lies above (below) what the line is written in.

    ``drone``: the tone (0 to 11) of a drone player's second string, None to leave it to the mode.
    """

    name: str
    instrument: Instrument
    role: Role
    spot: Spot
    octave: int = 0
    drone: int | None = None
    line_octave: int = 0
    """For a player of another role: by how many octaves the melodies they are given lie above
    what is written, before ``octave``."""
    reads: Reads = PLAIN

    @property
    def plays(self) -> str:
        """The name of the role, as the piece has it."""
        return self.role.name

    @cached_property
    def as_read(self) -> Instrument:
        """Their instrument with the clef, the transposition and the title of their part."""
        return as_read(self.instrument, self.reads)

    @property
    def octave_of_lines(self) -> int:
        """``octave`` for players of melodies; 0 for the others, whose sounds have it already."""
        return self.octave if self.role.plays_melody else 0

    @property
    def octave_in_notes(self) -> int:
        """The octaves by which the notes of their lines are moved: 0 for players of melodies, whose
        staff is moved instead."""
        return 0 if self.role.plays_melody else self.line_octave + self.octave

    @property
    def octave_of_melodies(self) -> int:
        """By how many octaves melodies sound above what is written."""
        return self.octave_of_lines + self.octave_in_notes

    @property
    def tunes_to_sa(self) -> bool:
        """True if the instrument must be retuned where Sa moves."""
        return self.role.tunes_to_sa and not self.instrument.is_kit

    def joins_hits(self, named: tuple[str, ...]) -> bool:
        """Return whether they play hits for which players are named; () are kit and bass."""
        if named:
            return self.name in named
        return self.instrument.is_kit or self.role.plays_roots

    def takes(self, kind: LineKind) -> bool:
        """Return whether lines of a kind that name nobody are theirs to play."""
        if kind == "chords":
            return self.role.plays_chords
        if kind == "kit":
            return self.role.keeps_time and self.instrument.is_kit
        return self.role.lines == kind

    def can_play(self, kind: LineKind) -> bool:
        """Return whether they can be given a line of a kind: the instrument can play it, and
        nobody else would have to keep the drone."""
        if kind == "chords" and self.role.plays_roots:
            return True
        return not self.role.is_drone and (self.takes(kind) or self.instrument.can_play(kind))
