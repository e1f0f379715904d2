"""The melodies that sound in a step, note by note: its own lines, the one under a solo, and those
that players loop beneath it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import cycle as endless
from typing import TypeAlias

from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.steps import Free, Groove, Hold, Play, Solo, Step, Trade, Under

MOST_ROUNDS = 400
"""So many rounds of a loop say all: by then it has met the other line in every way that it can."""


Round: TypeAlias = tuple[Line, Fraction]
"""A line, and where it begins."""


@dataclass(frozen=True, slots=True)
class Sound:
    """A note as it sounds in a step, in beats from the step's first beat; ``begin``: where its line
    begins."""

    start: Fraction
    end: Fraction
    begin: Fraction
    index: int
    note: Note
    line: Line

    @property
    def pitch(self) -> int:
        """Its pitch in semitones."""
        assert self.note.pitch is not None
        return self.note.pitch


@dataclass(frozen=True)
class Voice:
    """What the same players sound through a step: lines one after the other, up to ``until``.

    ``beneath``: it is looped beneath the step, and begins with it.
    """

    players: tuple[str, ...]
    rounds: tuple[Round, ...]
    until: Fraction | None
    beneath: bool = False

    @cached_property
    def sounds(self) -> tuple[Sound, ...]:
        """Its notes, worked out when they are asked for: most steps have one voice alone."""
        sounds = _sounds(self.rounds, self.until)
        return tuple(sound for sound in sounds if not self.beneath or sound.start >= 0)


@dataclass
class Voices:
    """The voices of one step after the other."""

    piece: Piece
    elapsed: dict[Under, Fraction] = field(default_factory=dict)
    """The metered beats since each came into force, for lines that run on over steps."""
    known: set[tuple[object, ...]] = field(default_factory=set)
    """What steps have sounded."""

    def of_steps(self) -> Iterator[tuple[Step, list[Voice]]]:
        """Yield the metered steps that may have two voices or more, with these; those that sound
        alike once."""
        steps = self.piece.steps
        for number, step in enumerate(steps):
            if isinstance(step, Free | Hold) or not self.piece.is_metered(step):
                continue
            if len(step.uses) + len(step.under) < 2 and not step.state.under:
                continue
            closes = number + 1 == len(steps) or not isinstance(steps[number + 1], Play)
            turn = self.turn_of(step)
            turns = step.times if step.under else 1
            below = tuple((one, self.since(one)) for one in step.under)
            key = (self.own_facts(step), step.cycle, closes, turn, turns, below)
            if key not in self.known:
                self.known.add(key)
                yield step, self.voices(step, turn, closes=closes)
            self.pass_over(step, turn * step.times)

    def own_facts(self, step: Step) -> tuple[object, ...]:
        """Return what a step itself plays."""
        if isinstance(step, Play):
            return step.parts
        return (step.over, step.player, step.by) if isinstance(step, Solo) else step.names

    def since(self, one: Under) -> Fraction:
        """Return where the lines of a player have come to, if they cross the cycle."""
        crossing = all(self.piece.lines[name].free for name in one.lines)
        return self.elapsed.get(one, Fraction(0)) if crossing else Fraction(0)

    def pass_over(self, step: Step, beats: Fraction) -> None:
        """Count the beats of a step for what goes on beneath it."""
        here = step.state.under
        self.elapsed = {one: self.elapsed.get(one, Fraction(0)) + beats for one in here}

    def turn_of(self, step: Step) -> Fraction:
        """Return how many beats one time through a step lasts."""
        if isinstance(step, Play):
            standings = [line.standing(step.cycle) for line in self.lines_of(step)]
            return max((one.hands_over - one.first for one in standings), default=Fraction(0))
        if isinstance(step, Trade):
            return step.all_cycles * step.cycle.beats
        return step.cycle.beats * (step.cycles if isinstance(step, Solo | Groove) else 0)

    def lines_of(self, step: Step) -> list[Line]:
        """Return the lines that a step itself plays, in its cycle."""
        known = (name for name in step.uses if name in self.piece.lines)
        return [self.piece.line_in(name, step.cycle) for name in known]

    def voices(self, step: Step, turn: Fraction, *, closes: bool) -> list[Voice]:
        """Return the melodies of a step that somebody plays.

        What rings on beyond the step is heard where it ``closes``: no other line comes after it.
        """
        turns = min(step.times, MOST_ROUNDS) if step.under else 1
        found: list[Voice] = []
        for line in self.lines_of(step):
            players = tuple(one.name for one in self.piece.own_players_of(step, line.name))
            if line.kind != "melody" or not players or not line.notes:
                continue
            standing = line.standing(step.cycle)
            advance = line.round_in(step.cycle)
            repeats = isinstance(step, Solo) or (standing.shape == "loops" and advance < turn)
            each = min(MOST_ROUNDS, -(-turn // advance)) if repeats else 1
            rounds = [
                (line, number * turn + again * advance + standing.offset)
                for number in range(turns)
                for again in range(each)
            ][:MOST_ROUNDS]
            until = turn * turns + standing.eduppu if repeats else turn * turns
            end = None if closes and not repeats else until
            found.append(Voice(players, tuple(rounds), end))
        # Who improvises in turns leaves their lines for it.
        resting = step.names if isinstance(step, Trade) else ()
        below = [one for one in step.under if one.player not in resting]
        return [*found, *(self.beneath(one, step, turn * turns) for one in below)]

    def beneath(self, one: Under, step: Step, length: Fraction) -> Voice:
        """Return what a player loops beneath a step."""
        lines = [self.piece.line_in(name, step.cycle) for name in one.lines]
        crossing = all(line.free for line in lines)
        steps = [line.length if crossing else line.round_in(step.cycle) for line in lines]
        at = -(self.since(one) % sum(steps))
        rounds: list[Round] = []
        for line, advance in endless(zip(lines, steps, strict=True)):
            if at >= length or len(rounds) >= MOST_ROUNDS:
                break
            offset = Fraction(0) if crossing else line.standing(step.cycle).offset
            rounds.append((line, at + offset))
            at += advance
        return Voice((one.player,), tuple(rounds), length, beneath=True)


def _sounds(rounds: Sequence[Round], until: Fraction | None) -> Iterator[Sound]:
    """Yield the notes of lines one after the other; a new beginning ends the one before."""
    for (line, begin), after in zip(rounds, [*rounds, None][1:], strict=True):
        if line.kind != "melody":
            continue
        cut = until
        if after is not None and after[0].notes:
            cut = after[1] + after[0].notes[0].start
        for index, note in enumerate(line.notes):
            start, end = begin + note.start, begin + note.end
            if cut is not None:
                end = min(end, cut)
            if end > start and note.pitch is not None:
                yield Sound(start, end, begin, index, note, line)
