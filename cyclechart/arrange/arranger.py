"""A piece arranged: the timeline, then a part for each role."""

from __future__ import annotations

from cyclechart.arrange.drone import drone
from cyclechart.arrange.melody import melody
from cyclechart.arrange.percussion import percussion
from cyclechart.arrange.score import Marker, Meter, Score, TempoMark
from cyclechart.arrange.timeline import Timeline, unroll
from cyclechart.piece.model import Piece
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact


def arrange(piece: Piece) -> Score:
    """Arrange a piece for one melody player, hand drums and drone."""
    timeline = unroll(piece)
    return Score(
        piece.title,
        piece.composer,
        piece.tonic,
        piece.tuning,
        _tempos(timeline),
        _meters(timeline),
        _markers(piece, timeline),
        (melody(timeline), *percussion(timeline), drone(timeline, piece.mode)),
        timeline.end,
    )


def _tempos(timeline: Timeline) -> tuple[TempoMark, ...]:
    marks: list[TempoMark] = []
    for stretch in timeline.stretches:
        if stretch.start < stretch.end and (not marks or marks[-1].tempo != stretch.tempo):
            marks.append(TempoMark(stretch.start, stretch.tempo))
    return tuple(marks)


def _meters(timeline: Timeline) -> tuple[Meter, ...]:
    """A bar is a cycle; a free stretch is one bar, so that the next cycle begins one too."""
    meters: list[Meter] = []
    for stretch in timeline.stretches:
        length = stretch.end - stretch.start
        bar = length if stretch.kind == "free" else stretch.cycle.beats
        if length and (not meters or meters[-1].beats != bar or stretch.kind == "free"):
            meters.append(Meter(stretch.start, bar))
    return tuple(meters)


def _markers(piece: Piece, timeline: Timeline) -> tuple[Marker, ...]:
    """The stretches by name, each change of cycle, each first beat by its number, each section by
    its sign."""
    markers = []
    number = 0
    before: Cycle | None = None
    for stretch in timeline.stretches:
        cycle = stretch.cycle
        if stretch.kind != "free" and cycle != before:
            if before is not None:
                markers.append(Marker(stretch.start, f"in {piece.called(cycle)}"))
            before = cycle
        if stretch.label:
            markers.append(Marker(stretch.start, stretch.label))
        if stretch.kind == "free":
            continue
        base = stretch.start
        while base < stretch.end:
            number += stretch.kind == "metered"
            name = f"cycle {number}" if stretch.kind == "metered" else stretch.kind
            for start in cycle.starts:
                if base + start < stretch.end:
                    sign = cycle.signs.get(start, "")
                    markers.append(
                        Marker(base + start, f"{name} beat {show_exact(start + 1)} {sign}".rstrip())
                    )
            base += cycle.beats
    return tuple(markers)
