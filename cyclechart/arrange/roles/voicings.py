"""Voicings over the pedal: the mode's own tones in fourths, open or close, with smooth leading.

The harmony never changes: it is Sa's, coloured by other tones of the mode. ``voicing_choices``
says which tones may sound together; here they are placed in time and led. The order of shapes is
our own.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import (
    StaffContent,
    hold_through_free_passages,
    pitched_content,
)
from cyclechart.arrange.part_notes import NO_SPOT, PartNote, slash
from cyclechart.arrange.roles.band_hits import stop_times, written_hits
from cyclechart.arrange.roles.given_lines import notes_with_given_lines
from cyclechart.arrange.roles.melody_sounds import LOUDNESS
from cyclechart.arrange.roles.playing_ranges import LOUD_CHORD, voicing_range
from cyclechart.arrange.roles.turn_cycles import PERIOD, stretches_in_turns
from cyclechart.arrange.roles.voicing_choices import Choice, choices
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

SOFTER, HIT = 10, 14
"""Velocity taken off in an open section and in a free stretch, and added to a hit of the band."""
ORDER = ("fourths", "open", "fourths", "close")
"""The shapes of the cycles in turn."""

RECENT = 6
"""The number of voicings that are remembered, so that the same ones do not come all the time."""
REPEAT_COST, SAME_TONES_COST, AT_ONCE_COST = 4, 2, 8
"""The costs of each recent voicing that is repeated: as it is, or its tones in another position;
and of a voicing struck twice running (semitones of motion; our choice)."""

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
    later: bool = False
    """True for the second strike of a cycle."""

    @property
    def place(self) -> Hashable:
        """Its place in the figure of ``PERIOD`` cycles: strikes of one place are alike."""
        return self.number % PERIOD, self.later


def voicings_part(timeline: Timeline, player: Player) -> Part:
    """Return the part of a player of voicings, from the first cycle after the count-in on.

    The voicings of a mode on a Sa are chosen once, for ``PERIOD`` cycles, and come again as the
    bass's figures do: a player learns them at one reading.
    """
    sounds: list[Sound] = []
    before: tuple[int, ...] = ()
    recent: deque[tuple[int, ...]] = deque(maxlen=RECENT)
    known: dict[tuple[Mode, Tonic, Hashable], tuple[int, ...]] = {}
    first = timeline.stretches[0].tonic if timeline.stretches else None
    for stretch, number in stretches_in_turns(timeline):
        if stretch.improvised_throughout(player.name):
            continue
        base = None if stretch.tonic == first else stretch.tonic.midi
        level = LOUD_CHORD + (LOUDNESS[stretch.level] - LOUDNESS["mf"] if stretch.level else 0)
        strikes = (
            _free_strikes(stretch) if stretch.kind == "free" else _metered_strikes(stretch, number)
        )
        for strike in with_hits(list(strikes), stretch, number, timeline, player):
            start = stretch.start + strike.at
            end = min(start + strike.length, stretch.end)
            place = stretch.mode, stretch.tonic, strike.place
            chosen = known.get(place)
            if chosen is None:
                shape = ORDER[strike.number % len(ORDER)]
                chosen = _nearest_voicing(stretch, player, shape, before, recent)
                known[place] = chosen
            recent.append(chosen)
            if start >= end or not chosen or player.name in stretch.soloists_at(start):
                continue
            before = tuple(stretch.tonic.midi + pitch for pitch in chosen)
            velocity = max(1, min(127, level + strike.lift))
            sounds += [
                Sound(start, end - start, pitch, velocity, "", voice, base)
                for voice, pitch in enumerate(chosen)
            ]
    instrument = player.instrument
    return Part(
        player.name, player.role, instrument.program, tuple(sounds),
        bends=instrument.bends, voice=instrument.voice,
    )  # fmt: skip


def voicings_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return the staff content of a player of voicings: each chord once, where it is struck.

    Slashes stand for it as long as it is held, since a comping player makes up the rhythm; in a
    free passage one chord is held.
    """
    chords = hold_through_free_passages(list(_chords(part.sounds, timeline)), bars)
    hits = {hit.at for hit in written_hits(timeline, player)}
    notes = [
        value
        for chord in chords
        for value in ([chord] if chord.start in hits else _chord_and_slashes(chord, timeline))
    ]
    notes = notes_with_given_lines(piece, timeline, bars, player, notes)
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


