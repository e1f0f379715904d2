"""The sounds of one written note: grace notes, glides, shakes, turns, and articulation.

No ornament moves a beat: added tones take their time from their own note, and the first sound
begins where the note is written. Only that first sound has the note's text, so that the struck
notes of a line can be counted. Speeds and depths are common practice, set in the constants.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.pitch_curves import Curve
from cyclechart.arrange.roles.shakes import andolan_curve, gamak_curve
from cyclechart.arrange.score import Sound
from cyclechart.piece.note import Note
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_pitch
from cyclechart.theory.tuning import Tuning

SHORT_SECONDS = Fraction(7, 100)
"""Seconds of a grace note, and of each of the first two tones of a mordent."""
MOST_OF_NOTE = 8
"""A short tone takes at most this part (an eighth) of its note, all of them at most half of it."""

GLIDE_BEATS = Fraction(1)
"""A glide takes the second half of its note, but at most this many beats ..."""
GLIDE_SECONDS = Fraction(2)
"""... and at most this many seconds; the note is held first."""
GLIDE_POINTS = 24
WIDEST_GLIDE = 23
"""Semitones of the widest glide: a bend range of 24, less room for the tuning."""

TRILL_A_SECOND = 7
SHORTEST_TRILL = Fraction(3, 8)
"""Seconds: a shorter note has no room for three distinct tones."""

LIGHTER = 12
"""Velocity taken from grace notes and the later tones of a trill."""

_A_BEAT = 48
"""Short times are multiples of a 48th of a beat (finer where beats are slow)."""


ANDOLAN_DEPTH = 0.35
"""Semitones above and below the tone, where a line asks for it in a mode that does not say."""
ANDOLAN_DEPTHS = {"wide": 0.5, "small": 0.2}
"""Semitones above and below a tone that shakes of itself in its mode (common practice)."""
SHORTEST_ANDOLAN = Fraction(3, 4)
"""Seconds: a shorter tone that shakes of itself is passed too quickly for it."""
STILL = frozenset({"plain", "gamak", "mordent", "trill", "staccato"})
"""The marks with which a tone does not shake of itself."""
GAMAK_DEPTH = 2.0
"""Semitones: it reaches for the mode's next tone, but no further than this."""


def note_sounds(
    note: Note,
    following: Note | None,
    start: Fraction,
    length: Fraction,
    tempo: Fraction,
    velocity: int,
    mode: Mode,
    tuning: Tuning,
) -> list[Sound]:
    """Return the sounds of a note with a pitch that begins at ``start`` and lasts ``length``.

    Times are beats of the timeline at ``tempo`` beats a minute; ``following`` is the next note if
    there is no rest before it, or None; ``velocity`` includes dynamics and accent.

    A gliding note is held, then moves smoothly to the next note's tuned pitch, which it reaches at
    its end; the next note is struck again unless ``join_glides`` joins the two. Staccato halves a
    note that does not glide. Tenuto and fermata last the whole length: the band's cycle cannot
    wait for a fermata.
    """
    assert note.pitch is not None
    target = _glide_target(note, following)
    marks = set(note.marks)
    if "staccato" in marks and target is None and not marks & {"tenuto", "fermata"}:
        length /= 2
    graces = [pitch for pitch in note.grace if isinstance(pitch, int)]
    light = max(1, velocity - LIGHTER)
    each = _short_tone_length(length, tempo, len(graces)) if graces else Fraction(0)
    tones = [(pitch, each, light) for pitch in graces]
    body = length - each * len(graces) if graces else length
    gliding = Fraction(0) if target is None else _glide_length(body, tempo)
    tones += _struck_tones(note.pitch, marks, body - gliding, tempo, velocity, mode)
    sounds = []
    for pitch, lasts, loud in tones:
        sounds.append(Sound(start, lasts, pitch, loud))
        start += lasts
    sounds[0] = replace(sounds[0], text=show_pitch(note.pitch))
    last = sounds[-1]
    curve = _shake_curve(note.pitch, marks, last.length, tempo, mode, tuning)
    if target is not None:
        curve += _glide_curve(
            last.length, gliding, tuning.interval(note.pitch, target), bool(curve)
        )
    sounds[-1] = replace(last, length=last.length + gliding, curve=curve)
    return sounds


def join_glides(sounds: Iterable[Sound], tuning: Tuning) -> list[Sound]:
    """Return the sounds of one voice, each glide joined with its goal into one sound.

    A glide and its goal are one stroke or breath (common practice). The joined sound has the text
    of both, as written in a line: ``S~P``. This is only for instruments that bend: on fixed keys
    the second tone would be lost.
    """
    joined: list[Sound] = []
    for sound in sounds:
        before = joined[-1] if joined else None
        if before is None or not _leads_into(before, sound, tuning):
            joined.append(sound)
            continue
        reached = tuning.interval(before.pitch, sound.pitch)
        moved = [(before.length + at, reached + by) for at, by in sound.curve]
        joined[-1] = replace(
            before,
            length=before.length + sound.length,
            text=f"{before.text}~{sound.text}" if before.text else sound.text,
            curve=before.curve + tuple(moved),
        )
    return joined


def _leads_into(before: Sound, sound: Sound, tuning: Tuning) -> bool:
    """Return True if one sound glides into the next and both fit into the range of a bend."""
    if not before.curve or not before.curve[-1][1] or before.base != sound.base:
        return False
    reached = tuning.interval(before.pitch, sound.pitch)
    at, by = before.curve[-1]
    return (
        at == before.length
        and before.start + before.length == sound.start
        and math.isclose(by, reached, abs_tol=1e-9)
        and all(abs(reached + by) <= WIDEST_GLIDE for _, by in sound.curve)
    )


