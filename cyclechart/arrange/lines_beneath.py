"""The lines that players loop beneath the steps of a form, placed in time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import cycle as endless
from itertools import groupby

from cyclechart.arrange.timeline import PlacedLine, Stretch
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Step, Under

Room = tuple[Fraction, Fraction]
"""From where to where (beats) a player has nothing else to play."""


def with_lines_beneath(
    piece: Piece, stretches: Sequence[Stretch], placed_lines: Sequence[PlacedLine]
) -> list[PlacedLine]:
    """Return the placed lines of a piece with those that are looped beneath its steps, in order of
    time."""
    looped = list(_Loops(piece, placed_lines).over(stretches))
    if not looped:
        return list(placed_lines)
    return sorted([*placed_lines, *looped], key=lambda placed: placed.start)


@dataclass
class _Loops:
    """Loops lines beneath one step after the other."""

    piece: Piece
    placed_lines: Sequence[PlacedLine]
    elapsed: dict[Under, Fraction] = field(default_factory=dict)
    """The metered beats since each came into force, for lines that run on over steps."""

    def over(self, stretches: Sequence[Stretch]) -> Iterator[PlacedLine]:
        """Yield the rounds beneath all steps."""
        metered = [one for one in stretches if one.kind == "metered" and one.end > one.start]
        for number, run in groupby(metered, key=lambda stretch: stretch.step):
            if number < 0:
                continue
            step, of_step = self.piece.steps[number], list(run)
            for one in step.under:
                if self.stops(step, one.player):
                    continue
                for room in _rooms(of_step, one.player, self.own_entries(one.player)):
                    yield from self.rounds(one, step, of_step[0].start, room)
            length = of_step[-1].end - of_step[0].start
            now = dict.fromkeys(step.state.under, Fraction(0)) | {
                one: beats for one, beats in self.elapsed.items() if one in step.state.under
            }
            self.elapsed = {one: beats + length for one, beats in now.items()}

    def stops(self, step: Step, name: str) -> bool:
        """Return whether a player plays nothing but hits in a step."""
        hits = step.directions.hits
        player = next((one for one in self.piece.players if one.name == name), None)
        return bool(hits and hits.stops and player and player.joins_hits(hits.by))

    def own_entries(self, player: str) -> list[Fraction]:
        """Return where a player begins the lines that steps give them."""
        return [placed.start for placed in self.placed_lines if player in placed.players]

    def rounds(
        self, one: Under, step: Step, first_beat: Fraction, room: Room
    ) -> Iterator[PlacedLine]:
        """Yield the rounds of a player's lines in a room: from the first beat of the step on, or
        from where a line that is free of the cycle has come to."""
        lines = [self.piece.line_in(name, step.cycle) for name in one.lines]
        crossing = all(line.free for line in lines)
        at = first_beat - (self.elapsed.get(one, Fraction(0)) if crossing else 0)
        lengths = [line.length if crossing else line.round_in(step.cycle) for line in lines]
        whole = sum(lengths, Fraction(0))
        at += max(0, (room[0] - at) // whole) * whole
        for line, length in endless(list(zip(lines, lengths, strict=True))):
            if at >= room[1]:
                return
            ends = at + length
            if ends > room[0]:
                offset = Fraction(0) if crossing else line.standing(step.cycle).offset
                yield PlacedLine(
                    line, at + offset, step.state, room[1], players=(one.player,),
                    since=room[0], free_from=min(ends, room[1]), octaves=step.directions.octaves,
                )  # fmt: skip
            at = ends


def _rooms(
    stretches: Sequence[Stretch], player: str, entries: Sequence[Fraction]
) -> Iterator[Room]:
    """Yield the rooms of a player in the stretches of a step: while they do not improvise, and
    until a pickup of theirs into the next step begins."""
    spans: list[Room] = []
    for stretch in stretches:
        own = sorted((turn.start, turn.end) for turn in stretch.turns if turn.player == player)
        at = stretch.start
        for start, end in [*own, (stretch.end, stretch.end)]:
            if start > at:
                if spans and spans[-1][1] == at:
                    spans[-1] = (spans[-1][0], start)
                else:
                    spans.append((at, start))
            at = max(at, end)
    for start, end in spans:
        inside = [entry for entry in entries if start < entry < end]
        yield start, min([end, *inside])
