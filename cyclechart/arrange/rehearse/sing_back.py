"""Material for rehearsing from a piece: a form for singing back, claps, and loops with pickups."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.rehearse.excerpts import cut_sound
from cyclechart.arrange.rehearse.score_transforms import SING_BACK, looped
from cyclechart.arrange.roles.drummer import stretch_claps
from cyclechart.arrange.score import Hit, Score
from cyclechart.arrange.timeline import Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Groove, Play, Step


def call_and_response(piece: Piece) -> Piece:
    """Return a piece of the melodies one by one, each followed by as many cycles to sing it back.

    Raises ValueError for a piece without a melody in a cycle.
    """
    steps: list[Step] = []
    for line in piece.standing_lines:
        if line.kind != "melody" or line.free:
            continue
        for cycle in piece.cycles_of(line.name):
            here = piece.line_in(line.name, cycle)
            standing = here.standing(cycle)
            state = replace(piece.state, cycle=cycle, mode=piece.modes_of(line.name)[0])
            cycles = max(1, -((standing.first - standing.hands_over) // cycle.beats))
            # Makes room for the pickup of the next line, which sounds before its first beat.
            if steps and standing.pickup:
                room = steps[-1]
                assert isinstance(room, Groove)
                more = int(-(-standing.pickup // room.cycle.beats))
                steps[-1] = replace(room, cycles=room.cycles + more)
            steps += [
                Play(spot=line.spot, times=1, state=state, parts=((line.name, ()),)),
                Groove(spot=line.spot, times=1, state=state, cycles=int(cycles), label=SING_BACK),
            ]
    if not steps:
        raise ValueError("there is no melody in a cycle to sing back")
    # One more cycle, so that the last answer lands on a first beat too.
    ending = steps[-1]
    assert isinstance(ending, Groove)
    steps[-1] = replace(ending, cycles=ending.cycles + 1)
    return replace(piece, form=tuple(steps))


def pickup_to(timeline: Timeline, at: Fraction) -> Fraction:
    """Return the beats of the longest pickup of the melodies whose body begins at a time; 0 for
    none."""
    pickups = [Fraction(0)]
    for placed in timeline.placed_lines:
        if placed.line.kind != "melody" or placed.line.free or placed.stretch != 1:
            continue
        standing = placed.line.standing(placed.state.cycle)
        if placed.start - standing.offset == at:
            pickups.append(standing.pickup)
    return max(pickups)


def timeline_claps(timeline: Timeline) -> tuple[Hit, ...]:
    """Return claps and waves for every cycle of a timeline."""
    return tuple(
        hit
        for stretch in timeline.stretches
        if stretch.kind != "free"
        for hit in stretch_claps(stretch)
    )


def cycle_claps(timeline: Timeline, start: Fraction) -> tuple[Hit, ...]:
    """Return claps and waves of one cycle, the one in force at beat ``start``; from beat 0."""
    here = timeline.at(start)
    one_cycle = replace(here, start=Fraction(0), end=here.cycle.beats)
    return tuple(stretch_claps(one_cycle))


def looped_with_pickup(score: Score, times: int, pickup: Fraction) -> Score:
    """Return the score looped, with the melodies' pickup over the end of every round but the last.

    Raises ValueError as ``looped`` does.
    """
    loop = looped(score, times)
    starts = [mark.at for mark in score.markers if mark.text.startswith("cycle ")]
    if not pickup or times < 2 or not starts:
        return loop
    begin = min(starts)
    length = score.end - begin
    parts = []
    for part in loop.parts:
        pickup_sounds = [sound for sound in part.sounds if begin - pickup <= sound.start < begin]
        if not part.role.plays_melody or not pickup_sounds:
            parts.append(part)
            continue
        sounds = list(part.sounds)
        for number in range(1, times):
            at = begin + number * length - pickup
            sounds = [
                cut_sound(sound, sound.start, min(sound.start + sound.length, at))
                if sound.start < at < sound.start + sound.length
                else sound
                for sound in sounds
                if not at <= sound.start < at + pickup
            ]
            sounds += [
                replace(sound, start=sound.start + number * length) for sound in pickup_sounds
            ]
        parts.append(replace(part, sounds=tuple(sorted(sounds, key=lambda sound: sound.start))))
    return replace(loop, parts=tuple(parts))
