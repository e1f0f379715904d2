"""A piece as data. All times are exact beats (Fraction); pitches are semitones above middle Sa."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.piece.line import Line
from cyclechart.piece.mere_rhythms import mere_rhythms
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Free, Play, Solo, Step, StepState, Under
from cyclechart.text.passage_edits import FileNodes
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import Tuning

MELODY, HAND_DRUMS, DRONE = "melody", "tabla", "tanpura"
"""The three players of a piece that names none."""

ANY_CYCLE = Cycle(name="unknown", beats=Fraction(1), sections=(Fraction(1),), stressed=())
"""The stand-in for a cycle that could not be read: nothing is measured against it."""


class Liberty(NamedTuple):
    """A departure taken on purpose: findings of this rule, line and tone become notes."""

    rule: str
    why: str
    line: str | None
    tone: str | None
    spot: Spot

    def covers(self, rule: str, line: str | None, tone: str | None) -> bool:
        """Return whether a departure by this rule, in this line and on this tone, is meant."""
        return self.rule == rule and self.line in (None, line) and self.tone in (None, tone)


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A whole piece as read; ``form`` and ``edition`` (version, date) may be empty."""

    file: str
    title: str
    composer: str
    tonic: Tonic
    mode: Mode
    cycle: Cycle
    tempo: Fraction
    tuning: Tuning
    lines: dict[str, Line]
    form: tuple[Step, ...]
    liberties: tuple[Liberty, ...]
    counts_in: bool
    spot: Spot
    variants: dict[tuple[str, Cycle], Line] = field(default_factory=dict)
    """Lines with a cadence as they are worked out in further cycles that they are played in."""
    players: tuple[Player, ...] = ()
    edition: str = ""
    eduppu: Fraction = Fraction(0)
    """The beats after the first beat at which its lines come home, unless they say otherwise."""
    swing: Fraction = Fraction(1)
    under: tuple[Under, ...] = ()
    """What players loop from the beginning while they have no line."""
    seed: int = 1
    """The seed of the drummers' little choices: the same seed, the same choices; 0 for none."""
    nodes: FileNodes | None = field(default=None, compare=False, repr=False)
    """The file as it is written, for edits; None where it was read from none, or moved to another
    Sa, so that texts of it would be wrong in the file."""

    @property
    def used_lines(self) -> dict[str, None]:
        """The lines that the form plays, by first use."""
        return {name: None for step in self.steps for name in step.all_lines}

    @cached_property
    def lines_beneath(self) -> frozenset[str]:
        """The names of the lines that are played beneath steps and that no step plays itself."""
        every = {name for step in self.steps for name in step.all_lines}
        return frozenset(every.difference(*(step.uses for step in self.steps)))

    def line_in(self, name: str, cycle: Cycle) -> Line:
        """A line as it is played in a cycle."""
        return self.variants.get((name, cycle), self.lines[name])

    @cached_property
    def standing_lines(self) -> tuple[Line, ...]:
        """The lines that stand by themselves: played, or at least part of no other."""
        used = self.used_lines
        return tuple(
            line
            for line in self.lines.values()
            if line.name in used or line.name not in self._parts | self._mere_sources
        )

    @cached_property
    def heard_lines(self) -> frozenset[str]:
        """The names of the lines that the form plays, and of those that they are made of."""
        heard: set[str] = set()
        left = list(self.used_lines)
        while left:
            name = left.pop()
            if name in self.lines and name not in heard:
                heard.add(name)
                left += self.lines[name].parts
        return frozenset(heard)

    @cached_property
    def needed_lines(self) -> frozenset[str]:
        """The names of the lines that the form plays, and of all that they come from."""
        needed: set[str] = set()
        left = list(self.heard_lines)
        while left:
            name = left.pop()
            if name in self.lines and name not in needed:
                needed.add(name)
                line = self.lines[name]
                left += [*line.parts, *([line.derivation.source] if line.derivation else [])]
        return frozenset(needed)

    @cached_property
    def _parts(self) -> frozenset[str]:
        """The lines that others are made of."""
        return frozenset(part for line in self.lines.values() for part in line.parts)

    @cached_property
    def _mere_sources(self) -> frozenset[str]:
        """The lines that a form does not play, and that others are worked out from."""
        every = {line.derivation.source for line in self.lines.values() if line.derivation}
        return frozenset(every - self.heard_lines) if self.form else frozenset()

    @cached_property
    def timekeepers(self) -> frozenset[str]:
        """The names of the players who keep time."""
        return frozenset(player.name for player in self.players if player.role.keeps_time)

    @property
    def state(self) -> StepState:
        """The cycle, mode, tonic and tempo at the beginning."""
        return StepState(
            self.cycle, self.mode, self.tonic, self.tempo, swing=self.swing, under=self.under
        )

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The form; or every line once in the order written, but for those that others are made
        of."""
        if self.form:
            return self.form
        below = {name for one in self.under for name in one.lines}
        every: list[Step] = []
        for line in self.lines.values():
            if line.name in self._parts or line.name in below:
                continue
            spot, state = line.spot, self.state
            every.append(
                Free(spot=spot, times=1, state=state, what=line.name, is_line=True, seconds=None)
                if line.free
                else Play(
                    spot=spot, times=1, state=state, parts=((line.name, ()),), under=self.under
                )
            )
        return tuple(every)

    def is_metered(self, step: Step) -> bool:
        """Return whether a step is played in its cycle: it keeps time and has no free line."""
        if isinstance(step, Play) and len(step.parts) == 1:
            line = self.lines.get(step.parts[0][0])
            return line is None or not line.free
        return step.keeps_time

    def cycles_of(self, line: str) -> tuple[Cycle, ...]:
        """The cycles that a line is played in, by first use.

        The piece's own where the form never plays it in any; none where they could not be read.
        """
        return self._cycles_of.get(line, _readable([self.cycle]))

    @cached_property
    def _cycles_of(self) -> dict[str, tuple[Cycle, ...]]:
        played: dict[str, list[Cycle]] = {}
        for step in self.steps:
            if self.is_metered(step):
                for name in step.all_lines:
                    played.setdefault(name, []).append(step.cycle)
        return {line: _readable(cycles) for line, cycles in played.items()}

    @cached_property
    def modes(self) -> tuple[Mode, ...]:
        """Every mode that a line is played in, by first use; at least one."""
        used = [mode for line in self.lines for mode in self.modes_of(line)]
        return tuple(dict.fromkeys(used)) or (self.mode,)

    def modes_of(self, line: str) -> tuple[Mode, ...]:
        """The modes that a line is played in, by first use, itself or as a part of another; the
        piece's own where the form never plays it."""
        return self._modes_of.get(line, (self.mode,))

    @cached_property
    def _modes_of(self) -> dict[str, tuple[Mode, ...]]:
        played: dict[str, dict[Mode, None]] = {}
        for step in self.steps:
            left = list(step.all_lines)
            while left:
                name = left.pop()
                if step.state.mode not in played.setdefault(name, {}):
                    played[name][step.state.mode] = None
                    left += self.lines[name].parts if name in self.lines else ()
        for line in self.lines.values():
            self._give_modes(line, played)
        return {line: tuple(modes) for line, modes in played.items()}

    def _give_modes(self, line: Line, played: dict[str, dict[Mode, None]]) -> None:
        """Give the modes of a line to those that it comes from, where the form plays them in
        none."""
        here = played.get(line.name, {})
        while line.derivation is not None and line.derivation.mode is None:
            source = self.lines.get(line.derivation.source)
            if source is None or source.name in self.heard_lines:
                return
            played[source.name] = played.get(source.name, {}) | here
            line = source

    @cached_property
    def in_each_mode(self) -> tuple[tuple[str, Piece], ...]:
        """The piece for each mode of its form with the lines that are played in it, and the mode's
        name where there are several; without the lines that are mere rhythms."""
        mere = mere_rhythms(self.lines, self.steps)
        sounding = {name: line for name, line in self.lines.items() if name not in mere}
        if self.modes == (self.mode,):
            return (("", replace(self, lines=sounding) if mere else self),)
        views = []
        for mode in self.modes:
            lines = {name: line for name, line in sounding.items() if mode in self.modes_of(name)}
            steps = tuple(step for step in self.steps if step.state.mode == mode)
            views.append((mode.name, replace(self, mode=mode, lines=lines, form=steps)))
        return tuple(views)

    @cached_property
    def cycles(self) -> tuple[Cycle, ...]:
        """Every cycle that is played in or that a line is measured in, by first use; at least one.

        A line that the form leaves out is measured in the piece's own.
        """
        used = [step.cycle for step in self.steps if self.is_metered(step)]
        for line in self.standing_lines:
            used += () if line.free else self.cycles_of(line.name)
        return _readable(used) or (self.cycle,)

    def players_of(self, step: Step, line: str) -> tuple[Player, ...]:
        """Return the players of a line in a step, those who loop it beneath the step among them."""
        below = {one.player for one in step.under if line in one.lines}
        own = self.own_players_of(step, line) if line in step.uses else ()
        return tuple(p for p in self.players if p.name in below or p in own)

    def own_players_of(self, step: Step, line: str) -> tuple[Player, ...]:
        """Return the players of a line that a step itself plays."""
        kind = self.lines[line].kind
        busy = {one.player for one in step.under}
        able = [p for p in self.players if p.takes(kind) and p.name not in busy]
        named: Collection[str] = ()
        if isinstance(step, Play):
            named = next((players for name, players in step.parts if name == line), ())
            taken = {name for other, players in step.parts if other != line for name in players}
            able = [player for player in able if player.name not in taken]
        elif isinstance(step, Free | Solo):
            named = step.by
        if named:
            able = [p for p in self.players if p.name in named and p.can_play(kind)]
        if isinstance(step, Solo):
            able = [player for player in able if player.name != step.player]
        return tuple(able)

    def called(self, cycle: Cycle) -> str:
        """A cycle by name; with its length where another of the same name is in use."""
        alike = [other for other in self.cycles if other.name == cycle.name]
        return f"{cycle.name} ({show_exact(cycle.beats)})" if len(alike) > 1 else cycle.name


def _readable(cycles: Iterable[Cycle]) -> tuple[Cycle, ...]:
    """Each cycle once, without what could not be read."""
    return tuple(cycle for cycle in dict.fromkeys(cycles) if cycle is not ANY_CYCLE)
