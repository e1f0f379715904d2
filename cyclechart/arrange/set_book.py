"""The book of a set as data: a page for each tune with its starting time and its players.

This module also turns a set list into a gig: each tune is transposed to its Sa, given its players,
and timed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.clock import minutes_of
from cyclechart.arrange.transpose import transposed
from cyclechart.catalog.roles import Role
from cyclechart.piece.mode_settings import over_band_drone
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.piece.player import Player
from cyclechart.piece.set.gig import Gig, GigTune, Retuning, clock_time, players_at
from cyclechart.piece.set.setlist import Break, Setlist, Tune
from cyclechart.text.display import player_title
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, readable_tonic


@dataclass(frozen=True)
class Seat:
    """A player in a tune: their name, the title of their instrument, and their role."""

    name: str
    instrument: str
    role: Role


@dataclass(frozen=True, kw_only=True)
class TunePage:
    """A tune in the book. Times are in minutes, ``starts`` from the beginning of the set.

    ``piece`` is the piece as played at this gig; its chart is drawn from it. ``estimated``: True
    where the leader gave the minutes. ``out``: names of the piece's players who sit out.
    ``retuning``: a sentence on retuning before the next tune, or "".
    """

    number: int
    piece: Piece
    title: str
    composer: str
    modes: tuple[str, ...]
    cycles: tuple[str, ...]
    tonic: Tonic
    tempo: Fraction
    minutes: Fraction
    estimated: bool
    starts: Fraction
    seats: tuple[Seat, ...]
    out: tuple[str, ...]
    note: str
    retuning: str


@dataclass(frozen=True)
class BreakPage:
    """A break in the book, in minutes."""

    minutes: Fraction
    starts: Fraction
    note: str


@dataclass(frozen=True, kw_only=True)
class SetBook:
    """The book of a set. Times are in minutes.

    ``music``, ``breaks`` and ``retuning`` add up to ``minutes``; ``length`` is the time available,
    or None. ``modes``, ``cycles`` and ``players`` (names) are those in use, each once, in order of
    first use; ``listed`` has the names of the set's own list of players.
    """

    title: str
    date: str
    venue: str
    entries: tuple[TunePage | BreakPage, ...]
    music: Fraction
    breaks: Fraction
    retuning: Fraction
    minutes: Fraction
    length: Fraction | None
    modes: tuple[Mode, ...]
    cycles: tuple[Cycle, ...]
    players: tuple[str, ...]
    listed: tuple[str, ...] = ()
    starts: int | None = None
    """The minute of the day at which it starts, or None."""
    edition: str = ""

    def has_player(self, name: str) -> bool:
        """Return True for a player at the gig; everybody is, in a set without a list of players."""
        return not self.listed or name in self.listed

    @property
    def tunes(self) -> tuple[TunePage, ...]:
        """The tunes in order, without the breaks."""
        return tuple(entry for entry in self.entries if isinstance(entry, TunePage))


def gig_of(setlist: Setlist) -> Gig:
    """Return the gig of a set list, without tunes that could not be read completely."""
    # The players can change the length (a pickup may have to wait); the Sa cannot.
    lengths: dict[tuple[str, tuple[Player, ...]], Fraction] = {}
    items: list[GigTune | Break] = []
    for entry in setlist.entries:
        if isinstance(entry, Break):
            items.append(entry)
        elif entry.is_ready and entry.loaded.piece is not None:
            piece = _piece_at_gig(setlist, entry, entry.loaded.piece)
            known = entry.file, piece.players
            if known not in lengths:
                lengths[known] = minutes_of(piece)
            items.append(GigTune(entry, piece, lengths[known]))
    return Gig(setlist, tuple(items))


def _piece_at_gig(setlist: Setlist, tune: Tune, piece_in_file: Piece) -> Piece:
    transposed_piece = (
        piece_in_file if tune.tonic is None else transposed(piece_in_file, tune.tonic)
    )
    players = players_at(setlist, tune, piece_in_file)
    return over_band_drone(replace(transposed_piece, players=players))


def set_book_of(gig: Gig) -> SetBook:
    """Return the book of a gig."""
    setlist = gig.setlist
    changes = {change.before.tune.number: change for change in gig.changes}
    entries = tuple(
        BreakPage(item.minutes, starts, item.note)
        if isinstance(item, Break)
        else _page(item, starts, changes.get(item.tune.number))
        for item, starts in zip(gig.items, gig.starts, strict=True)
    )
    pieces = [tune.piece for tune in gig.tunes]
    return SetBook(
        title=setlist.title,
        date=setlist.date,
        venue=setlist.venue,
        entries=entries,
        music=_sum(tune.minutes for tune in gig.tunes),
        breaks=_sum(item.minutes for item in gig.items if isinstance(item, Break)),
        retuning=_sum(change.minutes for change in gig.changes),
        minutes=gig.minutes,
        length=setlist.length,
        modes=tuple(dict.fromkeys(mode.as_defined for piece in pieces for mode in modes_in(piece))),
        cycles=tuple(dict.fromkeys(cycle for piece in pieces for cycle in _cycles(piece))),
        players=tuple(dict.fromkeys(player.name for piece in pieces for player in piece.players)),
        listed=tuple(player.name for player in setlist.players),
        starts=setlist.starts,
        edition=setlist.edition,
    )


def _page(tune: GigTune, starts: Fraction, change: Retuning | None) -> TunePage:
    piece = tune.piece
    playing = {player.name for player in piece.players}
    players_in_file = (tune.tune.loaded.piece or piece).players
    return TunePage(
        number=tune.tune.number,
        piece=piece,
        title=piece.title,
        composer=piece.composer,
        modes=tuple(dict.fromkeys(mode.name for mode in modes_in(piece))),
        cycles=tuple(piece.called(cycle) for cycle in _cycles(piece)),
        tonic=readable_tonic(piece.tonic, piece.mode.tones),
        tempo=piece.tempo,
        minutes=tune.minutes,
        estimated=tune.tune.minutes is not None,
        starts=starts,
        seats=tuple(
            Seat(member.name, member.instrument.title, member.role) for member in piece.players
        ),
        out=tuple(
            member.name
            for member in players_in_file
            if member.spot.file and member.name not in playing
        ),
        note=tune.tune.note,
        retuning="" if change is None else _retuning(change),
    )


def _retuning(change: Retuning) -> str:
    """Return ``tanpura and tabla to G (5 semitones up), 2:00``; in a break there is no time."""
    who = " and ".join(player_title(player.name) for player in change.who)
    by = change.semitones
    way = f"{abs(by)} semitone{'s' if abs(by) > 1 else ''} {'up' if by > 0 else 'down'}"
    when = clock_time(change.minutes) if change.minutes else "in the break"
    return f"{who} to {change.after.begins_on} ({way}), {when}"


def _cycles(piece: Piece) -> tuple[Cycle, ...]:
    return tuple(cycle for cycle in piece.cycles if cycle is not ANY_CYCLE)


def _sum(times: Iterable[Fraction]) -> Fraction:
    return sum(times, Fraction(0))


def modes_in(piece: Piece) -> tuple[Mode, ...]:
    """Return the modes of a piece, those of its lines and then those of steps without any."""
    return tuple(dict.fromkeys([*piece.modes, *(step.state.mode for step in piece.steps)]))
