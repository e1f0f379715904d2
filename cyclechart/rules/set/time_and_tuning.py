"""Rules over a gig: what a set list asks of the band beyond its single pieces.

How long a change of tuning takes is common practice; the players' own word goes first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from math import ceil

from cyclechart.finding import Finding
from cyclechart.piece.set.gig import (
    Gig,
    GigItem,
    GigTune,
    Retuning,
    changes_in,
    clock_time,
    total_of,
)
from cyclechart.piece.set.setlist import Break
from cyclechart.rules.piece.players import PlayerLine, player_lines
from cyclechart.rules.rule import rule
from cyclechart.rules.set.order import better_order
from cyclechart.rules.set.players import (
    absent_player,
    instrument_change,
    missing_player,
    no_rest,
    strained_set,
)
from cyclechart.rules.set.rule import SetRule
from cyclechart.theory.spelling import Tonic

FAR = 2
"""Semitones that a drum's head and a string are tuned by at most as a rule."""


@rule("error")
def unready_piece(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A piece of the set cannot be read whole: it has no chart, and its length is not known.

    wrong:  pieces: [half-done.yaml]      (and cyclechart check finds errors in reading it)
    right:  mend the piece first
    """
    for tune in gig.setlist.tunes:
        if not tune.is_ready:
            errors = sum(one.severity == "error" for one in tune.loaded.findings)
            counted = "1 error" if errors == 1 else f"{errors} errors"
            message = f"{tune.file} cannot be read whole ({counted}): the set is without it"
            yield this.found(tune.spot, message, f"cyclechart check {tune.file}")


@rule("warning")
def repeated_piece(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """The same piece stands in the set twice.

    wrong:  pieces: [salt-road.yaml, two-tides.yaml, salt-road.yaml]
    right:  pieces: [salt-road.yaml, two-tides.yaml]
    """
    first: dict[str, int] = {}
    for tune in gig.setlist.tunes:
        if tune.file in first:
            message = f"{tune.file} stands in the set already, as number {first[tune.file]}"
            yield this.found(tune.spot, message, "leave one of the two out")
        first.setdefault(tune.file, tune.number)


@rule("warning")
def over_time(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """The set is longer than the minutes it must fit into, with its breaks and its retuning.

    A piece takes the `minutes` that the set list gives it, or what its form takes as written.

    wrong:  length: 15      pieces: [{piece: salt-road.yaml, minutes: 9},
                                     {piece: two-tides.yaml, minutes: 9}]
    right:  length: 20      and the same pieces
    """
    length = gig.setlist.length
    if length is None or gig.minutes <= length:
        return
    message = (
        f"the set takes {clock_time(gig.minutes)}, which is "
        f"{clock_time(gig.minutes - length)} over its {clock_time(length)}"
    )
    yield this.found(gig.setlist.length_spot, message, *_ways_to_fit(gig, length))


def _ways_to_fit(gig: Gig, length: Fraction) -> Iterator[str]:
    """The tune without which the set fits most nearly, and the least length that holds it all."""
    fits: list[tuple[Fraction, GigTune]] = []
    for tune in gig.tunes:
        rest = [item for item in gig.items if item is not tune]
        total = total_of(rest, gig.setlist.retune)
        if len(gig.tunes) > 1 and total <= length:
            fits.append((total, tune))
    if fits:
        total, tune = max(fits, key=lambda one: one[0])
        yield f"leave out {tune.called}: {clock_time(total)}"
    yield f"length: {ceil(gig.minutes)}"


@rule("advice")
def short_estimate(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """The leader gives a tune fewer minutes than its form takes as it is written.

    wrong:  {piece: two-tides.yaml, minutes: 2}      (its form takes nearly four)
    right:  {piece: two-tides.yaml, minutes: 5}
    """
    for tune in gig.tunes:
        if tune.minutes < tune.written:
            message = (
                f"'{tune.title}' takes {clock_time(tune.written)} as its form is written, not "
                f"{clock_time(tune.minutes)}"
            )
            yield this.found(tune.tune.spot, message, f"minutes: {ceil(tune.written)}")


@rule("advice")
def retuning(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """Sa moves from one tune to the next, and drone and hand drums have to be tuned meanwhile.

    Two minutes are common, or what `retune` says; a break gives the time. As a rule a drum's head
    and a string are tuned by two semitones at most: further off, bring another of either, tuned.

    wrong:  pieces: [ferry-at-first-light.yaml, lock-eleven.yaml]         (from D to A)
    right:  pieces: [ferry-at-first-light.yaml, {break: 15}, lock-eleven.yaml]
    """
    for change in gig.changes:
        if change.minutes:
            by = change.semitones
            way = f"{abs(by)} semitone{'s' if abs(by) > 1 else ''} {'up' if by > 0 else 'down'}"
            far = ", further than one is tuned as a rule" if abs(by) > FAR else ""
            who = " and ".join(player.name for player in change.who)
            message = (
                f"{who}: from {change.since} to {change.after.begins_on}, {way}{far}; "
                f"{clock_time(change.minutes)} for it"
            )
            yield this.found(change.after.tune.spot, message, *_on_one_sa(gig, change))


def _on_one_sa(gig: Gig, change: Retuning) -> Iterator[str]:
    """The later tune on the Sa of the one before, where everybody is at ease on it and the set is
    shorter so."""
    after, there = change.after, change.since
    if {step.state.tonic for step in after.piece.steps} != {after.piece.tonic}:
        return
    on_it = _on(after, there)
    items = [on_it if item is after else item for item in gig.items]
    if total_of(items, gig.setlist.retune) < gig.minutes and all(
        _is_at_ease(part) for part in player_lines(on_it.piece)
    ):
        yield f"tonic: {there} for '{after.title}' (nobody has to strain there)"


def _on(tune: GigTune, tonic: Tonic) -> GigTune:
    """A tune of one Sa on another."""
    form = tuple(replace(step, state=replace(step.state, tonic=tonic)) for step in tune.piece.form)
    return replace(tune, piece=replace(tune.piece, tonic=tonic, form=form))


def _is_at_ease(part: PlayerLine) -> bool:
    return part.range.low <= part.bottom and part.top <= part.range.high


@rule("advice")
def fewer_retunings(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """Another order of the same tunes would have the audience wait for tuning less often.

    The first and the last tune are left where they are, and so are the breaks. What is to be tried
    has been counted.

    wrong:  pieces: on D, on G, on D, on G
    right:  pieces: on D, on D, on G, on G
    """
    waits = sum(change.minutes > 0 for change in gig.changes)
    best = better_order(gig) if waits > 1 else None
    if best is None:
        return
    left = sum(change.minutes > 0 for change in changes_in(best, gig.setlist.retune))
    counted = "once" if left == 1 else f"{left} times" if left else "never"
    order = ", ".join(_called(item) for item in best)
    message = f"the set is retuned {waits} times; in another order {counted}"
    yield this.found(gig.setlist.spot, message, f"in this order: {order}")


def _called(item: GigItem) -> str:
    return "break" if isinstance(item, Break) else f"{item.tune.number} {item.title}"


SET_RULES: tuple[SetRule, ...] = (
    unready_piece, missing_player, absent_player, repeated_piece, over_time, short_estimate,
    retuning, fewer_retunings, instrument_change, strained_set, no_rest,
)  # fmt: skip
"""Every rule of the set, in the order in which ``why`` lists them."""


def judge_set(gig: Gig) -> list[Finding]:
    """Every finding over a gig, each once. Its pieces are judged by themselves."""
    found: Iterable[Finding] = (one for rule in SET_RULES for one in rule.check(gig, rule))
    return list(dict.fromkeys(found))
