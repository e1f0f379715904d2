"""A gig: the tunes of a set list as they are played there, and how the time goes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.piece.set.setlist import Break, Setlist, Tune
from cyclechart.piece.steps import Step
from cyclechart.theory.spelling import Tonic


@dataclass(frozen=True)
class GigTune:
    """A tune as it is played at the gig: ``piece`` is on its Sa there, with who plays it there.

    ``written`` is how many minutes the form takes as it is written.
    """

    tune: Tune
    piece: Piece
    written: Fraction

    @property
    def minutes(self) -> Fraction:
        """The minutes that the leader gives it, or else those of its form."""
        return self.written if self.tune.minutes is None else self.tune.minutes

    @property
    def title(self) -> str:
        """The title of the piece."""
        return self.piece.title

    @property
    def called(self) -> str:
        """Its title and number: a set may hold a piece twice."""
        return f"'{self.title}' (number {self.tune.number})"

    @property
    def begins_on(self) -> Tonic:
        """The Sa of its first step."""
        return self.piece.steps[0].state.tonic if self.piece.steps else self.piece.tonic

    @property
    def ends_on(self) -> Tonic:
        """The Sa of its last step."""
        return self.piece.steps[-1].state.tonic if self.piece.steps else self.piece.tonic

    @property
    def tuned(self) -> tuple[Player, ...]:
        """The players who tune to Sa: the drone and the hand drums."""
        return tuple(player for player in self.piece.players if player.tunes_to_sa)

    @cached_property
    def playing(self) -> tuple[Player, ...]:
        """The players who have something to do in it."""
        busy = {player.name for step in self.piece.steps for player in _busy(self.piece, step)}
        return tuple(
            player
            for player in self.piece.players
            if not player.role.waits_for_lines or player.name in busy
        )


GigItem = GigTune | Break


@dataclass(frozen=True)
class Retuning:
    """A change of Sa from one tune to the next.

    ``minutes``: the time that the audience waits, none where there is a break. ``who``: the players
    who must retune, from the Sa of ``since``."""

    before: GigTune
    after: GigTune
    minutes: Fraction
    who: tuple[Player, ...]
    since: Tonic

    @property
    def semitones(self) -> int:
        """The nearer way: −6 to 5."""
        by = self.after.begins_on.semitone - self.since.semitone
        return (by + 6) % 12 - 6


@dataclass(frozen=True)
class Gig:
    """A set list as it is played. A tune that could not be read whole is not among the items."""

    setlist: Setlist
    items: tuple[GigItem, ...]

    @property
    def tunes(self) -> tuple[GigTune, ...]:
        """The tunes in order, without the breaks."""
        return tuple(item for item in self.items if isinstance(item, GigTune))

    @cached_property
    def changes(self) -> tuple[Retuning, ...]:
        """Every change of Sa from tune to tune."""
        return tuple(changes_in(self.items, self.setlist.retune))

    @property
    def minutes(self) -> Fraction:
        """All of it: music, breaks and retuning."""
        return total_of(self.items, self.setlist.retune)

    @cached_property
    def starts(self) -> tuple[Fraction, ...]:
        """The minute of the set at which each item begins, a tune after the retuning for it."""
        waits = {change.after.tune.number: change.minutes for change in self.changes}
        now = Fraction(0)
        starts = []
        for item in self.items:
            now += waits.get(item.tune.number, Fraction(0)) if isinstance(item, GigTune) else 0
            starts.append(now)
            now += item.minutes
        return tuple(starts)

    def runs(self) -> Iterator[tuple[GigTune, ...]]:
        """The tunes between breaks."""
        run: list[GigTune] = []
        for item in self.items:
            if isinstance(item, GigTune):
                run.append(item)
            elif run:
                yield tuple(run)
                run = []
        if run:
            yield tuple(run)


def changes_in(items: Sequence[GigItem], retune: Fraction) -> Iterator[Retuning]:
    """Yield the changes of Sa in an order of items; each takes ``retune`` minutes.

    A tune in which nobody tunes to Sa needs no change: all instruments stay as they are. A player's
    first tune needs none either, because they have tuned before the set."""
    before: GigTune | None = None
    held: dict[str, Tonic] = {}
    rest = Fraction(0)
    for item in items:
        if isinstance(item, Break):
            rest += item.minutes
        elif item.tuned:
            to = item.begins_on.semitone
            who = tuple(p for p in item.tuned if held.get(p.name, item.begins_on).semitone != to)
            if before is not None and who:
                minutes = max(Fraction(0), retune - rest)
                yield Retuning(before, item, minutes, who, held[who[0].name])
            held |= dict.fromkeys((player.name for player in item.tuned), item.ends_on)
            before, rest = item, Fraction(0)


def total_of(items: Sequence[GigItem], retune: Fraction) -> Fraction:
    """Return the minutes that an order of items takes with its retuning."""
    waits = sum((change.minutes for change in changes_in(items, retune)), Fraction(0))
    return sum((item.minutes for item in items), waits)


def players_at(setlist: Setlist, tune: Tune, piece: Piece) -> tuple[Player, ...]:
    """Return the players of a piece at the gig, without those of ``without``.

    They are the piece's own players who are there, with the piece's octaves; for a piece that names
    nobody, all who are there."""
    players = piece.players
    if setlist.players:
        there = {player.name for player in setlist.players}
        names_nobody = not any(player.spot.file for player in players)
        if names_nobody and not any(step.names for step in piece.steps):
            players = setlist.players
        elif not names_nobody:
            players = tuple(player for player in players if player.name in there)
    return tuple(player for player in players if player.name not in tune.without)


def _busy(piece: Piece, step: Step) -> Iterator[Player]:
    """Yield the players with a line or a solo in a step."""
    for line in step.uses:
        if line in piece.lines:
            yield from piece.players_of(step, line)
    yield from (player for player in piece.players if player.name in step.names)


def time_of_day(minutes: Fraction) -> str:
    """Return a time of day from minutes after a midnight: ``20:30``, the minute that has begun."""
    hour, minute = divmod(int(minutes), 60)
    return f"{hour % 24}:{minute:02}"


def clock_time(minutes: Fraction) -> str:
    """Minutes and seconds to the nearest second: ``9:05``; from an hour on ``1:09:05``."""
    whole, seconds = divmod(round(minutes * 60), 60)
    hours, rest = divmod(whole, 60)
    return f"{hours}:{rest:02}:{seconds:02}" if hours else f"{rest}:{seconds:02}"
