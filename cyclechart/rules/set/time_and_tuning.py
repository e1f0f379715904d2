"""Rules over a gig: its pieces, its length and its changes of tuning.

The times for tuning are common practice; the players' own word comes first.
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
"""The most semitones by which a drum head or a string is usually retuned."""


@rule("error")
def unready_piece(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """A piece of the set cannot be read completely, so it has no chart and no known length.

    wrong:  pieces: [half-done.yaml]      (and cyclechart check finds errors in reading it)
    right:  fix the piece first
    """
    for tune in gig.setlist.tunes:
        if not tune.is_ready:
            errors = sum(one.severity == "error" for one in tune.loaded.findings)
            counted = "1 error" if errors == 1 else f"{errors} errors"
            message = f"{tune.file} cannot be read completely ({counted}), so the set leaves it out"
            yield this.found(tune.spot, message, f"cyclechart check {tune.file}")


@rule("warning")
def repeated_piece(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """The same piece is in the set twice.

    wrong:  pieces: [salt-road.yaml, two-tides.yaml, salt-road.yaml]
    right:  pieces: [salt-road.yaml, two-tides.yaml]
    """
    first: dict[str, int] = {}
    for tune in gig.setlist.tunes:
        if tune.file in first:
            message = f"{tune.file} is already in the set, as number {first[tune.file]}"
            yield this.found(tune.spot, message, "leave one of the two out")
        first.setdefault(tune.file, tune.number)


@rule("warning")
def over_time(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """The set, with its breaks and retuning, takes more minutes than its `length` allows.

    A piece takes the `minutes` that the set list gives it, or else as long as its form is written.

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
    """Yield the tune to leave out so that the set fits best, and the length that fits all of it."""
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
    """The set list gives a tune fewer minutes than its form takes as written.

    wrong:  {piece: two-tides.yaml, minutes: 2}      (its form takes nearly four)
    right:  {piece: two-tides.yaml, minutes: 5}
    """
    for tune in gig.tunes:
        if tune.minutes < tune.written:
            message = (
                f"'{tune.title}' takes {clock_time(tune.written)} as written, not "
                f"{clock_time(tune.minutes)}"
            )
            yield this.found(tune.tune.spot, message, f"minutes: {ceil(tune.written)}")


@rule("advice")
def retuning(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """Sa changes from one tune to the next, so drone and hand drums must be retuned.

    That takes the minutes of `retune` (two, if it is not given), unless there is a break. A drum
    head or a string is usually retuned by two semitones at most: for more, bring a second one.

    wrong:  pieces: [ferry-at-first-light.yaml, lock-eleven.yaml]         (from D to A)
    right:  pieces: [ferry-at-first-light.yaml, {break: 15}, lock-eleven.yaml]
    """
    for change in gig.changes:
        if change.minutes:
            by = change.semitones
            way = f"{abs(by)} semitone{'s' if abs(by) > 1 else ''} {'up' if by > 0 else 'down'}"
            far = ", more than the usual two" if abs(by) > FAR else ""
            who = " and ".join(player.name for player in change.who)
            message = (
                f"{who} must retune from {change.since} to {change.after.begins_on}, {way}{far}; "
                f"allow {clock_time(change.minutes)}"
            )
            yield this.found(change.after.tune.spot, message, *_on_one_sa(gig, change))


def _on_one_sa(gig: Gig, change: Retuning) -> Iterator[str]:
    """Yield the Sa of the tune before, if it is comfortable for all and makes the set shorter."""
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
    """Return a tune that stays on one Sa, moved to another."""
    form = tuple(replace(step, state=replace(step.state, tonic=tonic)) for step in tune.piece.form)
    return replace(tune, piece=replace(tune.piece, tonic=tonic, form=form))


def _is_at_ease(part: PlayerLine) -> bool:
    return part.range.low <= part.bottom and part.top <= part.range.high


@rule("advice")
def fewer_retunings(gig: Gig, this: SetRule) -> Iterator[Finding]:
    """In another order of the same tunes the audience would wait less often for tuning.

    The first tune, the last tune and the breaks stay where they are.

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
    """Every finding over a gig, each once. Its pieces are judged separately."""
    found: Iterable[Finding] = (one for rule in SET_RULES for one in rule.check(gig, rule))
    return list(dict.fromkeys(found))
