"""A melody player: plays and reads their lines, and nothing between them."""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import StaffContent, cut_at_free_passages, pitched_content
from cyclechart.arrange.part_notes import line_notes
from cyclechart.arrange.roles.given_lines import notes_with_given_lines
from cyclechart.arrange.roles.melody_sounds import melody_sounds
from cyclechart.arrange.score import Part
from cyclechart.arrange.timeline import Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.tuning import Tuning


def melody_part(timeline: Timeline, player: Player, tuning: Tuning) -> Part:
    """Return a melody player's part."""
    instrument = player.instrument
    return Part(
        player.name, player.role, instrument.program,
        tuple(melody_sounds(timeline, player, tuning)),
        bends=instrument.bends, voice=instrument.voice,
    )  # fmt: skip


def melody_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return a melody player's staff content: their composed notes, and chords they are given."""
    notes = cut_at_free_passages(line_notes(timeline, player, "melody"), bars)
    notes = notes_with_given_lines(piece, timeline, bars, player, notes)
    return pitched_content(piece, bars, player, notes)
