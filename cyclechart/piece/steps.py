"""The steps of a form as data: what is played, by whom, and what is in force while it is."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from cyclechart.finding import Spot
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

LEVELS = ("pp", "p", "mp", "mf", "f", "ff")
BREAKS = ("page", "system")


@dataclass(frozen=True, slots=True)
class Under:
    """The lines that a player loops beneath whatever happens, one after the other, as written at
    ``spot``."""

    player: str
    lines: tuple[str, ...]
    spot: Spot


@dataclass(frozen=True)
class StepState:
    """The cycle, mode, tonic and tempo of a step, its own or carried on from the steps before it.

    ``tempo`` is the one it begins in, in beats a minute; ``to_tempo`` the one it comes to by its
    end, or None. ``level`` is how loud the step is (``pp`` to ``ff``), or "", and ``break_before``
    the break asked for before it on every chart (one of ``BREAKS``), or "": these are not carried
    on. ``swing`` is how the first half of a halved beat lasts to the second (1: straight);
    ``under`` what players loop while they have no line.
    """

    cycle: Cycle
    mode: Mode
    tonic: Tonic
    tempo: Fraction
    to_tempo: Fraction | None = None
    level: str = ""
    break_before: str = field(default="", compare=False)
    swing: Fraction = Fraction(1)
    under: tuple[Under, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Hits:
    """Figures that the rhythm section plays together: the rhythm of a line, or of the accented
    notes of the lines that a step plays (``line`` is "").

    ``by``: the players, () for the drum kit and the bass. ``stops``: between the figures they are
    silent (stop-time).
    """

    line: str
    by: tuple[str, ...]
    stops: bool
    spot: Spot

    def silences(self, player: Player) -> bool:
        """Return whether a player plays nothing but the figures."""
        return self.stops and hits_along(self.by, player)


def hits_along(named: tuple[str, ...], player: Player) -> bool:
    """Return whether a player plays hits for which players are named; () are kit and bass."""
    if named:
        return player.name in named
    return player.instrument.is_kit or player.role.plays_roots


@dataclass(frozen=True, slots=True, kw_only=True)
class Directions:
    """What the leader says over one step; none of it is carried on.

    ``notes``: words for all ("") or for a player. ``octaves``: by how many octaves a player has
    their lines higher. ``fermata``: seconds that the last stroke is held over the drone, or None.
    """

    notes: tuple[tuple[str, str], ...] = ()
    octaves: tuple[tuple[str, int], ...] = ()
    hits: Hits | None = None
    fermata: Fraction | None = None

    def note_for(self, player: str) -> str:
        """Return the words for a player: those for all and their own."""
        return ", ".join(text for name, text in self.notes if name in ("", player))

    def octave_of(self, player: str) -> int:
        """Return by how many octaves a player has their lines higher."""
        return dict(self.octaves).get(player, 0)


PLAIN = Directions()
"""No directions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: its place in the file, its number of times, and what is in force.

    ``under``: what players loop beneath it, of those who have nothing else to play in it.
    """

    spot: Spot
    times: int
    state: StepState
    under: tuple[Under, ...] = ()
    directions: Directions = PLAIN

    @property
    def cycle(self) -> Cycle:
        """The cycle in force."""
        return self.state.cycle

    @property
    def uses(self) -> tuple[str, ...]:
        """The lines that it needs."""
        return ()

    @property
    def all_lines(self) -> tuple[str, ...]:
        """The lines that it needs, and those that are played beneath it."""
        under = (line for one in self.under for line in one.lines)
        hits = self.directions.hits
        figure = (hits.line,) if hits is not None and hits.line else ()
        return tuple(dict.fromkeys((*self.uses, *under, *figure)))

    @property
    def names(self) -> tuple[str, ...]:
        """The players that it names."""
        return ()

    @property
    def keeps_time(self) -> bool:
        """Return whether it goes by its cycle; a line of its own may still be free of it."""
        return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Play(Step):
    """Lines at once, each with the players that have it; () is everybody who can."""

    parts: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def uses(self) -> tuple[str, ...]:
        """The lines played."""
        return tuple(dict.fromkeys(line for line, _ in self.parts))

    @property
    def names(self) -> tuple[str, ...]:
        """The players named."""
        return tuple(name for _, players in self.parts for name in players)


@dataclass(frozen=True, slots=True, kw_only=True)
class Free(Step):
    """A stretch without meter over the drone: a line stretched over it, or a player's own.

    ``by``: the players of a line; () is everybody who can.
    """

    what: str
    is_line: bool
    seconds: Fraction | None
    by: tuple[str, ...] = ()

    @property
    def uses(self) -> tuple[str, ...]:
        """The line stretched."""
        return (self.what,) if self.is_line else ()

    @property
    def names(self) -> tuple[str, ...]:
        """The players named."""
        return self.by if self.is_line else (self.what,)

    @property
    def keeps_time(self) -> bool:
        """False: a free step has no meter."""
        return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold(Step):
    """The fermata of the step before it: its last stroke is held over the drone."""

    seconds: Fraction

    @property
    def keeps_time(self) -> bool:
        """False: a hold has no meter."""
        return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Solo(Step):
    """Cycles left open for a player, over a line that keeps time or over the others."""

    player: str
    cycles: int
    over: str | None
    on_cue: bool
    by: tuple[str, ...] = ()
    """The players of the line under it; () is everybody else who can."""

    @property
    def uses(self) -> tuple[str, ...]:
        """The line under the solo."""
        return () if self.over is None else (self.over,)

    @property
    def names(self) -> tuple[str, ...]:
        """The players named."""
        return (self.player, *self.by)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trade(Step):
    """Cycles handed from player to player, so many to each turn.

    A player may have several turns of a round, also one after the other. Where it ``halves``
    (koraippu), each round hands over half as much as the one before, down to half a cycle where
    turns and cycle allow that, and all play the last cycle together.
    """

    players: tuple[str, ...]
    cycles: int
    halves: bool = False

    @property
    def shares(self) -> tuple[Fraction, ...]:
        """The cycles of each turn in each round."""
        shares = [Fraction(self.cycles)]
        while self.halves and self._can_share(shares[-1] / 2):
            shares.append(shares[-1] / 2)
        return tuple(shares)

    def _can_share(self, share: Fraction) -> bool:
        """Return whether a share is half a cycle or more, whole beats, and a round of it is whole
        cycles."""
        beats, round_ = share * self.cycle.beats, share * len(self.players)
        whole = share.denominator == 1 or beats.denominator == round_.denominator == 1
        return share >= Fraction(1, 2) and whole

    @property
    def all_cycles(self) -> int:
        """All cycles of one time through, the one together included."""
        return int(sum(self.shares) * len(self.players)) + self.halves

    @property
    def names(self) -> tuple[str, ...]:
        """The players named."""
        return self.players


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove(Step):
    """Cycles of drone and percussion alone. ``label`` is what they are for, or ""."""

    cycles: int
    label: str = ""