def _chord_and_slashes(chord: PartNote, timeline: Timeline) -> Iterator[PartNote]:
    """Yield a chord for the beat on which it is struck, and a slash for each beat it is held."""
    stretch = timeline.at(chord.start)
    if stretch.kind == "free":
        yield chord
        return
    base = chord.start - (chord.start - stretch.start) % stretch.cycle.beats
    for _, at, length in stretch.cycle.walk():
        start, end = base + at, min(base + at + length, chord.end)
        if start <= chord.start < end:
            yield replace(chord, length=end - chord.start)
        elif chord.start < start < end:
            yield slash(start, end - start)


def _nearest_voicing(
    stretch: Stretch,
    player: Player,
    shape: str,
    before: tuple[int, ...],
    recent: Sequence[tuple[int, ...]],
) -> tuple[int, ...]:
    """Return the pitches of a shape's voicing with least motion from the keys ``before``.

    Voicings that were ``recent`` are avoided; () if the range has no voicing at all.
    """
    midi = stretch.tonic.midi
    low, high = voicing_range(player)
    middle = (low + high) // 2
    found = choices(stretch.mode, midi, low, high, shape)
    if not found:
        return ()

    def cost(choice: Choice) -> tuple[int, int, tuple[int, ...]]:
        pitches, distance = choice
        keys = [midi + pitch for pitch in pitches]
        motion = [abs(a - b) for a, b in zip(keys, before, strict=False)] if before else []
        centre = abs(sum(keys) - middle * len(keys)) // len(keys)
        moved = sum(motion) + max(motion, default=0)
        total = moved + distance + centre // 2 + _staleness(pitches, recent)
        return total, distance, pitches

    chosen = min(found, key=cost)[0]
    if recent and chosen == recent[-1]:
        # Rather another shape than the same chord struck again.
        chosen = min((*found, *choices(stretch.mode, midi, low, high, "")), key=cost)[0]
    return chosen


def _staleness(pitches: tuple[int, ...], recent: Sequence[tuple[int, ...]]) -> int:
    """Return the cost of what a voicing repeats of recent ones."""
    tones = {pitch % 12 for pitch in pitches}
    repeats = sum(
        REPEAT_COST if one == pitches else SAME_TONES_COST
        for one in recent
        if {pitch % 12 for pitch in one} == tones
    )
    return repeats + (AT_ONCE_COST if recent and recent[-1] == pitches else 0)


def with_hits(
    strikes: list[VoicingStrike],
    stretch: Stretch,
    number: int,
    timeline: Timeline,
    player: Player,
) -> list[VoicingStrike]:
    """Return the strikes of a stretch with what the player hits with the band in it; in stop-time
    there is nothing else. ``number``: that of the stretch's first cycle."""
    asked = written_hits(timeline, player)
    hits = [hit for hit in asked if stretch.start <= hit.at < stretch.end]
    stops = stop_times(timeline, player)
    if not hits and not stops:
        return strikes
    for start, end in stops:
        strikes = [one for one in strikes if not start <= stretch.start + one.at < end]
    taken = {hit.at - stretch.start for hit in hits}
    strikes = [one for one in strikes if one.at not in taken]
    for hit in hits:
        at = hit.at - stretch.start
        cycle = number + int(at // stretch.cycle.beats)
        strikes.append(VoicingStrike(at, hit.length, cycle, HIT))
    strikes.sort(key=lambda strike: strike.at)
    ends = [strike.at for strike in strikes[1:]] + [stretch.end - stretch.start]
    return [
        replace(strike, length=min(strike.length, end - strike.at))
        for strike, end in zip(strikes, ends, strict=True)
    ]


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
    yield VoicingStrike(base + at, cycle.beats - at, number + 1, -SOFTER // 2, later=True)


def _free_strikes(stretch: Stretch) -> Iterator[VoicingStrike]:
    """Yield strikes of a free stretch, all in fourths."""
    for number, (at, length) in enumerate(stretch.even_parts(FREE_SECONDS)):
        yield VoicingStrike(at, length, 2 * number, -SOFTER)
