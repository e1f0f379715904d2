"""Voicings over the pedal: the mode's own tones in fourths, open or close, with smooth leading.

The harmony never changes: it is Sa's, coloured by other tones of the mode. Only tones of both
ascent and descent are used, so that a chord implies neither; a mode with too few of them gives all
its tones. The order of shapes is our own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, groupby, pairwise

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import (
    StaffContent,
    hold_through_free_passages,
    pitched_content,
)
from cyclechart.arrange.part_notes import NO_SPOT, PartNote
from cyclechart.arrange.roles.melody import LOUDNESS
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode

LOUD = 62
SOFTER = 10
"""Velocity taken off in an open section and in a free stretch."""
VOICES = 3
FEWEST = 3
"""With this many tones of both paths or fewer, all tones of the mode are used."""

CENTRE = 62
"""The MIDI key around which voicings lie: over the bass, under the melody."""
SPREAD = 13
"""Semitones to either side of it."""

SHAPES: tuple[tuple[str, range, int], ...] = (
    ("fourths", range(4, 8), 5),
    ("open", range(5, 11), 7),
    ("close", range(1, 5), 3),
)
"""Name, allowed distances of neighbouring voices, and their best distance (semitones)."""
ORDER = ("fourths", "open", "fourths", "close")
"""The shapes of the cycles in turn."""

REPEAT_COST = 6
"""The cost of repeating a shape's last voicing, in semitones of motion."""

FASTEST_SECONDS = 2
"""A cycle shorter than this has one voicing; of those shorter than half of it, every other one."""
FREE_SECONDS = 8


@dataclass(frozen=True, slots=True)
class VoicingStrike:
    """The time of a voicing: start in the stretch and length in beats, the number that selects its
    shape, and the velocity added."""

    at: Fraction
    length: Fraction
    number: int
    lift: int


def voicings_part(timeline: Timeline, player: Player) -> Part:
    """Return the part of a player of voicings, from the first cycle after the count-in on."""
    sounds: list[Sound] = []
    before: tuple[int, ...] = ()
    used_before: dict[str, tuple[int, ...]] = {}
    number = 0
    first = timeline.stretches[0].tonic if timeline.stretches else None
    for stretch in timeline.stretches:
        if stretch.kind == "count-in" or stretch.solo_of(player.name) == (
            stretch.start,
            stretch.end,
        ):
            continue
        base = None if stretch.tonic == first else stretch.tonic.midi
        level = LOUD + (LOUDNESS[stretch.level] - LOUDNESS["mf"] if stretch.level else 0)
        strikes = (
            _free_strikes(stretch) if stretch.kind == "free" else _metered_strikes(stretch, number)
        )
        for strike in strikes:
            start = stretch.start + strike.at
            end = min(start + strike.length, stretch.end)
            shape = ORDER[strike.number % len(ORDER)]
            chosen = _nearest_voicing(stretch, player, shape, before, used_before.get(shape, ()))
            used_before[shape] = chosen
            if start >= end or not chosen or player.name in stretch.soloists_at(start):
                continue
            before = tuple(stretch.tonic.midi + pitch for pitch in chosen)
            velocity = max(1, min(127, level + strike.lift))
            sounds += [
                Sound(start, end - start, pitch, velocity, "", voice, base)
                for voice, pitch in enumerate(chosen)
            ]
        if stretch.kind != "free":
            number += int((stretch.end - stretch.start) / stretch.cycle.beats)
    instrument = player.instrument
    return Part(
        player.name, player.role, instrument.program, tuple(sounds),
        bends=instrument.bends, voice=instrument.voice,
    )  # fmt: skip


