"""The length of pieces, against the written MIDI file as other readers read it."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import mido
import pretty_midi
import pytest
from hypothesis import given
from support.making import DEMO_BOOK, load_text, piece_of, random_piece
from support.midi_files import midi_bytes
from support.timelines import random_timelines

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.clock import (
    MICROS,
    clock_of,
    micros_of,
    minutes_of,
    timeline_seconds,
)
from cyclechart.arrange.tempos import tempos_of
from cyclechart.arrange.timeline import Timeline
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece

LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"


def agrees(piece: Piece) -> None:
    """Outside: mido's length of the file, and pretty_midi's time of its last tick."""
    data = midi_bytes(arrange(piece))
    file = mido.MidiFile(file=io.BytesIO(data))
    seconds = float(timeline_seconds(unroll(piece)))
    assert file.length == pytest.approx(seconds, abs=1e-3)
    end = max(sum(message.time for message in track) for track in file.tracks)
    read = pretty_midi.PrettyMIDI(io.BytesIO(data))
    assert read.tick_to_time(end) == pytest.approx(seconds, abs=1e-3)


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_demo_book_lasts_as_long_as_its_midi_files(path: Path) -> None:
    piece = load_text(path.read_bytes(), path.parent).piece
    assert piece is not None
    agrees(piece)


@pytest.mark.parametrize("seed", range(12))
def test_random_pieces_last_as_long_as_their_midi_files(seed: int) -> None:
    agrees(piece_of(random_piece(seed)))


@pytest.mark.parametrize(
    "form",
    [
        "[{play: head, tempo: {to: 200}}]",
        "[{play: head, times: 3, tempo: {to: 31}}, play: head, {play: head, tempo: 77}]",
        "[{free: head, seconds: 100}, {play: head, tempo: {to: 133}}, {groove: 3, cycle: rupak}]",
        "[{play: head}, {play: late, tempo: {to: 60}}, {play: head}]",
    ],
)
def test_changes_of_tempo_agree_with_the_midi_file(form: str) -> None:
    late = "  late: {begins: 2, sargam: S R G m P d n S' n S}\n"
    agrees(piece_of(f"{LOOP}{late}form: {form}\n"))


def test_seconds_are_those_of_hand() -> None:
    # Ten beats of count-in and ten of the loop, a second each.
    assert timeline_seconds(unroll(piece_of(LOOP, tempo="60"))) == 20
    assert minutes_of(piece_of(LOOP, tempo="60")) == Fraction(1, 3)
    # 60 to 120 in 20 half beats: the middle tempos are 61.5, 64.5 … 118.5.
    form = f"count-in: 0\n{LOOP}form: [{{play: head, tempo: {{to: 120}}}}]\n"
    steps = [Fraction(123, 2) + 3 * number for number in range(20)]
    by_hand = sum(Fraction(1, 2) * micros_of(tempo) for tempo in steps) / 1_000_000
    assert timeline_seconds(unroll(piece_of(form, tempo="60"))) == by_hand
    # Outside: the integral, 10 beats · ln 2 / (120 − 60) minutes.
    assert float(by_hand) == pytest.approx(10 * 0.693147 / 60 * 60, abs=0.01)


def test_a_piece_of_nothing_lasts_no_time() -> None:
    assert timeline_seconds(Timeline((), (), Fraction(0), None)) == 0


@given(random_timelines())
def test_a_timeline_lasts_as_long_as_the_tempos_that_are_written(timeline: Timeline) -> None:
    marks = tempos_of(timeline)
    until = [*(mark.at for mark in marks[1:]), timeline.end]
    summed = sum(
        (end - mark.at) * micros_of(mark.tempo) for mark, end in zip(marks, until, strict=True)
    )
    assert timeline_seconds(timeline) == summed / MICROS
    clock = clock_of(timeline)
    for mark, end in list(zip(marks, until, strict=True))[:40]:
        half = (mark.at + end) / 2
        passed = clock.seconds(half) - clock.seconds(mark.at)
        assert passed == (half - mark.at) * micros_of(mark.tempo) / MICROS


@given(random_timelines())
def test_time_goes_forward_and_adds_up(timeline: Timeline) -> None:
    clock = clock_of(timeline)
    times = [stretch.start for stretch in timeline.stretches] + [timeline.end]
    seconds = [clock.seconds(time) for time in times]
    assert seconds == sorted(seconds)
    assert seconds[0] == 0
    assert seconds[-1] == timeline_seconds(timeline)
