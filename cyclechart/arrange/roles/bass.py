"""The pedal bass: Sa and the drone's second tone, in figures that follow the cycle.

It never walks, because the harmony never moves. Sa is played on sam, the second tone (where the
mode dwells on it) and the octave on stressed beats, and now and then one tone of the mode leads
back into Sa; open sections are left empty. No tone outside the mode is played. The choice of
figures is our own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import (
    StaffContent,
    hold_through_free_passages,
    pitched_content,
)
from cyclechart.arrange.part_notes import NO_SPOT, PartNote
from cyclechart.arrange.roles.band_hits import band_hits, stop_times
from cyclechart.arrange.roles.given_lines import notes_with_given_lines
from cyclechart.arrange.roles.melody_sounds import LOUDNESS
from cyclechart.arrange.roles.playing_ranges import bass_sa
from cyclechart.arrange.roles.turn_cycles import PERIOD, stretches_in_turns
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tones import show_pitch

LOUD = 80
ON_SAM, LEAD = 8, -12
"""Velocity added on sam, and on a lead into it."""

FREE_SECONDS = 8
"""Seconds, about, after which Sa is struck again in a free stretch."""


@dataclass(frozen=True, slots=True)
class BassTone:
    """A tone of a figure: start in the cycle and length in beats, pitch in semitones above the
    bass's Sa, and ``lift``, the velocity added."""

    at: Fraction
    length: Fraction
    pitch: int
    lift: int = 0


def pedal_part(timeline: Timeline, player: Player) -> Part:
    """Return the bass's part, from the first cycle after the count-in to the end."""
    sounds: list[Sound] = []
    first = timeline.stretches[0].tonic if timeline.stretches else None
    for stretch, number in stretches_in_turns(timeline):
        if stretch.improvised_throughout(player.name):
            continue
        floor = bass_sa(stretch.tonic, player)
        base = None if stretch.tonic == first else stretch.tonic.midi
        level = LOUD + (LOUDNESS[stretch.level] - LOUDNESS["mf"] if stretch.level else 0)
        tones = _free_tones(stretch) if stretch.kind == "free" else _metered_tones(stretch, number)
        for tone in tones:
            end = min(stretch.start + tone.at + tone.length, stretch.end)
            start = stretch.start + tone.at
            if start < end and player.name not in stretch.soloists_at(start):
                pitch = floor + tone.pitch
                velocity = max(1, min(127, level + tone.lift))
                text = show_pitch(pitch)
                sounds.append(Sound(start, end - start, pitch, velocity, text, 0, base))
    sounds += _landing_sound(timeline, player, first)
    sounds = _with_band_hits(sounds, timeline, player, first)
    instrument = player.instrument
    return Part(
        player.name, player.role, instrument.program, tuple(sounds),
        bends=instrument.bends, voice=instrument.voice,
    )  # fmt: skip


def pedal_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return the bass's staff content; in a free passage one tone is held."""
    sounds = part.sounds
    floor = min((sound.pitch for sound in sounds if sound.pitch % 12 == 0), default=0)
    notes = hold_through_free_passages(
        [_bass_note(sound, timeline, floor) for sound in sounds], bars
    )
    notes = notes_with_given_lines(piece, timeline, bars, player, notes)
    return pitched_content(piece, bars, player, notes)


def _bass_note(sound: Sound, timeline: Timeline, floor: int) -> PartNote:
    """Return the note of a sound, its octave named from the bass's own Sa (``floor``)."""
    here = timeline.at(sound.start)
    under = (sound.pitch - floor,)
    return PartNote(
        sound.start, sound.length, NO_SPOT, pitch=sound.pitch, under=under, sa=here.tonic
    )


def _with_band_hits(
    sounds: list[Sound], timeline: Timeline, player: Player, first: Tonic | None
) -> list[Sound]:
    """Return the sounds with Sa on everything that the band hits together, in place of the figure's
    tone; in stop-time there is nothing else."""
    for start, end in stop_times(timeline, player):
        sounds = [_until(sound, start) for sound in sounds if not start <= sound.start < end]
    for at, longest in band_hits(timeline, player):
        here = timeline.at(at)
        if here.kind != "metered" or player.name in here.soloists_at(at):
            continue
        pitch = bass_sa(here.tonic, player)
        base = None if here.tonic == first else here.tonic.midi
        after = (sound.start for sound in sounds if sound.start > at)
        end = min(at + longest, *after, timeline.end)
        kept = [_until(sound, at) for sound in sounds if sound.start != at]
        struck = Sound(at, end - at, pitch, LOUD + ON_SAM, show_pitch(pitch), 0, base)
        sounds = sorted([*kept, struck], key=lambda sound: sound.start)
    return sounds


