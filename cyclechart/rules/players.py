"""Rules over the players: whether a line lies on the instrument, and where there is breath.

Ranges are those of handbooks; hands, lips and voices differ, and the player's own word goes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.model import Line, Note, Piece
from cyclechart.piece.player import Player
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.exact import show_exact
from cyclechart.theory.ranges import Range, better_octave, better_shift
from cyclechart.theory.spelling import TONICS, Tonic

LONGEST_BREATH = 12
"""Seconds without a rest that a wind player or singer is asked for at most (common practice)."""

_NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")


@rule("error")
def out_of_range(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A player's line goes where the instrument has no note.

    Told once of a line, a player and a direction, of the note that is furthest out. Ranges are
    those of handbooks; the player's own word goes before them.

    wrong:  players: {flute: }     head: {sargam: S R G m | P m G R || S, - - -}     (on D)
    right:  players: {flute: }     head: {sargam: S R G m | P m G R || S - - -}
    """
    for part in parts_of(piece):
        yield from _beyond(piece, this, part, part.range.lowest, part.range.highest)


@rule("warning")
def strained_range(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A player's line lies where the instrument has the note, and the player has to work for it.

    Warm up, do not force, stop when it hurts; better move Sa or the octave.

    wrong:  players: {alto-sax: {octave: 1}}     head: {sargam: S' R' G' m' | P' m' G' R' || S'}
    right:  players: {alto-sax: }                head: {sargam: S R G m | P m G R || S}
    """
    for part in parts_of(piece):
        within = [key for _, key in part.notes if part.range.lowest <= key <= part.range.highest]
        if len(within) == len(part.notes):
            yield from _beyond(piece, this, part, part.range.low, part.range.high)


@rule("advice")
def no_breath(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A wind or voice line goes on for more than 12 seconds at its tempo without a rest.

    wrong:  players: {flute: }     head: {sargam: (S - - - R - - - G - - - m - - -)*4 S}
    right:  players: {flute: }     head: {sargam: (S - - - R - - z)*8 S}
    """
    for player in _named(piece):
        if not player.instrument.breath:
            continue
        for line in piece.played_by(player.name):
            for run in line.breaths:
                seconds = (run[-1].end - run[0].start) * 60 / _slowest(piece, line)
                if seconds > LONGEST_BREATH and not line.free:
                    message = (
                        f"{player.name} has no rest for {show_exact(Fraction(round(seconds)))} "
                        f"seconds from here on"
                    )
                    place = place_of(piece, line, run[0].start)
                    yield this.found(
                        run[0].spot, message, "put in a rest, z", place=place, tone=None
                    )
                    break


def _slowest(piece: Piece, line: Line) -> Fraction:
    """The slowest tempo that a line is played in."""
    tempos = [
        tempo
        for step in piece.steps
        if line.name in step.uses
        for tempo in (step.force.tempo, step.force.to_tempo)
        if tempo is not None
    ]
    return min(tempos, default=piece.tempo)


@dataclass(frozen=True)
class Part:
    """What one player has of one line on one Sa: each note and its sounding key."""

    player: Player
    line: Line
    tonic: Tonic
    notes: tuple[tuple[Note, int], ...]

    @property
    def range(self) -> Range:
        """The instrument's."""
        return range_of(self.player)


def range_of(player: Player) -> Range:
    """The range of a player's instrument."""
    on = player.instrument
    return Range(on.lowest, on.low, on.high, on.highest)


def _named(piece: Piece) -> Iterator[Player]:
    """The players that the piece names: who stands in for them has no range of his own."""
    return (player for player in piece.players if player.spot.file)


def parts_of(piece: Piece, *, everybody: bool = False) -> Iterator[Part]:
    """Every melody line of every player who plays it, on each Sa that the form has it on; of those
    alone that the piece names, or of everybody."""
    for player in piece.players if everybody else _named(piece):
        if player.plays != "melody":
            continue
        for line in piece.played_by(player.name):
            tonics = dict.fromkeys(
                step.force.tonic for step in piece.steps if line.name in step.uses
            )
            for tonic in tonics or [piece.tonic]:
                base = tonic.midi + 12 * player.octave
                notes = tuple(
                    (note, base + note.pitch) for note in line.notes if note.pitch is not None
                )
                if notes:
                    yield Part(player, line, tonic, notes)


def _beyond(piece: Piece, this: Rule, part: Part, low: int, high: int) -> Iterator[Finding]:
    """The lowest note under and the highest over a range, one finding each."""
    for way, (note, key), limit in (
        ("low", min(part.notes, key=lambda one: one[1]), low),
        ("high", max(part.notes, key=lambda one: one[1]), high),
    ):
        if (key >= low) if way == "low" else (key <= high):
            continue
        on = part.player.instrument
        written = f" (written {_called(key - on.transposes)})" if on.transposes % 12 else ""
        if this.name == "out-of-range":
            message = f"{_called(key)}{written} is too {way} for {part.player.name}"
        else:
            message = f"{_called(key)}{written} is a strain for {part.player.name}"
        edge = "lowest" if way == "low" else "highest"
        ease = "comfortable " if this.name == "strained-range" else ""
        message += f", whose {edge} {ease}note is {_called(limit)}"
        place = place_of(piece, part.line, note.start)
        yield this.found(note.spot, message, *_ways_out(part), place=place)


def _ways_out(part: Part) -> list[str]:
    """An octave, or a Sa, with which the whole line would lie comfortably."""
    keys = [key for _, key in part.notes]
    octave = better_octave(min(keys), max(keys), part.range)
    tries = []
    if octave:
        tries.append(f"{part.player.name}: {{octave: {part.player.octave + octave}}}")
    shift = better_shift(min(keys), max(keys), part.range)
    if shift:
        tries.append(f"tonic: {TONICS[(part.tonic.semitone + shift) % 12]}")
    return tries


def _called(key: int) -> str:
    """A key by letter and octave: 60 is C4."""
    return f"{_NAMES[key % 12]}{key // 12 - 1}"
