"""What a player reads in the bars of a timeline, and what is alike in it for many roles.

What is left open for a solo is written as slashes.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import PartNote, with_slashes
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
class StaffContent:
    """What a player reads. ``notes`` in beats of the timeline; ``own`` says of each bar whether it
    is left to the player, to solo or to keep time. ``time``: what keeping time is, for each cycle,
    from the start of a bar; a drummer's alone."""

    staff: Staff
    notes: list[PartNote]
    left_open: tuple[bool, ...]
    grooves: dict[Cycle, tuple[PartNote, ...]]


def pitched_content(
    piece: Piece, bars: Sequence[Bar], player: Player, notes: Sequence[PartNote]
) -> StaffContent:
    """These notes on a staff of five lines, with slashes in the player's own solos."""
    left_open = tuple(
        bar.stretch.soloist == player.name and bar.stretch.kind != "free" for bar in bars
    )
    texts = trade_turns(piece, bars, player)
    return StaffContent("pitched", with_slashes(notes, bars, left_open, texts), left_open, {})


def trade_turns(piece: Piece, bars: Sequence[Bar], player: Player) -> dict[int, str]:
    """The bars with which a player's own turn begins where cycles are traded."""
    return {
        number: OWN_TURN
        for number, bar in enumerate(bars)
        if bar.stretch.soloist == player.name
        and bar.start == bar.stretch.start
        and bar.stretch.kind == "metered"
        and isinstance(piece.steps[bar.stretch.step], Trade)
    }


def cut_at_free_passages(notes: Sequence[PartNote], bars: Sequence[Bar]) -> list[PartNote]:
    """The notes of lines, cut where a free passage begins; one that lands in it, where it ends."""
    free = [bar for bar in bars if bar.stretch.kind == "free"]
    starts = [bar.start for bar in free]
    return [
        _cut_at_passage_end(_cut_at_passage_start(note, starts), free, starts) for note in notes
    ]


def hold_through_free_passages(notes: Sequence[PartNote], bars: Sequence[Bar]) -> list[PartNote]:
    """The notes of who keeps Sa in free passages: there one tone or chord, held all through."""
    free = [bar for bar in bars if bar.stretch.kind == "free"]
    return list(_first_notes_held(notes, free, [bar.start for bar in free]))


def _cut_at_passage_end(
    note: PartNote, free: Sequence[Bar], starts: Sequence[Fraction]
) -> PartNote:
    """A note that lands in a free passage is not written beyond it."""
    at = bisect_right(starts, note.start) - 1
    if at < 0 or not free[at].start <= note.start < free[at].end < note.end:
        return note
    return replace(note, length=free[at].end - note.start, glides=False)


def _first_notes_held(
    notes: Sequence[PartNote], passages: Sequence[Bar], starts: Sequence[Fraction]
) -> Iterator[PartNote]:
    """What keeps Sa there: of a free passage's notes only those it begins with, held through it."""
    for note in notes:
        at = bisect_right(starts, note.start) - 1
        if at < 0 or note.start >= passages[at].end:
            yield _cut_at_passage_start(note, starts)
        elif note.start == passages[at].start:
            yield replace(note, length=passages[at].end - note.start, text=AT_WILL)


def _cut_at_passage_start(note: PartNote, free: Sequence[Fraction]) -> PartNote:
    """A note as written: up to a free passage (they begin at ``free``), though it may ring on."""
    at = bisect_right(free, note.start)
    if at == len(free) or note.end <= free[at]:
        return note
    return replace(note, length=free[at] - note.start, glides=False)
