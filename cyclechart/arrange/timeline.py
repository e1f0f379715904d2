"""The form unrolled: which line or stretch stands where, in beats from the very beginning."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal

from cyclechart.piece.heading import SLOWEST
from cyclechart.piece.model import HAND_DRUMS, MELODY, Free, Line, Note, Piece, Play, Solo
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

Kind = Literal["count-in", "lead-in", "metered", "free"]

FREE_TEMPO = Fraction(60)
"""A free stretch without a line is counted in seconds: its tempo gives a beat each."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of time of one kind. ``soloist`` is the player it is left open for, or "".

    But for a free one it is whole turns of its ``cycle``, and the last may be cut off by the end.
    ``clapped``: claps and waves keep the time in it. ``to_tempo``: the tempo it comes to by its
    end, evenly, or None. ``level``: how loud all of it is (``pp`` to ``ff``), or "".
    """

    kind: Kind
    start: Fraction
    end: Fraction
    tempo: Fraction
    cycle: Cycle
    label: str
    mode: Mode
    tonic: Tonic
    soloist: str = ""
    clapped: bool = False
    to_tempo: Fraction | None = None
    level: str = ""


@dataclass(frozen=True, slots=True)
class Placed:
    """A line laid on the timeline: its first cell sounds at ``start``; cut off at ``until``.

    One beat of the line takes ``stretch`` beats of the timeline.
    """

    line: Line
    start: Fraction
    until: Fraction | None = None
    stretch: int = 1

    def at(self, note: Note) -> Fraction:
        """Where a note of the line begins, in beats of the timeline."""
        return self.start + note.start * self.stretch

    def lasts(self, note: Note) -> Fraction:
        """How long a note of the line is written to sound, in beats of the timeline."""
        return note.length * self.stretch


@dataclass(frozen=True)
class Timeline:
    """The stretches end to end, the lines laid over them, and where it all ends.

    ``closing`` is the first beat on which the piece lands at its end, or None where it does not, or
    where cycles are written out after the landing and kept time to.
    """

    stretches: tuple[Stretch, ...]
    placed: tuple[Placed, ...]
    end: Fraction
    closing: Fraction | None


def unroll(piece: Piece) -> Timeline:
    """Lay the form of a piece out in time."""
    return _Unroller(piece).run()


class _Unroller:
    def __init__(self, piece: Piece) -> None:
        self.piece = piece
        self.cycle = piece.cycle
        self.now = Fraction(0)
        self.end = Fraction(0)
        self.closing: Fraction | None = None
        self.counted = not piece.counts_in
        self.stretches: list[Stretch] = []
        self.placed: list[Placed] = []
        self.body_starts: dict[str, Fraction] = {}
        self.room_from = Fraction(0)
        """Where the step before begins, or the meter after a free one: no pickup before it."""

    def run(self) -> Timeline:
        steps = self.piece.steps
        for number, step in enumerate(steps, start=1):
            self.cycle = step.cycle
            for turn in range(1, step.times + 1):
                if isinstance(step, Play):
                    final = number == len(steps) and turn == step.times
                    self.play(self.piece.line_in(step.line, step.cycle), final)
                elif isinstance(step, Free):
                    self.free(step)
                elif isinstance(step, Solo):
                    self.solo(step)
        end = max(self.now, self.end)
        self.stretch_to(end)
        return Timeline(tuple(self.stretches), tuple(self.placed), end, self.closing)

    def add(
        self,
        kind: Kind,
        length: Fraction,
        label: str,
        soloist: str = "",
        *,
        clapped: bool = False,
        cycle: Cycle | None = None,
    ) -> None:
        end = self.now + length
        self.stretches.append(
            Stretch(
                kind,
                self.now,
                end,
                self.piece.tempo,
                cycle or self.cycle,
                label,
                self.piece.mode,
                self.piece.tonic,
                soloist,
                clapped,
            )
        )
        if length:
            self.room_from = self.now
        self.now += length
        self.end = max(self.end, self.now)

    def meet(self, line: Line | None) -> None:
        """Before a metered step: count in once; give the line's pickup time to sound over.

        The pickup lies in the cycle of what is played before: the step's own begins with its body.
        """
        pickup = line.standing(self.cycle).pickup if line else Fraction(0)
        if not self.counted:
            self.counted = True
            self.add("count-in", self.cycle.beats, "count-in", clapped=True)
        elif pickup and (not self.stretches or self.stretches[-1].kind == "free"):
            self.add("lead-in", self.cycle.beats, "drone")
        room_from = self.room_from
        while line is not None and pickup and self.lacks_room(line, self.now - pickup, room_from):
            before = self.stretches[-1].cycle
            self.add("metered", before.beats, "", cycle=before)

    def lacks_room(self, line: Line, begins: Fraction, room_from: Fraction) -> bool:
        """Whether a pickup would reach back beyond the step before, or silence all of what its
        player has just begun."""
        begun = self.body_starts.get(line.kind)
        return begins < room_from or (begun is not None and begins <= begun)

    def play(self, line: Line, final: bool) -> None:
        """A line; the final one closes with its landing and rings to its written end."""
        if line.free:
            self.free_line(line, None)
            return
        standing = line.standing(self.cycle)
        self.meet(line)
        self.body_starts[line.kind] = self.now
        self.placed.append(Placed(line, self.now - standing.pickup))
        start = self.now
        closes = standing.shape == "lands" and standing.end - standing.last < self.cycle.beats
        upto = standing.last if closes and final else standing.hands_over
        self.add("metered", upto - standing.first, line.name)
        self.end = max(self.end, start - standing.pickup + line.length)
        self.closing = self.now if closes and final else None

    def free(self, step: Free) -> None:
        if step.is_line:
            self.free_line(self.piece.lines[step.what], step.seconds)
            return
        seconds = step.seconds or Fraction(1)
        beats = Fraction(-(-seconds // 1))
        self.add_free(beats, FREE_TEMPO * beats / seconds, f"free: {step.what}", step.what)

    def free_line(self, line: Line, seconds: Fraction | None) -> None:
        """A line stretched over so many seconds by a tempo of its own.

        Where that would be too slow to write, each of its beats is written as several.
        """
        tempo = 60 * line.length / seconds if seconds else self.piece.tempo
        stretch = max(1, ceil(SLOWEST / tempo))
        beats = line.length * stretch
        self.placed.append(Placed(line, self.now, self.now + beats, stretch))
        self.add_free(beats, tempo * stretch, line.name, "")

    def add_free(self, beats: Fraction, tempo: Fraction, label: str, soloist: str) -> None:
        end = self.now + beats
        piece = self.piece
        self.stretches.append(
            Stretch(
                "free", self.now, end, tempo, self.cycle, label, piece.mode, piece.tonic, soloist
            )
        )
        self.now = self.room_from = end
        self.end = max(self.end, self.now)
        self.closing = None
        self.body_starts.clear()

    def solo(self, step: Solo) -> None:
        over = self.piece.line_in(step.over, step.cycle) if step.over else None
        if over is not None and over.free:
            over = None
        self.meet(over)
        start = self.now
        cycles = f"{step.cycles} cycle{'s' if step.cycles > 1 else ''}"
        label = f"solo {step.player}, {cycles}"
        clapped = step.player == HAND_DRUMS and over is None
        self.add("metered", self.cycle.beats * step.cycles, label, step.player, clapped=clapped)
        self.closing = None
        self.body_starts[self.kind_of(step.player)] = start
        if over is not None:
            self.body_starts[over.kind] = start
            self.keep(over, start, self.now)

    @staticmethod
    def kind_of(player: str) -> str:
        return "melody" if player == MELODY else "strokes"

    def keep(self, line: Line, start: Fraction, end: Fraction) -> None:
        """A line said over and over to keep time, cut off where the solo ends."""
        standing = line.standing(self.cycle)
        advance = max(standing.hands_over - standing.first, self.cycle.beats)
        while start < end:
            self.placed.append(Placed(line, start - standing.pickup, end))
            start += advance

    def stretch_to(self, end: Fraction) -> None:
        """The last step sounds to its written end."""
        if end > self.now:
            tempo = self.stretches[-1].tempo if self.stretches else self.piece.tempo
            piece = self.piece
            self.stretches.append(
                Stretch("metered", self.now, end, tempo, self.cycle, "", piece.mode, piece.tonic)
            )
            self.now = end
