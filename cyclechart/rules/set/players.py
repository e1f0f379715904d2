"""Rules over the players of a gig: missing players, changes of instrument, rest.

The limits for lips and voices are common practice; the player's own word comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from cyclechart.finding import Finding
from cyclechart.piece.set.gig import Gig, GigTune, clock_time
from cyclechart.piece.steps import Free, Solo, Step, Trade
from cyclechart.rules.piece.players import WaysOut, player_lines, range_of
from cyclechart.rules.rule import rule
from cyclechart.rules.set.rule import SetRule
from cyclechart.theory.ranges import lie

MUCH = Fraction(1, 8)
"""The share of a player's notes outside the comfortable range that makes a tune a strain."""
IN_A_ROW = 3
"""The number of strained tunes in a row that is too many."""
LONGEST_BLOW = 60
"""The most minutes that a wind player or singer plays without a break."""


@rule("error")
def missing_player(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A tune needs a player who is absent: they have a solo, or a line that nobody else has.

    wrong:  {piece: two-tides.yaml, without: [violin]}      (the violin has a solo in it)
    right:  {piece: two-tides.yaml, without: [guitar]}
    """
    for tune in gig.tunes:
        needed: dict[str, str] = {}
        for step in tune.piece.steps:
            for name, what in _needs(tune, step):
                needed.setdefault(name, what)
        for name, what in needed.items():
            message = f"{name} is absent, and has {what} in '{tune.title}'"
            yield this.found(tune.tune.spot, message, _bring(tune, name))


def _needs(tune: GigTune, step: Step) -> Iterator[tuple[str, str]]:
    """Yield each player without whom a step cannot be played, with the part they have in it."""
    there = {player.name for player in tune.piece.players}
    if isinstance(step, Solo) and step.player not in there:
        yield step.player, "a solo"
    elif isinstance(step, Trade):
        yield from ((name, "a part in the trading") for name in step.players if name not in there)
    elif isinstance(step, Free) and not step.is_line and step.what not in there:
        yield step.what, "a free opening"
    written = tune.tune.loaded.piece
    for line in step.uses:
        if written and line in written.lines and not tune.piece.players_of(step, line):
            for player in written.players_of(step, line)[:1]:
                yield player.name, f"'{line}'"


@rule("warning")
def absent_player(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A tune has a player who is not in the set's band, and `without` does not name them.

    wrong:  players: {flute: , tabla: }    pieces: [song.yaml]      (for flute, guitar and tabla)
    right:  players: {flute: , tabla: }    pieces: [{piece: song.yaml, without: [guitar]}]
    """
    for tune in gig.tunes:
        there = {player.name for player in tune.piece.players}
        needed = {name for step in tune.piece.steps for name, _ in _needs(tune, step)}
        absent = [
            player.name
            for player in (tune.tune.loaded.piece or tune.piece).players
            if player.spot.file
            and player.name not in there | needed
            and player.name not in tune.tune.without
        ]
        if absent:
            verb = "is" if len(absent) == 1 else "are"
            message = f"{_and(absent)} {verb} in '{tune.title}' but not in the set's band"
            names = ", ".join([*tune.tune.without, *absent])
            yield this.found(tune.tune.spot, message, f"without: [{names}]")


def _and(names: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def _bring(tune: GigTune, name: str) -> str:
    """Return the try that brings a missing player in."""
    if name in tune.tune.without:
        return f"take {name} out of 'without'"
    return f"add {name} to the set's players"


@rule("advice")
def instrument_change(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A player changes instruments for the next tune without a pause.

    The same name in both pieces means the same person.

    wrong:  one piece with players: {reeds: {instrument: alto-sax}}, the next with
            {reeds: {instrument: clarinet}}, on the same Sa
    right:  a break between them, or a tune without that player
    """
    waited = {change.after.tune.number for change in gig.changes if change.minutes}
    for run in gig.runs():
        for before, after in pairwise(run):
            if after.tune.number in waited:
                continue
            held = {player.name: player.instrument for player in before.playing}
            for player in after.playing:
                old = held.get(player.name, player.instrument)
                if old.name != player.instrument.name:
                    message = (
                        f"{player.name} goes from {old.title} to {player.instrument.title} "
                        f"for '{after.title}' without a pause"
                    )
                    yield this.found(after.tune.spot, message, "- break: 1")


@rule("warning")
def strained_set(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A wind player or singer has three tunes or more in a row that are a strain.

    A tune is a strain if an eighth of what they play is outside their comfortable range. Lips and
    voices tire: stop before it hurts.

    wrong:  three tunes one after another in which the flute stays above its comfortable range
    right:  a break between them, a tune without it, or one of them on a lower Sa
    """
    strained = {tune.tune.number: _strained(tune) for tune in gig.tunes}
    for name in dict.fromkeys(player.name for tune in gig.tunes for player in tune.playing):
        for run in gig.runs():
            row: list[GigTune] = []
            for tune in (*run, None):
                if tune is not None and name in strained[tune.tune.number]:
                    row.append(tune)
                    continue
                if len(row) >= IN_A_ROW:
                    message = (
                        f"{name} is strained in {len(row)} tunes in a row, from '{row[0].title}' on"
                    )
                    yield this.found(row[0].tune.spot, message, *_relief(name, row))
                row = []


def _strained(tune: GigTune) -> set[str]:
    """The names of the wind players and singers for whom a tune is a strain."""
    parts = list(player_lines(tune.piece))
    found = set()
    for player in tune.playing:
        keys = [keys for part in parts if part.player == player for keys in part.sounding]
        how = lie(keys, range_of(player)) if player.instrument.breath else None
        if how is not None and how.strained + how.beyond >= MUCH:
            found.add(player.name)
    return found


def _relief(name: str, row: list[GigTune]) -> Iterator[str]:
    """Yield ways to split the row: a Sa on which one of the tunes is no strain, and breaks."""
    short = IN_A_ROW - 1
    for number, tune in enumerate(row):
        player = next(one for one in tune.playing if one.name == name)
        ways = WaysOut(tune.piece, list(player_lines(tune.piece))).of(player)
        if max(number, len(row) - number - 1) <= short:
            for way in ways:
                if way.text.startswith("tonic: "):
                    yield f"{way.text} for {tune.called}"
                    break
            else:
                continue
            break
    places = [row[number - 1].called for number in range(short, len(row), short)]
    yield f"a break, or a tune without {name}, after {_and(places)}"


@rule("advice")
def no_rest(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A wind player or singer plays for more than an hour without a break or a tune off.

    wrong:  seventy minutes of tunes, the flute in each
    right:  - break: 15      after half of them
    """
    for name, run in _without_rest(gig):
        minutes = sum((tune.minutes for tune in run), Fraction(0))
        if minutes > LONGEST_BLOW:
            message = (
                f"{name} has no break and no tune off for {clock_time(minutes)} "
                f"from '{run[0].title}' on"
            )
            tries = _places_to_rest(name, run)
            yield this.found(run[0].tune.spot, message, *tries)


def _without_rest(gig: Gig) -> Iterator[tuple[str, list[GigTune]]]:
    """Yield each wind player and singer with the tunes that they play without a rest between."""
    blown = {
        player.name: None
        for tune in gig.tunes
        for player in tune.playing
        if player.instrument.breath and player.role.plays_melody
    }
    for name in blown:
        for run in gig.runs():
            on_end: list[GigTune] = []
            for tune in run:
                if any(player.name == name for player in tune.playing):
                    on_end.append(tune)
                    continue
                if on_end:
                    yield name, on_end
                on_end = []
            if on_end:
                yield name, on_end


def _places_to_rest(name: str, run: list[GigTune]) -> Iterator[str]:
    """Yield where breaks divide a run so that no part is too long, if they can."""
    total = sum((tune.minutes for tune in run), Fraction(0))
    for parts in range(2, len(run) + 1):
        cuts: list[int] = []
        since = now = Fraction(0)
        for number, tune in enumerate(run):
            if number and now + tune.minutes / 2 - since > total / parts:
                cuts.append(number)
                since = now
            now += tune.minutes
        edges = [0, *cuts, len(run)]
        lengths = [
            sum((tune.minutes for tune in run[a:b]), Fraction(0)) for a, b in pairwise(edges)
        ]
        if max(lengths) <= LONGEST_BLOW:
            places = _and([run[cut - 1].called for cut in cuts])
            yield f"a break, or a tune without {name}, after {places}"
            return
