"""The content of a player's staff, and the parts of it that several roles share.

Bars left open for a solo are written as slashes.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import PartNote, with_slashes
from cyclechart.arrange.timeline import FERMATA
from cyclechart.catalog.instruments import Staff
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Trade
from cyclechart.theory.cycle import Cycle

OWN_TURN = "solo"
TOGETHER = "together"
"""The text over a player's own cycles where cycles are traded."""
TIME = "time"
"""The text where a player goes on with time after a turn of their own, or in that of another."""
AT_WILL = "strike again at will"
"""The text over the tone or chord that a bass or a keyboard holds in a free passage."""


@dataclass(frozen=True)
class StaffContent:
    """The notes on a player's staff.

    ``notes`` are in beats of the timeline, in order. ``left_open`` has one entry for each bar: True
    where the player solos or keeps time as they like. ``grooves`` maps each cycle to the notes of
    one bar of keeping time, counted from the bar's start; only drummers have any.
    """

    staff: Staff
    notes: list[PartNote]
    left_open: tuple[bool, ...]
    grooves: dict[Cycle, tuple[PartNote, ...]]


def pitched_content(
    piece: Piece, bars: Sequence[Bar], player: Player, notes: Sequence[PartNote]
) -> StaffContent:
    """Return the notes as content for a staff of five lines, with slashes in the player's solos."""
    left_open = tuple(
        player.name in bar.stretch.soloists and bar.stretch.kind != "free" for bar in bars
    )
    texts = trade_turns(piece, bars, player)
    slashed = with_slashes(notes, bars, left_open, texts, turns_of_others(bars, player))
    if not player.role.waits_for_lines:
        slashed = list(_with_time_after_turns(slashed, texts))
    return StaffContent("pitched", slashed, left_open, {})


def _with_time_after_turns(
    notes: Sequence[PartNote], texts: Mapping[Fraction, str]
) -> Iterator[PartNote]:
    """Yield the notes; the first composed one after a turn of the player's own has the text of the
    turn that it stands in."""
    starts = sorted(texts)
    after_own = False
    for note in notes:
        turn = bisect_right(starts, note.start) - 1
        if note.head == "slash":
            after_own = turn >= 0 and texts[starts[turn]] == OWN_TURN
        elif after_own:
            after_own = False
            if texts[starts[turn]].startswith(TIME) and not note.text:
                note = replace(note, text=texts[starts[turn]])
        yield note


def turns_of_others(
    bars: Sequence[Bar], player: Player, among: Collection[str] | None = None
) -> list[tuple[Fraction, Fraction]]:
    """Return from where to where others improvise in cycles that are shared out; only players
    ``among`` these count, if they are given."""
    split = dict.fromkeys(bar.stretch for bar in bars if bar.stretch.split)
    return [
        (turn.start, turn.end)
        for stretch in split
        for turn in stretch.turns
        if turn.player != player.name and (among is None or turn.player in among)
    ]


def trade_turns(piece: Piece, bars: Sequence[Bar], player: Player) -> dict[Fraction, str]:
    """Return the text over each turn in traded cycles, by the time it begins: that it is the
    player's own, or whose it is while they go on with time."""
    stretches = dict.fromkeys(
        bar.stretch
        for bar in bars
        if bar.stretch.kind == "metered" and isinstance(piece.steps[bar.stretch.step], Trade)
    )
    texts = {}
    for stretch in stretches:
        for turn in stretch.turns:
            if stretch.together:
                texts[turn.start] = TOGETHER if player.name in stretch.soloists else TIME
            elif turn.player == player.name:
                texts[turn.start] = OWN_TURN
            elif not player.role.waits_for_lines and not (
                player.role.keeps_time and turn.player in piece.timekeepers
            ):
                texts[turn.start] = f"{TIME} ({turn.player.replace('-', ' ')})"
    return texts


def cut_at_free_passages(notes: Sequence[PartNote], bars: Sequence[Bar]) -> list[PartNote]:
    """Return the notes cut at the start of a free passage; a note that begins inside one is cut at
    its end."""
    free = [bar for bar in bars if bar.stretch.kind == "free"]
    starts = [bar.start for bar in free]
    # Into a fermata a note is tied.
    cuts = [bar.start for bar in free if bar.stretch.label != FERMATA]
    return [_cut_at_passage_end(_cut_at_passage_start(note, cuts), free, starts) for note in notes]


def hold_through_free_passages(notes: Sequence[PartNote], bars: Sequence[Bar]) -> list[PartNote]:
    """Return the notes of a bass or a keyboard, with one tone or chord held through each free
    passage."""
    free = [bar for bar in bars if bar.stretch.kind == "free"]
    return list(_first_notes_held(notes, free, [bar.start for bar in free]))


def _cut_at_passage_end(
    note: PartNote, free: Sequence[Bar], starts: Sequence[Fraction]
) -> PartNote:
    """Return a note that begins in a free passage, cut where the passage ends."""
    at = bisect_right(starts, note.start) - 1
    if at < 0 or not free[at].start <= note.start < free[at].end < note.end:
        return note
    return replace(note, length=free[at].end - note.start, glides=False)


def _first_notes_held(
    notes: Sequence[PartNote], passages: Sequence[Bar], starts: Sequence[Fraction]
) -> Iterator[PartNote]:
    """Yield the notes; of those in a free passage only the ones at its start, held to its end."""
    for note in notes:
        at = bisect_right(starts, note.start) - 1
        if at < 0 or note.start >= passages[at].end:
            yield _cut_at_passage_start(note, starts)
        elif note.start == passages[at].start:
            text = "" if passages[at].stretch.label == FERMATA else AT_WILL
            yield replace(note, length=passages[at].end - note.start, text=text)


def _cut_at_passage_start(note: PartNote, free: Sequence[Fraction]) -> PartNote:
    """Return a note cut at the next free passage (they begin at ``free``); it may sound longer."""
    at = bisect_right(free, note.start)
    if at == len(free) or note.end <= free[at]:
        return note
    return replace(note, length=free[at] - note.start, glides=False)
