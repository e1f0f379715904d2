"""The form unrolled: which line or stretch stands where, in beats from the very beginning."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from cyclechart.piece.model import HAND_DRUMS, MELODY, Free, Line, Piece, Play, Solo

Kind = Literal["count-in", "lead-in", "metered", "free"]

FREE_TEMPO = Fraction(60)
"""A free stretch without a line is counted in seconds: its tempo gives a beat each."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of time of one kind. ``soloist`` is the player it is left open for, or "".

    ``clapped``: claps and waves keep the time in it.
    """

    kind: Kind
    start: Fraction
    end: Fraction
    tempo: Fraction
    label: str
    soloist: str = ""
    clapped: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """A line laid on the timeline: its first cell sounds at ``start``; cut off at ``until``."""

    line: Line
    start: Fraction
    until: Fraction | None = None


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
        self.beats = piece.cycle.beats
        self.now = Fraction(0)
        self.end = Fraction(0)
        self.closing: Fraction | None = None
        self.counted = not piece.counts_in
        self.stretches: list[Stretch] = []
        self.placed: list[Placed] = []
        self.body_starts: dict[str, Fraction] = {}

    def run(self) -> Timeline:
        for step in self.piece.steps:
            for _ in range(step.times):
                if isinstance(step, Play):
                    self.play(self.piece.lines[step.line])
                elif isinstance(step, Free):
                    self.free(step)
                else:
                    self.solo(step)
        end = max(self.now, self.end)
        self.stretch_to(end)
        return Timeline(tuple(self.stretches), tuple(self.placed), end, self.closing)

    def add(
        self, kind: Kind, length: Fraction, label: str, soloist: str = "", clapped: bool = False
    ) -> None:
        end = self.now + length
        self.stretches.append(
            Stretch(kind, self.now, end, self.piece.tempo, label, soloist, clapped)
        )
        self.now += length
        self.end = max(self.end, self.now)

    def meet(self, pickup: Fraction) -> None:
        """Before a metered step: count in once; give a pickup a cycle to sound over."""
        if not self.counted:
            self.counted = True
            self.add("count-in", self.beats, "count-in", clapped=True)
        elif pickup and (not self.stretches or self.stretches[-1].kind == "free"):
            self.add("lead-in", self.beats, "drone")

    def play(self, line: Line) -> None:
        if line.free:
            self.free_line(line, None)
            return
        standing = line.standing(self.piece.cycle)
        self.meet(standing.pickup)
        while self.swallows(line, standing.pickup):
            self.add("metered", self.beats, "")
        self.body_starts[line.kind] = self.now
        self.placed.append(Placed(line, self.now - standing.pickup))
        start = self.now
        self.add("metered", standing.hands_over - standing.first, line.name)
        self.end = max(self.end, start - standing.pickup + line.length)
        lands = standing.shape == "lands" and standing.hands_over == standing.last
        self.closing = self.now if lands else None

    def swallows(self, line: Line, pickup: Fraction) -> bool:
        """Whether the pickup would sound over the whole of what its player has just begun."""
        begun = self.body_starts.get(line.kind)
        return bool(pickup) and begun is not None and self.now - pickup <= begun

    def free(self, step: Free) -> None:
        if step.is_line:
            self.free_line(self.piece.lines[step.what], step.seconds)
            return
        seconds = step.seconds or Fraction(1)
        beats = Fraction(-(-seconds // 1))
        self.add_free(beats, FREE_TEMPO * beats / seconds, f"free: {step.what}", step.what)

    def free_line(self, line: Line, seconds: Fraction | None) -> None:
        """A line stretched over so many seconds by a tempo of its own."""
        tempo = 60 * line.length / seconds if seconds else self.piece.tempo
        self.placed.append(Placed(line, self.now, self.now + line.length))
        self.add_free(line.length, tempo, line.name, "")

    def add_free(self, beats: Fraction, tempo: Fraction, label: str, soloist: str) -> None:
        self.stretches.append(Stretch("free", self.now, self.now + beats, tempo, label, soloist))
        self.now += beats
        self.end = max(self.end, self.now)
        self.closing = None
        self.body_starts.clear()

    def solo(self, step: Solo) -> None:
        over = self.piece.lines[step.over] if step.over else None
        self.meet(over.standing(self.piece.cycle).pickup if over else Fraction(0))
        start = self.now
        cycles = f"{step.cycles} cycle{'s' if step.cycles > 1 else ''}"
        label = f"solo {step.player}, {cycles}"
        clapped = step.player == HAND_DRUMS and over is None
        self.add("metered", self.beats * step.cycles, label, step.player, clapped)
        self.closing = None
        self.body_starts.pop(self.kind_of(step.player), None)
        if over is not None and not over.free:
            self.keep(over, start, self.now)

    @staticmethod
    def kind_of(player: str) -> str:
        return "melody" if player == MELODY else "strokes"

    def keep(self, line: Line, start: Fraction, end: Fraction) -> None:
        """A line said over and over to keep time, cut off where the solo ends."""
        standing = line.standing(self.piece.cycle)
        advance = max(standing.hands_over - standing.first, self.beats)
        while start < end:
            self.placed.append(Placed(line, start - standing.pickup, end))
            start += advance

    def stretch_to(self, end: Fraction) -> None:
        """The last step sounds to its written end."""
        if end > self.now:
            tempo = self.stretches[-1].tempo if self.stretches else self.piece.tempo
            self.stretches.append(Stretch("metered", self.now, end, tempo, ""))
            self.now = end