def _until(sound: Sound, time: Fraction) -> Sound:
    """Return a sound, cut at a time where it rings beyond it."""
    if not sound.start < time < sound.start + sound.length:
        return sound
    return replace(sound, length=time - sound.start)


def _landing_sound(timeline: Timeline, player: Player, first: Tonic | None) -> Iterator[Sound]:
    """Yield Sa on the beat of the landing, unless a cycle begins there anyway."""
    at = timeline.closing
    if at is None or at >= timeline.end:
        return
    stretch = timeline.stretches[-1]
    begins_there = stretch.kind == "metered" or at in timeline.holds
    if stretch.start <= at and begins_there and stretch.end > stretch.start:
        return
    base = None if stretch.tonic == first else stretch.tonic.midi
    pitch = bass_sa(stretch.tonic, player)
    length = timeline.end - at
    yield Sound(at, length, pitch, LOUD + ON_SAM, show_pitch(pitch), 0, base)


def bass_figure(cycle: Cycle, mode: Mode, number: int) -> tuple[BassTone, ...]:
    """Return the tones of a cycle by its number in the turn (from 0).

    They repeat every ``PERIOD`` cycles, of which the last leads into sam.
    """
    second = second_of_bass(mode)
    # Not before a lead into Sa: the bass never leaps further than an octave.
    upper = 12 if number % PERIOD == 1 else second
    struck: list[tuple[Fraction, int, int]] = [(Fraction(0), 0, ON_SAM)]
    for count, start in enumerate(cycle.starts[1:], start=1):
        if start + 1 in cycle.open or start + 1 not in cycle.stressed:
            continue
        # The last stressed section comes home to Sa, those between lean on the second tone.
        struck.append((start, upper if count % 2 else second, 0))
    silent = [start for start in cycle.starts if start + 1 in cycle.open and start]
    tones = []
    for index, (at, pitch, lift) in enumerate(struck):
        until = struck[index + 1][0] if index + 1 < len(struck) else cycle.beats
        until = min([until, *(start for start in silent if start > at)])
        tones.append(BassTone(at, until - at, pitch, lift))
    leading = lead_into_sa(mode)
    last = tones[-1]
    beat = Fraction(1)
    if number % PERIOD == PERIOD - 1 and leading is not None and cycle.beats >= 2:
        at = cycle.beats - beat
        if last.at < at:
            length = min(last.length, at - last.at)
            tones[-1] = BassTone(last.at, length, last.pitch, last.lift)
            tones.append(BassTone(at, beat, leading, LEAD))
    return tuple(tones)


def second_of_bass(mode: Mode) -> int:
    """Return the tone that the bass has beside Sa: that of the drone's second string.

    The upper Sa, where the mode lacks that tone or does not dwell on it: a string may, a bass that
    strikes it on every clap leads the mode astray.
    """
    second = mode.drone_second
    return second if second in (mode.up | mode.down) - set(mode.weak) - {0} else 12


def lead_into_sa(mode: Mode) -> int | None:
    """Return the tone by which the ascent reaches the upper Sa, an octave down (-3 to -1).

    None where the mode reaches Sa by a turn, or from further than three semitones.
    """
    path = mode.ascent
    for before, after in pairwise(path):
        if after == 12 and 0 < 12 - before <= 3 and before % 12 in mode.up & mode.down:
            return before - 12
    return None


def _metered_tones(stretch: Stretch, number: int) -> Iterator[BassTone]:
    base = Fraction(0)
    while stretch.start + base < stretch.end:
        for tone in bass_figure(stretch.cycle, stretch.mode, number):
            yield BassTone(base + tone.at, tone.length, tone.pitch, tone.lift)
        base += stretch.cycle.beats
        number += 1


def _free_tones(stretch: Stretch) -> Iterator[BassTone]:
    """Yield Sa, held and struck again."""
    return (BassTone(at, length, 0, LEAD) for at, length in stretch.even_parts(FREE_SECONDS))
