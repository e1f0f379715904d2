"""A piece arranged: the timeline, then a part for each player."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.arrange.roles.drummer import count
from cyclechart.arrange.roles.registry import score_part
from cyclechart.arrange.score import Marker, Meter, Part, Score, TempoMark
from cyclechart.arrange.timeline import Stretch, Timeline, unroll
from cyclechart.piece.model import Piece
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact

STEP = Fraction(1, 2)
"""A gradual change of tempo goes in steps of half a beat."""


def arrange(piece: Piece) -> Score:
    """Arrange a piece for its players."""
    timeline = unroll(piece)
    return Score(
        piece.title,
        piece.composer,
        piece.tonic if not timeline.stretches else timeline.stretches[0].tonic,
        piece.tuning,
        _tempos(timeline),
        _meters(timeline),
        _markers(piece, timeline),
        tuple(_parts(piece, timeline)),
        timeline.end,
    )


def _parts(piece: Piece, timeline: Timeline) -> Iterator[Part]:
    """The players in the order of the band, the claps and waves last."""
    for player in piece.players:
        yield score_part(piece, timeline, player)
    counted = count(timeline)
    if counted.hits:
        yield counted


def _tempos(timeline: Timeline) -> tuple[TempoMark, ...]:
    marks: list[TempoMark] = []
    for stretch in timeline.stretches:
        for at, tempo in _steps(stretch):
            if not marks or marks[-1].tempo != tempo:
                marks.append(TempoMark(at, tempo))
    return tuple(marks)


def _steps(stretch: Stretch) -> Iterator[tuple[Fraction, Fraction]]:
    """(from, tempo) of a stretch: one, or of a gradual change each step's tempo half way."""
    if stretch.start == stretch.end:
        return
    if stretch.to_tempo is None or stretch.to_tempo == stretch.tempo:
        yield stretch.start, stretch.tempo
        return
    at = stretch.start
    if stretch.since is not None and stretch.since > at:
        yield at, stretch.tempo
        at = stretch.since
    while at < stretch.end:
        until = min(at + STEP, stretch.end)
        yield at, stretch.tempo_at((at + until) / 2)
        at = until


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
    """The stretches by name, each change of cycle, mode and tonic, each first beat by its number,
    each section by its sign."""
    markers = []
    number = 0
    cycle: Cycle | None = None
    last: Stretch | None = None
    for stretch in timeline.stretches:
        if stretch.kind != "free" and stretch.cycle != cycle:
            if cycle is not None:
                markers.append(Marker(stretch.start, f"in {piece.called(stretch.cycle)}"))
            cycle = stretch.cycle
        if last is not None and last.mode != stretch.mode:
            markers.append(Marker(stretch.start, f"in {stretch.mode.name}"))
        if last is not None and last.tonic != stretch.tonic:
            markers.append(Marker(stretch.start, f"Sa = {stretch.tonic}"))
        last = stretch
        if stretch.label:
            markers.append(Marker(stretch.start, stretch.label))
        if stretch.kind == "free":
            continue
        base = stretch.start
        while base < stretch.end:
            number += stretch.kind == "metered"
            name = f"cycle {number}" if stretch.kind == "metered" else stretch.kind
            for start in stretch.cycle.starts:
                if base + start < stretch.end:
                    sign = stretch.cycle.signs.get(start, "")
                    markers.append(
                        Marker(base + start, f"{name} beat {show_exact(start + 1)} {sign}".rstrip())
                    )
            base += stretch.cycle.beats
    return tuple(markers)
