"""The names over long pickups: a line that begins well before its letter says so there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.road_map import form_letter
from cyclechart.arrange.timeline import Timeline
from cyclechart.piece.player import Player

LONG_PICKUP = Fraction(1, 2)
"""The share of a cycle from which on a pickup has a name of its own."""


def with_pickup_labels(
    notes: Sequence[PartNote], timeline: Timeline, player: Player
) -> list[PartNote]:
    """Return a player's notes with a name over the first note of each long pickup that lies in the
    step before its own."""
    labels = dict(_labels(timeline, player))
    return [
        replace(note, text=labels[note.start])
        if note.start in labels and not note.text and note.head != "slash"
        else note
        for note in notes
    ]


def _labels(timeline: Timeline, player: Player) -> Iterator[tuple[Fraction, str]]:
    """Yield the place of each label and its text: the line and the letter of its step."""
    for placed in timeline.placed_lines:
        if player.name not in placed.players or placed.line.free or not placed.line.notes:
            continue
        start, body = placed.start_of(placed.line.notes[0]), placed.body_start
        before, own = timeline.at(start), timeline.at(body)
        long_enough = body - start >= before.cycle.beats * LONG_PICKUP
        if long_enough and before.kind == "metered" and -1 < before.step < own.step:
            yield start, f"{placed.line.name} ({form_letter(own.step)})"
