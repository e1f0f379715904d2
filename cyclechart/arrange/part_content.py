"""What a player reads in the bars of a timeline, and what is alike in it for many roles.

What is left open for a solo is written as slashes.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import Written, with_slashes
from cyclechart.catalog.instruments import Staff
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Trade
from cyclechart.theory.cycle import Cycle

OWN_TURN = "solo"
"""What stands over a player's own cycles where cycles are traded."""
AT_WILL = "strike again at will"
"""What stands over the tone that a bass or a keyboard holds in a free passage."""


@dataclass(frozen=True)
class Content:
    """What a player reads. ``notes`` in beats of the timeline; ``own`` says of each bar whether it
    is left to the player, to solo or to keep time. ``time``: what keeping time is, for each cycle,
    from the start of a bar; a drummer's alone."""

    staff: Staff
    notes: list[Written]
    own: tuple[bool, ...]
    time: dict[Cycle, tuple[Written, ...]]


def pitched_content(
    piece: Piece, bars: Sequence[Bar], player: Player, notes: Sequence[Written]
) -> Content:
    """These notes on a staff of five lines, with slashes in the player's own solos."""
    own = tuple(bar.stretch.soloist == player.name and bar.stretch.kind != "free" for bar in bars)
    turns = own_turns(piece, bars, player)
    return Content("pitched", with_slashes(notes, bars, own, turns), own, {})


def own_turns(piece: Piece, bars: Sequence[Bar], player: Player) -> dict[int, str]:
    """The bars with which a player's own turn begins where cycles are traded."""
    return {
        number: OWN_TURN
        for number, bar in enumerate(bars)
        if bar.stretch.soloist == player.name
        and bar.start == bar.stretch.start
        and bar.stretch.kind == "metered"
        and isinstance(piece.steps[bar.stretch.step], Trade)
    }


def within_free(notes: Sequence[Written], bars: Sequence[Bar]) -> list[Written]:
    """The notes of lines, cut where a free passage begins; one that lands in it, where it ends."""
    free = [bar for bar in bars if bar.stretch.kind == "free"]
    starts = [bar.start for bar in free]
    return [_landed(_until_free(note, starts), free, starts) for note in notes]


def held_in_free(notes: Sequence[Written], bars: Sequence[Bar]) -> list[Written]:
    """The notes of who keeps Sa in free passages: there one tone or chord, held all through."""
    free = [bar for bar in bars if bar.stretch.kind == "free"]
    return list(_held(notes, free, [bar.start for bar in free]))


def _landed(note: Written, free: Sequence[Bar], starts: Sequence[Fraction]) -> Written:
    """A note that lands in a free passage is not written beyond it."""
    at = bisect_right(starts, note.start) - 1
    if at < 0 or not free[at].start <= note.start < free[at].end < note.end:
        return note
    return replace(note, length=free[at].end - note.start, glides=False)


def _held(
    notes: Sequence[Written], free: Sequence[Bar], starts: Sequence[Fraction]
) -> Iterator[Written]:
    """What keeps Sa there: of a free passage's notes only those it begins with, held through it."""
    for note in notes:
        at = bisect_right(starts, note.start) - 1
        if at < 0 or note.start >= free[at].end:
            yield _until_free(note, starts)
        elif note.start == free[at].start:
            yield replace(note, length=free[at].end - note.start, says=AT_WILL)


def _until_free(note: Written, free: Sequence[Fraction]) -> Written:
    """A note as written: up to a free passage (they begin at ``free``), though it may ring on."""
    at = bisect_right(free, note.start)
    if at == len(free) or note.end <= free[at]:
        return note
    return replace(note, length=free[at] - note.start, glides=False)