def voicings_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return the staff content of a player of voicings; in a free passage one chord is held."""
    notes = hold_through_free_passages(list(_chords(part.sounds, timeline)), bars)
    return pitched_content(piece, bars, player, notes)


def _chords(sounds: Sequence[Sound], timeline: Timeline) -> Iterator[PartNote]:
    """Yield a note for each group of simultaneous sounds, named by its tones from the lowest up."""
    for start, struck in groupby(sounds, key=lambda sound: sound.start):
        tones = sorted(struck, key=lambda sound: sound.pitch)
        lowest, *others = (sound.pitch for sound in tones)
        yield PartNote(
            start,
            tones[0].length,
            NO_SPOT,
            pitch=lowest,
            also=tuple(others),
            under=tuple(sound.pitch for sound in tones),
            sa=timeline.at(start).tonic,
        )


def _nearest_voicing(
    stretch: Stretch, player: Player, shape: str, before: tuple[int, ...], used: tuple[int, ...]
) -> tuple[int, ...]:
    """Return the pitches of a shape's voicing with least motion from the keys ``before``.

    The voicing ``used`` last for that shape is avoided; () if the range has no voicing at all.
    """
    midi = stretch.tonic.midi
    low = max(player.instrument.low, CENTRE - SPREAD) + 12 * player.octave
    high = min(player.instrument.high, CENTRE + SPREAD) + 12 * player.octave
    choices = _choices(stretch.mode, midi, low, high, shape)
    if not choices:
        choices = _choices(stretch.mode, midi, low, high, "")
    if not choices:
        return ()

    def cost(choice: tuple[tuple[int, ...], int]) -> tuple[int, int, tuple[int, ...]]:
        pitches, distance = choice
        keys = [midi + pitch for pitch in pitches]
        motion = [abs(a - b) for a, b in zip(keys, before, strict=False)] if before else []
        centre = abs(sum(keys) - CENTRE * len(keys)) // len(keys)
        repeat = REPEAT_COST if pitches == used else 0
        return (
            sum(motion) + max(motion, default=0) + distance + centre // 2 + repeat,
            distance,
            pitches,
        )

    return min(choices, key=cost)[0]


@lru_cache(maxsize=256)
def _choices(
    mode: Mode, midi: int, low: int, high: int, shape: str
) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Return every voicing of a shape within a range of keys, each with its distance from plain."""
    tones = voiced_tones(mode)
    within = [pitch for pitch in range(low - midi, high - midi + 1) if pitch % 12 in tones]
    apart, best = next(
        ((apart, best) for name, apart, best in SHAPES if name == shape), (range(1, 13), 5)
    )
    voicings = []
    for pitches in combinations(within, VOICES):
        gaps = [b - a for a, b in pairwise(pitches)]
        tones_used = {pitch % 12 for pitch in pitches}
        if all(gap in apart for gap in gaps) and len(tones_used) == VOICES:
            voicings.append((pitches, _distance_from_plain(mode, pitches, gaps, best)))
    return tuple(voicings)


def _distance_from_plain(mode: Mode, pitches: Sequence[int], gaps: Sequence[int], best: int) -> int:
    """Return a voicing's distance from a plain one: even gaps, and tones the mode leans or rests
    on."""
    preferred = {mode.vadi, mode.samvadi, *mode.rests, 0, mode.drone_second}
    strangers = sum(pitch % 12 not in preferred for pitch in pitches)
    sharp = sum(gap == 1 for gap in gaps) + sum(b - a in (11, 13) for a, b in _pairs(pitches))
    return sum(abs(gap - best) for gap in gaps) + strangers + 3 * sharp


def _pairs(pitches: Sequence[int]) -> Iterator[tuple[int, int]]:
    yield from combinations(pitches, 2)


def voiced_tones(mode: Mode) -> frozenset[int]:
    """Return the tones used in voicings: those of both paths, or all where these are too few."""
    both = mode.up & mode.down
    return both if len(both) > FEWEST else mode.up | mode.down


def _metered_strikes(stretch: Stretch, number: int) -> Iterator[VoicingStrike]:
    base = Fraction(0)
    while stretch.start + base < stretch.end:
        seconds = stretch.cycle.beats * 60 / stretch.tempo_at(stretch.start + base)
        yield from _strikes_in_cycle(stretch.cycle, base, number, seconds)
        base += stretch.cycle.beats
        number += 1


def _strikes_in_cycle(
    cycle: Cycle, base: Fraction, number: int, seconds: Fraction
) -> Iterator[VoicingStrike]:
    """Yield a strike on sam and, in every other cycle that is long enough, one on a stress in its
    second half."""
    if seconds * 2 < FASTEST_SECONDS and number % 2:
        return
    later = [
        start
        for start in cycle.starts[1:]
        if start + 1 in cycle.stressed and start + 1 not in cycle.open and start * 2 > cycle.beats
    ]
    at = later[0] if later and number % 2 and seconds >= FASTEST_SECONDS else None
    quiet = -SOFTER if Fraction(1) in cycle.open else 0
    if at is None:
        yield VoicingStrike(base, cycle.beats, number, quiet)
        return
    yield VoicingStrike(base, at, number, quiet)
    yield VoicingStrike(base + at, cycle.beats - at, number + 1, -SOFTER // 2)


def _free_strikes(stretch: Stretch) -> Iterator[VoicingStrike]:
    """Yield strikes of a free stretch, all in fourths."""
    for number, (at, length) in enumerate(stretch.even_parts(FREE_SECONDS)):
        yield VoicingStrike(at, length, 2 * number, -SOFTER)