def next_above(pitch: int, mode: Mode) -> int:
    """Return the mode's next tone above a pitch; a whole tone above where it has no other."""
    return next((pitch + up for up in range(1, 12) if (pitch + up) % 12 in mode.tones), pitch + 2)


def next_below(pitch: int, mode: Mode) -> int:
    """Return the mode's next tone below a pitch; a whole tone below where it has no other."""
    return next((pitch - by for by in range(1, 12) if (pitch - by) % 12 in mode.tones), pitch - 2)


def _glide_target(note: Note, following: Note | None) -> int | None:
    """Return the pitch that a note glides to, or None."""
    if not note.glides or following is None or following.pitch is None or note.pitch is None:
        return None
    # The goal is the first sound of the next note: its grace note, if it has one.
    first = next((pitch for pitch in following.grace if isinstance(pitch, int)), following.pitch)
    return first if 0 < abs(first - note.pitch) <= WIDEST_GLIDE else None


def _seconds(beats: Fraction, tempo: Fraction) -> Fraction:
    return beats * 60 / tempo


def _unit(tempo: Fraction) -> Fraction:
    """Return the unit of short times in beats: a 48th, halved once or twice in a slow tempo."""
    return Fraction(1, _A_BEAT * (1 if tempo >= 60 else 2 if tempo >= 30 else 4))


def _on_grid(seconds: Fraction, tempo: Fraction) -> Fraction:
    """Return seconds as beats, rounded to units, at least one."""
    unit = _unit(tempo)
    return max(1, round(seconds * tempo / 60 / unit)) * unit


def _short_tone_length(length: Fraction, tempo: Fraction, count: int) -> Fraction:
    """Return the length in beats of each of ``count`` short tones before or in a note.

    The note is only ever halved for them, never cut into fifths or sevenths, so that a coarse MIDI
    tick is enough.
    """
    parts = MOST_OF_NOTE
    while parts < 2 * count:
        parts *= 2
    return min(_on_grid(SHORT_SECONDS, tempo), length / parts)


def _glide_length(length: Fraction, tempo: Fraction) -> Fraction:
    return min(length / 2, GLIDE_BEATS, _on_grid(GLIDE_SECONDS, tempo))


_Tone = tuple[int, Fraction, int]
"""Pitch, length in beats, velocity."""


def _struck_tones(
    pitch: int, marks: set[str], length: Fraction, tempo: Fraction, velocity: int, mode: Mode
) -> list[_Tone]:
    """Return the tones struck for a note; the last always has its own pitch."""
    light = max(1, velocity - LIGHTER)
    if "trill" in marks:
        count = _trill_parts(length, tempo)
        upper = next_above(pitch, mode)
        part = length / count
        tones = [
            (upper if number % 2 else pitch, part, light if number else velocity)
            for number in range(count)
        ]
        if count > 1 and count % 2 == 0:
            # It comes to rest on its own tone: the last two parts are one.
            tones[-2:] = [(pitch, 2 * part, light)]
        return tones
    if "mordent" in marks:
        # With the tone below, as ABC 2.1 has it for this name (the other is an uppermordent).
        short = _short_tone_length(length, tempo, 2)
        lower = next_below(pitch, mode)
        rest = length - 2 * short
        return [(pitch, short, velocity), (lower, short, light), (pitch, rest, velocity)]
    return [(pitch, length, velocity)]


def _trill_parts(length: Fraction, tempo: Fraction) -> int:
    """Return the number of tones of a trill: about seven a second, with no prime but 2 and 3."""
    seconds = _seconds(length, tempo)
    if seconds < SHORTEST_TRILL:
        return 1
    wanted = float(seconds) * TRILL_A_SECOND
    parts = {odd << twos for twos in range(16) for odd in (1, 3, 9)} - {1, 2}
    return min(sorted(parts), key=lambda count: abs(math.log(count / wanted)))


def _shake_curve(
    pitch: int, marks: set[str], length: Fraction, tempo: Fraction, mode: Mode, tuning: Tuning
) -> Curve:
    """Return the curve of a tone's shake; () for a tone without one or too short for it."""
    if "gamak" in marks:
        depth = min(GAMAK_DEPTH, tuning.interval(pitch, next_above(pitch, mode)))
        return gamak_curve(length, _seconds(length, tempo), depth)
    width = dict(mode.andolan).get(pitch % 12)
    natural = (
        width is not None and not marks & STILL and _seconds(length, tempo) >= SHORTEST_ANDOLAN
    )
    if "andolan" in marks or natural:
        depth = ANDOLAN_DEPTH if width is None else ANDOLAN_DEPTHS[width]
        return andolan_curve(length, _seconds(length, tempo), depth)
    return ()


def _glide_curve(delay: Fraction, gliding: Fraction, interval: float, begun: bool) -> Curve:
    """Return the curve of a glide: half a turn of a cosine, at rest at both ends.

    ``delay``: beats before it; ``begun``: a curve ends where it starts.
    """
    curve: list[tuple[Fraction, float]] = []
    if delay and not begun:
        curve.append((Fraction(0), 0.0))
    first = 1 if begun else 0
    curve += [
        (
            delay + gliding * n / GLIDE_POINTS,
            interval * (1 - math.cos(math.pi * n / GLIDE_POINTS)) / 2,
        )
        for n in range(first, GLIDE_POINTS)
    ]
    return (*curve, (delay + gliding, interval))
