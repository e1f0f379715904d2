"""The rule over lines that sound at once: semitones that are held between them."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations

from cyclechart.finding import Finding
from cyclechart.piece.model import Piece
from cyclechart.rules.piece.sounding_voices import Sound, Voices
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.excerpts import clip
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.tones import show_pitch, tone

HELD = Fraction(1)
"""Beats from which a semitone is held and no more passed."""


@rule("advice")
def rub(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Two lines that different players have at once hold a semitone for a beat or more.

    Lines that are looped beneath a step or a solo are among them; hits and chords are not.

    A seventh and a ninth that are a semitone by the octave (S with N or r, anywhere) count too:
    which octave each player reads in changes nothing. A semitone that is passed within a beat is
    none. Where both tones are meant, say so in a liberty.

    wrong:  play: {flute: head, violin: low}    with head: S - - - and low: N, - - -
    right:  the same with low: P, - - -
    """
    told: set[tuple[str, int, str, int]] = set()
    for step, voices in Voices(piece).of_steps():
        for one, other in combinations(voices, 2):
            players = _different(one.players, other.players)
            if players is None:
                continue
            for at, first, second, length in _semitones(one.sounds, other.sounds):
                key = (first.line.name, first.index, second.line.name, second.index)
                if key not in told:
                    told.add(key)
                    yield _found(piece, this, step.cycle, first, second, at, length, players)


def _found(
    piece: Piece,
    this: Rule,
    cycle: Cycle,
    first: Sound,
    second: Sound,
    at: Fraction,
    length: Fraction,
    players: tuple[str, str],
) -> Finding:
    """The finding on a semitone between two lines, at the note of the second."""
    place = place_of(piece, second.line, at - second.begin, cycle)
    against = place_of(piece, first.line, at - first.begin, cycle)
    where = ", ".join(filter(None, (against.cycle_name, f"beat {show_exact(against.beat)}")))
    message = (
        f"{show_pitch(second.pitch)} ({players[1]}) and {show_pitch(first.pitch)} of "
        f"'{clip(first.line.name)}' ({players[0]}, its {where}) are a semitone apart, and sound "
        f"together for {show_beats(length)}"
    )
    return this.found(second.note.spot, message, place=place, tone=tone(second.pitch))


def _semitones(
    first: tuple[Sound, ...], second: tuple[Sound, ...]
) -> Iterator[tuple[Fraction, Sound, Sound, Fraction]]:
    """Yield where two voices hold a semitone: from when on, both notes, how many beats long."""
    at = 0
    for sound in first:
        while at < len(second) and second[at].end <= sound.start:
            at += 1
        for number in range(at, len(second)):
            other = second[number]
            if other.start >= sound.end:
                break
            start = max(sound.start, other.start)
            length = min(sound.end, other.end) - start
            if length >= HELD and (sound.pitch - other.pitch) % 12 in (1, 11):
                yield start, sound, other, length


def _different(one: tuple[str, ...], other: tuple[str, ...]) -> tuple[str, str] | None:
    """The first player of one line with one of the other who is somebody else; None where all is
    played by one."""
    return next(((a, b) for a in one for b in other if a != b), None)
