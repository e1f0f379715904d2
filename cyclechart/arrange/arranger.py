"""Arranges a piece: builds the timeline, then a part for each player."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from cyclechart.arrange.leader_texts import leader_text, swing_text
from cyclechart.arrange.phrasing.phrased_parts import Phrasing
from cyclechart.arrange.roles.drone_plucks import varied_plucks
from cyclechart.arrange.roles.drummer import count_part
from cyclechart.arrange.roles.given_lines import with_given_lines
from cyclechart.arrange.roles.registry import role_part
from cyclechart.arrange.score import Marker, Meter, Part, Score
from cyclechart.arrange.swing import swung_part
from cyclechart.arrange.tempos import tempos_of
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact


@dataclass(frozen=True, eq=False)
class Arrangement:
    """The timeline, parts and score of one piece, each computed at first use and then kept.

    Arrangements compare by identity. ``plain``: every player at one level between the written
    dynamics, without phrasing.
    """

    piece: Piece
    plain: bool = False
    _parts: dict[str, Part] = field(default_factory=dict, init=False, repr=False)
    _role_parts: dict[str, Part] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def timeline(self) -> Timeline:
        """The form in time."""
        return unroll(self.piece)

    def part(self, player: Player) -> Part:
        """Return the part of one of the piece's players.

        Raises UnknownRole for a player whose role has no functions.
        """
        if player.name not in self._parts:
            own = self.role_part(player)
            part = with_given_lines(self.piece, self.timeline, player, own)
            self._parts[player.name] = part
        return self._parts[player.name]

    def role_part(self, player: Player) -> Part:
        """Return what a player's role plays by itself, without other lines they are given.

        Raises UnknownRole for a player whose role has no functions.
        """
        if player.name not in self._role_parts:
            part = role_part(self.piece, self.timeline, player)
            self._role_parts[player.name] = (
                part if self.plain else varied_plucks(part, self.timeline)
            )
        return self._role_parts[player.name]

    @cached_property
    def score(self) -> Score:
        """The score: every part, with tempos, meters and markers."""
        piece, timeline = self.piece, self.timeline
        return Score(
            title=piece.title,
            composer=piece.composer,
            tonic=piece.tonic if not timeline.stretches else timeline.stretches[0].tonic,
            tuning=piece.tuning,
            tempos=tempos_of(timeline),
            meters=_meters(timeline),
            markers=_markers(piece, timeline),
            parts=tuple(self._all_parts()),
            end=timeline.end,
        )

    def _all_parts(self) -> Iterator[Part]:
        """Yield the players' parts in the order of the band, then the claps and waves."""
        phrasing = None if self.plain else Phrasing(self.timeline)
        for player in self.piece.players:
            part = self.part(player)
            if phrasing is not None:
                part = phrasing.part(part, player)
            yield swung_part(part, self.timeline)
        claps = count_part(self.timeline)
        if claps.hits:
            yield claps


def arrange(piece: Piece, *, plain: bool = False) -> Score:
    """Return the score of a piece; ``plain``: without phrasing."""
    return Arrangement(piece, plain).score


def _meters(timeline: Timeline) -> tuple[Meter, ...]:
    """Return the meters: a bar is a cycle, and a free stretch is one bar, so that the next cycle
    starts on a barline."""
    meters: list[Meter] = []
    for stretch in timeline.stretches:
        length = stretch.end - stretch.start
        bar = length if stretch.kind == "free" else stretch.cycle.beats
        if length and (not meters or meters[-1].beats != bar or stretch.kind == "free"):
            meters.append(Meter(stretch.start, bar))
    return tuple(meters)


def _markers(piece: Piece, timeline: Timeline) -> tuple[Marker, ...]:
    """Return markers for the names of stretches, changes of cycle, mode and tonic, and the start of
    every section with its cycle number, beat and sign."""
    markers = []
    number = 0
    cycle: Cycle | None = None
    last: Stretch | None = None
    told = (-1, 0)
    for stretch in timeline.stretches:
        if stretch.kind != "free" and stretch.cycle != cycle:
            if cycle is not None:
                markers.append(Marker(stretch.start, f"in {piece.called(stretch.cycle)}"))
            cycle = stretch.cycle
        if last is not None and last.mode != stretch.mode:
            markers.append(Marker(stretch.start, f"in {stretch.mode.name}"))
        if last is not None and last.tonic != stretch.tonic:
            markers.append(Marker(stretch.start, f"Sa = {stretch.tonic}"))
        if stretch.swing != (last.swing if last is not None else 1):
            markers.append(Marker(stretch.start, swing_text(stretch.swing)))
        last = stretch
        if stretch.step >= 0 and (stretch.step, stretch.turn) != told:
            told = stretch.step, stretch.turn
            text = leader_text(piece.steps, stretch.step) if stretch.turn == 1 else ""
            markers += [Marker(stretch.start, text)] if text else []
        if stretch.label:
            markers.append(Marker(stretch.start, stretch.label))
        if stretch.kind == "free":
            continue
        base = stretch.start
        while base < stretch.end:
            number += stretch.kind == "metered"
            name = f"cycle {number}" if stretch.kind == "metered" else stretch.kind
            for start in stretch.cycle.starts:
                if base + start < stretch.end:
                    sign = stretch.cycle.signs.get(start, "")
                    markers.append(
                        Marker(base + start, f"{name} beat {show_exact(start + 1)} {sign}".rstrip())
                    )
            base += stretch.cycle.beats
    return tuple(markers)
