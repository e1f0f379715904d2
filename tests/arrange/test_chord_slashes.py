"""Slashes under chord symbols: they fill what the chords last, cut where a chord changes."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from support.timelines import random_cycles

from cyclechart.arrange.chord_slashes import (
    Beat,
    ChordSpan,
    beats_of_cycles,
    chord_slashes,
)
from cyclechart.arrange.parts.step_dynamics import with_step_level
from cyclechart.finding import Spot
from cyclechart.piece.note import Note
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.cycle import Cycle

HERE = Spot("test.yaml", 1, 1)
LENGTHS = st.integers(1, 24).map(lambda number: Fraction(number, 4))


@st.composite
def random_spans(draw: st.DrawFn) -> list[ChordSpan]:
    """Chords one after the other, some with a rest before them, all in one rhythm."""
    at, spans = Fraction(0), []
    struck = draw(st.booleans())
    for length in draw(st.lists(LENGTHS, min_size=1, max_size=8)):
        at += draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(1, 2), Fraction(3)]))
        chord = ChordSymbol(draw(st.integers(0, 2)), (0, 4, 7))
        note = Note(at, length, HERE, chord=chord)
        spans.append(ChordSpan(at, at + length, note, struck))
        at += length
    return spans


def in_cycles(cycle: Cycle, spans: list[ChordSpan]) -> list[Beat]:
    return list(beats_of_cycles(cycle, Fraction(0), spans[-1].end))


@given(random_cycles(), random_spans())
def test_slashes_fill_what_the_chords_last(cycle: Cycle, spans: list[ChordSpan]) -> None:
    beats = in_cycles(cycle, spans)
    notes = chord_slashes(spans, beats)
    assert all(a.end <= b.start for a, b in pairwise(notes))
    for span in spans:
        inside = [note for note in notes if span.start <= note.start < span.end]
        assert sum(note.length for note in inside) == span.end - span.start
        assert inside[-1].end == span.end
        if span.struck:
            assert len(inside) == 1
    if not spans[0].struck:
        # None goes over a beat line.
        lines = {beat.start for beat in beats}
        assert not [n for n in notes for line in lines if n.start < line < n.end]


@given(random_cycles(), random_spans())
def test_a_symbol_stands_where_a_chord_begins_and_where_a_cycle_does(
    cycle: Cycle, spans: list[ChordSpan]
) -> None:
    notes = chord_slashes(spans, in_cycles(cycle, spans))
    shown = {note.start: note.chord for note in notes if note.chord is not None}
    if spans[0].struck:
        cycles: dict[Fraction, list[ChordSymbol | None]] = {}
        for note in notes:
            cycles.setdefault(note.start // cycle.beats, []).append(note.chord)
        assert all(chords[0] is not None for chords in cycles.values())
        return
    for span in spans:
        assert shown[span.start] == span.note.chord
        first = -(-span.start // cycle.beats) * cycle.beats
        while first < span.end:
            assert shown[first] == span.note.chord
            first += cycle.beats
    assert len(shown) <= len(spans) + spans[-1].end // cycle.beats + 1


def test_bars_that_are_alike_are_written_alike() -> None:
    """A chord through three cycles: the second and third have the same slashes and symbols."""
    cycle = Cycle(name="Four", beats=Fraction(4), sections=(Fraction(4),), stressed=(Fraction(1),))
    note = Note(Fraction(0), Fraction(12), HERE, chord=ChordSymbol(0, (0, 4, 7)))
    spans = [ChordSpan(Fraction(0), Fraction(12), note, False)]
    notes = chord_slashes(spans, in_cycles(cycle, spans))
    bars = [
        [(one.start - at, one.length, one.chord) for one in notes if at <= one.start < at + 4]
        for at in (0, 4, 8)
    ]
    assert bars[0] == bars[1] == bars[2]


def test_the_dynamics_of_a_step_stand_at_its_first_chord() -> None:
    note = Note(Fraction(0), Fraction(4), HERE, chord=ChordSymbol(0, (0, 4, 7)))
    for struck in (False, True):
        span = ChordSpan(Fraction(0), Fraction(4), note, struck, origin=(0, 0))
        cycle = Cycle(name="Four", beats=Fraction(4), sections=(Fraction(4),), stressed=())
        notes = with_step_level(chord_slashes([span], in_cycles(cycle, [span])), "p")
        assert notes[0].marks == ("p",)
        assert not any(one.marks for one in notes[1:])
