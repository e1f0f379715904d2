"""The order in which the bars of a tune are played: repeats, endings, from the sign or the top."""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.transcription.tune import Bar

MOST_BARS = 20_000
"""The most bars played; more is a slip or an attack."""


def playing_order(bars: Sequence[Bar]) -> list[int] | None:
    """Return the indices of the bars as they are played; None where the signs make no sense: a bar
    is never reached, or there is no end."""
    order, jump_at = _with_repeats(bars)
    if jump_at is not None:
        order += _after_jump(bars, jump_at)
    unreached = set(range(len(bars))) - set(order)
    return None if unreached or len(order) > MOST_BARS else order


def _with_repeats(bars: Sequence[Bar]) -> tuple[list[int], int | None]:
    """Return the bars to the end or to the first jump, and where that stands."""
    order: list[int] = []
    at = first = 0
    turn = 1
    while at < len(bars) and len(order) <= MOST_BARS:
        bar = bars[at]
        if bar.opens_repeat and at != first:
            first, turn = at, 1
        if bar.endings and turn not in bar.endings:
            at += 1
            continue
        order.append(at)
        if bar.closes_repeat:
            if turn < _times(bars, at):
                turn, at = turn + 1, first
                continue
            first, turn = at + 1, 1
        elif bar.endings and not _goes_on(bars, at):
            first, turn = at + 1, 1
        if bar.jump:
            return order, at
        at += 1
    return order, None


def _goes_on(bars: Sequence[Bar], at: int) -> bool:
    """Return whether the next bar is under an ending too."""
    return at + 1 < len(bars) and bool(bars[at + 1].endings)


def _times(bars: Sequence[Bar], at: int) -> int:
    """Return how often a passage is played that the repeat at the end of a bar closes."""
    if not bars[at].endings:
        return bars[at].closes_repeat
    first = last = at
    while first and bars[first - 1].endings:
        first -= 1
    while _goes_on(bars, last):
        last += 1
    return max(number for bar in bars[first : last + 1] for number in bar.endings)


def _after_jump(bars: Sequence[Bar], jump_at: int) -> list[int]:
    """Return what is played after a jump back: no repeats, the last endings, to the fine or by the
    way to the coda."""
    at = 0
    if bars[jump_at].jump == "ds":
        at = next((index for index, bar in enumerate(bars) if bar.segno), 0)
    coda = next((index for index, bar in enumerate(bars) if bar.coda), None)
    order: list[int] = []
    while at < len(bars):
        bar = bars[at]
        if not bar.endings or max(bar.endings) == _times(bars, at):
            order.append(at)
            if bar.fine:
                break
            if bar.to_coda and coda is not None and coda > at:
                at = coda
                continue
            if at == jump_at and coda is None:
                break
        at += 1
    return order
