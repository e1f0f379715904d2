"""The drone: four strings plucked slowly in turn, the first tuned by the mode.

The order is second tone, Sa, Sa, low Sa. The second tone is the player's own, or the mode's: Pa, or
Ma where that reigns or the mode has no Pa, or Ni (common practice; see any account of the
tanpura). The strings have a
slow pulse in seconds, independent of cycle and tempo. Where the mode or the tonic changes, the
strings are stopped, retuned and started again at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import StaffContent, pitched_content
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.tempos import tempo_runs
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_pitch

PLUCK_SECONDS = Fraction(9, 8)
"""Seconds from string to string: 4.5 for all four (common practice: four to five)."""
FINEST_SECONDS, FINEST_PARTS = Fraction(1, 16), 32
"""A beat is halved for the plucks until its parts are no longer than this, or 32 in number."""
MICROS = 10**6

SOFT = 58
DRONE_TONES = (7, 5, 11)
"""The tones of a second string besides Sa (semitones above it): P, m, N."""


def string_pitches(mode: Mode, player: Player | None = None) -> tuple[int, int, int, int]:
    """Return the pitches of the four strings (semitones from middle Sa) in plucking order.

    The second tone is the player's own, if they tune one.
    """
    return (string_pitch(second_tone(mode, player)), -12, -12, -24)


def string_pitch(second: int) -> int:
    """Return the pitch of the string that is tuned to a second tone; 0 is Sa."""
    return second - 24 if second else -12


def second_tone(mode: Mode, player: Player | None) -> int:
    """Return the tone of a player's second string under a mode; 0 where all strings are Sa."""
    return mode.drone_second if player is None or player.drone is None else player.drone


def drone_part(timeline: Timeline, player: Player) -> Part:
    """Return the drone's part; each string rings until its pitch is plucked again.

    It sounds from the first beat to the last, also where its player is the soloist.
    """
    sounds: list[Sound] = []
    for run in _tuning_runs(timeline, player):
        first = run[0]
        base = None if first.tonic == timeline.stretches[0].tonic else first.tonic.midi
        pitches = [pitch + 12 * player.octave for pitch in string_pitches(first.mode, player)]
        next_pluck: dict[int, Fraction] = {}
        end = timeline.end if run[-1] is timeline.stretches[-1] else run[-1].end
        run_sounds = []
        for number, start in reversed(list(enumerate(_plucks(run)))):
            voice = number % len(pitches)
            pitch = pitches[voice]
            until = next_pluck.get(pitch, end)
            next_pluck[pitch] = start
            text = show_pitch(pitch)
            run_sounds.append(Sound(start, until - start, pitch, SOFT, text, voice, base))
        sounds += reversed(run_sounds)
    instrument = player.instrument
    return Part(
        player.name, player.role, instrument.program, tuple(sounds),
        bends=instrument.bends, voice=instrument.voice,
    )  # fmt: skip


def drone_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return empty content: a drone player reads no staff."""
    return pitched_content(piece, bars, player, [])


def _tuning_runs(timeline: Timeline, player: Player) -> Iterator[list[Stretch]]:
    """Yield runs of stretches with the same tuning of the strings."""
    run: list[Stretch] = []
    for stretch in timeline.stretches:
        if stretch.start == stretch.end:
            continue
        if run and (second_tone(run[0].mode, player), run[0].tonic) != (
            second_tone(stretch.mode, player),
            stretch.tonic,
        ):
            yield run
            run = []
        run.append(stretch)
    if run:
        yield run


def _plucks(stretches: Sequence[Stretch]) -> list[Fraction]:
    """Return the times of plucks in stretches on end, as even in seconds as their grid allows.

    Each counts from the exact time of the one before, so rounding errors do not add up. A last
    pluck with less than half a gap to ring is left out.
    """
    plucks: list[Fraction] = []
    wait = Fraction(0)
    """Seconds from the start of a run to the next pluck."""
    for stretch in stretches:
        for start, beats, seconds in _seconds_of_runs(stretch):
            grid = halvings(seconds / beats, FINEST_SECONDS, FINEST_PARTS)
            while wait < seconds:
                offset = start - stretch.start + beats * wait / seconds
                at = stretch.start + Fraction(round(offset * grid), grid)
                if at < stretches[-1].end and (not plucks or at > plucks[-1]):
                    plucks.append(at)
                wait += PLUCK_SECONDS
            wait -= seconds
    if len(plucks) > 2 and PLUCK_SECONDS - wait < PLUCK_SECONDS / 2:
        plucks.pop()
    return plucks


def _seconds_of_runs(stretch: Stretch) -> Iterator[tuple[Fraction, Fraction, Fraction]]:
    """Yield the runs of one tempo of a stretch as (start, beats, seconds).

    The steps of a gradual change are whole microseconds long, as in the MIDI file.
    """
    steady = stretch.to_tempo is None or stretch.to_tempo == stretch.tempo
    for start, end, tempo in tempo_runs(stretch):
        exact = (end - start) * 60 / tempo
        seconds = exact if steady else Fraction(max(1, round(exact * MICROS)), MICROS)
        yield start, end - start, seconds


def halvings(beat_seconds: Fraction, finest_seconds: Fraction, most: int) -> int:
    """Return the number of parts of a beat on which plucks may fall: it is halved until its parts
    are no longer than ``finest_seconds``, or ``most`` in number."""
    parts = 1
    while parts < most and beat_seconds / parts > finest_seconds:
        parts *= 2
    return parts
