"""The lines that a player is given beside what their role plays: a riff of the bass, a line of the
guitar. The role's own music is silent where a line stands, and goes on after it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar

from cyclechart.arrange.assigned_lines import Span, assigned_spans, is_within, lines_of
from cyclechart.arrange.bars import Bar
from cyclechart.arrange.entries import Timed
from cyclechart.arrange.part_content import cut_at_free_passages
from cyclechart.arrange.part_notes import PartNote, line_notes
from cyclechart.arrange.roles.chord_lines import chord_line_notes, chord_line_sounds
from cyclechart.arrange.roles.melody_sounds import melody_sounds, shortened
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Timeline
from cyclechart.catalog.roles import LineKind
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player

_Entry = TypeVar("_Entry", bound=Timed)


def given_kinds(player: Player) -> tuple[LineKind, ...]:
    """Return the kinds of lines that a player may be given and that their role does not play by
    itself."""
    kinds: tuple[LineKind, ...] = ("melody", "chords")
    if player.role.staff != "pitched":
        return ()
    return tuple(kind for kind in kinds if player.role.lines != kind)


def has_given_lines(timeline: Timeline, player: Player) -> bool:
    """Return whether a player is given a line that their role does not play by itself."""
    kinds = given_kinds(player)
    return any(True for _ in lines_of(timeline, player.name, kinds, free=True))


def with_given_lines(piece: Piece, timeline: Timeline, player: Player, part: Part) -> Part:
    """Return a player's part with the lines that they are given."""
    if not has_given_lines(timeline, player):
        return part
    spans = assigned_spans(timeline, player.name, given_kinds(player), free=True)
    given = _given_sounds(piece, timeline, player)
    return replace(part, sounds=tuple(merged(part.sounds, given, spans, shortened)))


def notes_with_given_lines(
    piece: Piece,
    timeline: Timeline,
    bars: Sequence[Bar],
    player: Player,
    notes: Sequence[PartNote],
) -> list[PartNote]:
    """Return what a player reads of their role, with the lines that they are given."""
    if not has_given_lines(timeline, player):
        return list(notes)
    spans = assigned_spans(timeline, player.name, given_kinds(player))
    given = _given_notes(piece, timeline, bars, player)
    return merged(notes, given, spans, _cut_short)


def _given_sounds(piece: Piece, timeline: Timeline, player: Player) -> list[Sound]:
    """Return the sounds of the lines that a player is given, in order."""
    sounds = chord_line_sounds(piece, timeline, player)
    if not player.role.plays_melody:
        sounds += melody_sounds(timeline, player, piece.tuning)
    return sorted(sounds, key=lambda sound: sound.start)


def _given_notes(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player
) -> list[PartNote]:
    """Return the notes of the lines that a player is given, in order."""
    notes = chord_line_notes(piece, timeline, bars, player)
    if not player.role.plays_melody:
        notes += cut_at_free_passages(line_notes(timeline, player, "melody"), bars)
    return sorted(notes, key=lambda note: note.start)


def merged(
    own: Sequence[_Entry],
    given: Sequence[_Entry],
    spans: Sequence[Span],
    cut: Callable[[_Entry, Fraction], _Entry],
) -> list[_Entry]:
    """Return the entries of a role with those of given lines in their place, in order.

    Nothing of the role begins within the ``spans`` of the lines, or on the very beat of a given
    note; it is ``cut`` to the length it has until a span begins. A given note that rings beyond its
    span is cut where the role goes on. ``own``, ``given`` and ``spans`` are in order of time.
    """
    starts = [start for start, _ in spans]
    struck = {entry.start for entry in given}

    def is_free(time: Fraction) -> bool:
        return time not in struck and not is_within(spans, time)

    kept = [entry for entry in own if is_free(entry.start)]
    begins = [entry.start for entry in kept]
    lines = [_until(entry, _next(begins, entry.start), cut) for entry in given]
    role = [_until(entry, _next(starts, entry.start), cut) for entry in kept]
    return sorted([*role, *lines], key=lambda entry: entry.start)


def _next(times: Sequence[Fraction], after: Fraction) -> Fraction | None:
    at = bisect_right(times, after)
    return times[at] if at < len(times) else None


def _until(
    entry: _Entry, time: Fraction | None, cut: Callable[[_Entry, Fraction], _Entry]
) -> _Entry:
    if time is None or entry.start + entry.length <= time:
        return entry
    return cut(entry, time - entry.start)


def _cut_short(note: PartNote, length: Fraction) -> PartNote:
    return replace(note, length=length, glides=False)
