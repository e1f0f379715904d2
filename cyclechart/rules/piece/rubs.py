"""The rule over lines that sound at once: semitones that are held between them."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations
from typing import NamedTuple

from cyclechart.finding import Finding
from cyclechart.piece.model import Line, Piece
from cyclechart.piece.note import Note
from cyclechart.piece.steps import Play, Step
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.excerpts import clip
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.tones import show_pitch, tone

HELD = Fraction(1)
"""Beats from which a semitone is held and no more passed."""
MOST_ROUNDS = 400
"""So many rounds of a loop say all: by then it has met the other line in every way that it can."""


@rule("advice")
def rub(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Two lines that different players have at once hold a semitone for a beat or more.

    A seventh and a ninth that are a semitone by the octave (S with N or r, anywhere) count too:
    which octave each player reads in changes nothing. A semitone that is passed within a beat is
    none. Where both tones are meant, say so in a liberty.

    wrong:  play: {flute: head, violin: low}    with head: S - - - and low: N, - - -
    right:  the same with low: P, - - -
    """
    told: set[tuple[str, int, str, int]] = set()
    steps = piece.steps
    for number, step in enumerate(steps):
        if not isinstance(step, Play) or not piece.is_metered(step):
            continue
        closes = number + 1 == len(steps) or not isinstance(steps[number + 1], Play)
        for one, other in combinations(_voices(piece, step, closes=closes), 2):
            players = _different(one.players, other.players)
            if players is None:
                continue
            for at, first, second, length in _semitones(one.sounds, other.sounds):
                key = (one.line.name, first.number, other.line.name, second.number)
                if key not in told:
                    told.add(key)
                    yield _found(
                        piece, this, step, (one, first), (other, second), at, length, players
                    )


def _found(
    piece: Piece,
    this: Rule,
    step: Step,
    low: tuple[_Voice, _Sound],
    high: tuple[_Voice, _Sound],
    at: Fraction,
    length: Fraction,
    players: tuple[str, str],
) -> Finding:
    """The finding on a semitone between two lines, at the note of the second."""
    (one, first), (other, second) = low, high
    place = place_of(piece, other.line, at - second.begin, step.cycle)
    against = place_of(piece, one.line, at - first.begin, step.cycle)
    where = f"{against.cycle_name}, beat {show_exact(against.beat)}"
    message = (
        f"{show_pitch(second.pitch)} ({players[1]}) and {show_pitch(first.pitch)} of "
        f"'{clip(one.line.name)}' ({players[0]}, its {where}) are a semitone apart, and sound "
        f"together for {show_beats(length)}"
    )
    return this.found(second.note.spot, message, place=place, tone=tone(second.pitch))


class _Sound(NamedTuple):
    """A note as it sounds in a step, in beats from the step's first beat; ``begin``: where its line
    begins; ``number``: the place of the note in it."""

    start: Fraction
    end: Fraction
    begin: Fraction
    number: int
    note: Note

    @property
    def pitch(self) -> int:
        assert self.note.pitch is not None
        return self.note.pitch


class _Voice(NamedTuple):
    """A line as it sounds through a step, and its players."""

    line: Line
    players: tuple[str, ...]
    sounds: tuple[_Sound, ...]


def _voices(piece: Piece, step: Play, *, closes: bool) -> list[_Voice]:
    """The melodies of a step that somebody plays; a shorter one that loops is repeated.

    What rings on beyond the step is heard where it ``closes``: no other line comes after it.
    """
    if len(step.uses) < 2:  # one line alone rubs against nothing, however long it is
        return []
    lines = [piece.line_in(name, step.cycle) for name in step.uses if name in piece.lines]
    standings = [line.standing(step.cycle) for line in lines]
    ends = [standing.hands_over - standing.first for standing in standings]
    longest = max(ends, default=Fraction(0))
    voices: list[_Voice] = []
    for line, standing, end in zip(lines, standings, ends, strict=True):
        players = tuple(player.name for player in piece.players_of(step, line.name))
        if line.kind != "melody" or not players or not line.notes:
            continue
        begins = [standing.offset]
        until: Fraction | None = None if closes else longest
        if standing.shape == "loops" and end < longest:
            advance = max(end, step.cycle.beats)
            begins += [
                end + number * advance + standing.offset
                for number in range(min(MOST_ROUNDS, int(-((end - longest) // advance))))
            ]
            until = longest + standing.eduppu
        voices.append(_Voice(line, players, tuple(_sounds(line, begins, until))))
    return voices


def _sounds(line: Line, begins: list[Fraction], until: Fraction | None) -> Iterator[_Sound]:
    """Yield the notes of a line that begins again and again; a new beginning ends the one
    before."""
    for begin, after in zip(begins, [*begins[1:], None], strict=True):
        cut = until if after is None else after + line.notes[0].start
        for index, note in enumerate(line.notes):
            start, end = begin + note.start, begin + note.end
            if cut is not None:
                end = min(end, cut)
            if end > start and note.pitch is not None:
                yield _Sound(start, end, begin, index, note)


def _semitones(
    first: tuple[_Sound, ...], second: tuple[_Sound, ...]
) -> Iterator[tuple[Fraction, _Sound, _Sound, Fraction]]:
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
