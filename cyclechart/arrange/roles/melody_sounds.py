"""The sounds of the melodies that a player has: one voice; a new entry cuts off the line before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from cyclechart.arrange.entries import give_way
from cyclechart.arrange.roles.line_levels import SLURRED, note_levels
from cyclechart.arrange.roles.ornaments import join_glides, note_sounds
from cyclechart.arrange.score import Sound
from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.piece.hairpins_and_slurs import slurred_notes
from cyclechart.piece.note import CUT_TO, Note
from cyclechart.piece.player import Player
from cyclechart.text.line_tree import CUT
from cyclechart.theory.tuning import Tuning

LOUDNESS = {"pp": 40, "p": 54, "mp": 68, "mf": 82, "f": 98, "ff": 114}
PLAIN = 86
ACCENT = 16


def melody_sounds(timeline: Timeline, player: Player, tuning: Tuning) -> list[Sound]:
    """Return the sounds of the melodies that a player has, in order."""
    sounds: list[Sound] = []
    starts: list[Fraction] = []
    first = timeline.stretches[0].tonic.midi if timeline.stretches else None
    for placed in timeline.placed_lines:
        if placed.line.kind != "melody" or player.name not in placed.players:
            continue
        new = list(_line_sounds(timeline, placed, player, first, tuning))
        if new:
            give_way(sounds, starts, new[0].start, shortened)
            sounds += new
            starts += [sound.start for sound in new]
    return join_glides(sounds, tuning) if player.instrument.bends else sounds


def _velocity(note: Note, level: int) -> int:
    """Return the velocity of a note at a dynamic level (itself a velocity)."""
    if "accent" in note.marks:
        level += ACCENT
    return max(1, min(127, level))


def shortened(sound: Sound, length: Fraction) -> Sound:
    """Return a sound, and its curve, cut to a length in beats."""
    curve = tuple(point for point in sound.curve if point[0] <= length)
    return replace(sound, length=length, curve=curve)


def _line_sounds(
    timeline: Timeline, placed: PlacedLine, player: Player, first: int | None, tuning: Tuning
) -> Iterator[Sound]:
    notes = placed.line.notes
    state = placed.state
    levels = note_levels(notes, LOUDNESS.get(state.level, PLAIN), LOUDNESS)
    slurred = slurred_notes(notes)
    base = None if state.tonic.midi == first else state.tonic.midi
    lift = 12 * (player.octave_of_melodies + placed.octave_for(player.name))
    mode = state.mode
    if mode.andolan and not player.instrument.bends:
        mode = replace(mode, andolan=())  # Fixed keys cannot shake a tone.
    for index, (note, after) in enumerate(pairwise((*notes, None))):
        assert note is not None
        start = placed.start_of(note)
        if placed.until is not None and start >= placed.until:
            return
        if placed.since is not None and start < placed.since:
            continue
        length = placed.length_of(note)
        if placed.until is not None:
            length = min(length, placed.until - start)
        following = after if after is not None and after.start == note.end else None
        if CUT in note.marks:
            length, following = length * CUT_TO, None
        tempo = timeline.at(start).tempo_at(start)
        loud = _velocity(note, levels[index] - (SLURRED if index in slurred else 0))
        for sound in note_sounds(note, following, start, length, tempo, loud, mode, tuning):
            yield replace(sound, pitch=sound.pitch + lift, base=base)
