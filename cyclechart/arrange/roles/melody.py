"""A melody player: the lines as composed, one voice; a new entry cuts off what rang before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.entries import give_way
from cyclechart.arrange.part_content import Content, pitched_content, within_free
from cyclechart.arrange.part_notes import line_notes
from cyclechart.arrange.roles.ornaments import held_on, sung
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Placed, Timeline
from cyclechart.piece.model import Note, Piece
from cyclechart.piece.player import Player
from cyclechart.theory.tuning import Tuning

LOUDNESS = {"pp": 40, "p": 54, "mp": 68, "mf": 82, "f": 98, "ff": 114}
PLAIN = 86
ACCENT = 16


def melody(timeline: Timeline, player: Player, tuning: Tuning) -> Part:
    """Everything that a melody player sounds."""
    sounds: list[Sound] = []
    starts: list[Fraction] = []
    first = timeline.stretches[0].tonic.midi if timeline.stretches else None
    for placed in timeline.placed:
        if placed.line.kind != "melody" or player.name not in placed.players:
            continue
        new = list(_sounds(timeline, placed, player, first, tuning))
        if new:
            give_way(sounds, starts, new[0].start, _cut)
            sounds += new
            starts += [sound.start for sound in new]
    instrument = player.instrument
    if instrument.bends:
        sounds = held_on(sounds, tuning)
    return Part(
        player.name, player.role, instrument.program, tuple(sounds),
        bends=instrument.bends, voice=instrument.voice,
    )  # fmt: skip


def melody_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> Content:
    """The composed notes that a melody player reads."""
    notes = within_free(line_notes(timeline, player, "melody"), bars)
    return pitched_content(piece, bars, player, notes)


def loudness(note: Note, level: int) -> int:
    """Velocity of a note at a dynamic level."""
    return min(127, level + ACCENT) if "accent" in note.marks else level


def _cut(sound: Sound, length: Fraction) -> Sound:
    """A sound that ends earlier, and its curve with it."""
    curve = tuple(point for point in sound.curve if point[0] <= length)
    return replace(sound, length=length, curve=curve)


def _sounds(
    timeline: Timeline, placed: Placed, player: Player, first: int | None, tuning: Tuning
) -> Iterator[Sound]:
    notes = placed.line.notes
    force = placed.force
    level = LOUDNESS.get(force.level, PLAIN)
    base = None if force.tonic.midi == first else force.tonic.midi
    for note, after in pairwise((*notes, None)):
        assert note is not None
        start = placed.at(note)
        if placed.until is not None and start >= placed.until:
            return
        length = placed.lasts(note)
        if placed.until is not None:
            length = min(length, placed.until - start)
        level = next((LOUDNESS[mark] for mark in note.marks if mark in LOUDNESS), level)
        joined = after if after is not None and after.start == note.end else None
        tempo = timeline.at(start).tempo_at(start)
        loud = loudness(note, level)
        for sound in sung(note, joined, start, length, tempo, loud, force.mode, tuning):
            yield replace(sound, pitch=sound.pitch + 12 * player.octave, base=base)
