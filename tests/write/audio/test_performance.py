"""A score in frames and hertz: against the timeline's clock, the MIDI file and the ratios.

Outside: mido reading the MIDI file that is written; A4 is key 69 and 440 Hz (ISO 16, MIDI 1.0);
ratios as printed for the just tuning (five-limit; see tests/theory/test_tuning.py).
"""

from __future__ import annotations

import io
import math
from fractions import Fraction as F

import mido
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.hearing_midi import sounding_notes, stream_of
from support.making import piece_of, random_changing_piece, random_piece
from support.midi_files import midi_bytes

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.clock import Clock, clock_of
from cyclechart.arrange.score import Score, TempoMark
from cyclechart.arrange.transpose import transposed
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.heading import read_tonic
from cyclechart.piece.model import Piece
from cyclechart.sound.drum_models import SOUNDS
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.performance import Tone, frame_at, performance_of

JUST = [F(1), F(16, 15), F(9, 8), F(6, 5), F(5, 4), F(4, 3), F(45, 32), F(3, 2), F(8, 5), F(5, 3),
        F(9, 5), F(15, 8)]  # fmt: skip
HALF = 0.5 + 1e-9
LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"


def at_their_times(piece: Piece) -> None:
    """Every tone and stroke is at the frame nearest to the timeline's time of it."""
    score, clock = arrange(piece), clock_of(unroll(piece))
    made = performance_of(score, plain=True)
    assert [part.name for part in made.parts] == [part.name for part in score.parts]
    for part, one in zip(score.parts, made.parts, strict=True):
        assert len(one.tones) == len(part.sounds)
        for sound, tone in zip(part.sounds, one.tones, strict=True):
            assert abs(tone.start - clock.seconds(sound.start) * RATE) <= HALF
            end = clock.seconds(sound.start + sound.length) * RATE
            assert abs(tone.start + tone.frames - end) <= max(HALF, 1.5 if tone.frames == 1 else 0)
            assert tone.frames >= 1
            for (at, by), (frame, cents) in zip(sound.curve, tone.curve, strict=True):
                there = clock.seconds(sound.start + at) * RATE
                assert abs(tone.start + frame - there) <= HALF
                assert cents == pytest.approx(100 * by)
        for hit, stroke in zip(part.hits, one.strokes, strict=True):
            assert abs(stroke.start - clock.seconds(hit.start) * RATE) <= HALF
            assert stroke.velocity == hit.velocity
    assert abs(made.frames - clock.seconds(score.end) * RATE) <= HALF


def seconds_in(file: mido.MidiFile) -> dict[int, float]:
    """The time of each tick at which there is something, by the file's own tempos."""
    now, before, each = 0.0, 0, 500_000
    found = {}
    for tick, _, message in stream_of(file):
        now += (tick - before) * each / file.ticks_per_beat / 1e6
        before = tick
        found[tick] = now
        if message.type == "set_tempo":
            each = message.tempo
    return found


def as_in_the_midi_file(piece: Piece) -> None:
    """Every sound begins with a note of the file, and every note with a sound."""
    score = arrange(piece)
    data = midi_bytes(score)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    seconds = seconds_in(file)
    theirs = np.array(sorted(seconds[note.start] for note in sounding_notes(data)))
    ours = np.array(
        sorted(
            tone.start for part in performance_of(score, plain=True).parts for tone in part.tones
        )
    )
    if not len(ours):
        assert not len(theirs)
        return
    slowest = max(60 / float(mark.tempo) for mark in score.tempos)
    apart = 0.5 * slowest / file.ticks_per_beat + 0.5 / RATE + 1e-7
    for some, others in ((ours / RATE, theirs), (theirs, ours / RATE)):
        place = np.searchsorted(others, some)
        after = np.abs(others[np.minimum(place, len(others) - 1)] - some)
        before = np.abs(others[np.maximum(place - 1, 0)] - some)
        assert np.minimum(after, before).max() <= apart


@pytest.mark.parametrize("seed", range(20))
def test_random_pieces_are_played_when_the_timeline_has_them(seed: int) -> None:
    at_their_times(piece_of(random_piece(seed)))


@pytest.mark.parametrize("seed", range(8))
def test_so_are_pieces_that_change_their_cycle(seed: int) -> None:
    at_their_times(piece_of(random_changing_piece(seed)))


@pytest.mark.parametrize(
    "form",
    [
        "[{play: head, times: 3, tempo: {to: 31}}, play: head, {play: head, tempo: 77}]",
        "[{free: head, seconds: 7 1/2}, {play: head, tempo: {to: 133}}, {groove: 3, cycle: rupak}]",
    ],
)
def test_so_are_changes_of_tempo(form: str) -> None:
    piece = piece_of(f"{LOOP}form: {form}\n")
    at_their_times(piece)
    as_in_the_midi_file(piece)


def test_glides_and_shakes_move_at_their_times() -> None:
    text = 'lines:\n  head: {sargam: "S~R !gamak!G m~P P | !andolan!P d n S\'~n n d"}\n'
    piece = piece_of(f"{text}form: [{{play: head, times: 2, tempo: {{to: 150}}}}]\n")
    moving = [
        tone
        for part in performance_of(arrange(piece), plain=True).parts
        for tone in part.tones
        if tone.curve
    ]
    assert len(moving) >= 8
    at_their_times(piece)


@pytest.mark.parametrize("seed", range(8))
def test_they_begin_when_the_midi_file_has_them(seed: int) -> None:
    as_in_the_midi_file(piece_of(random_piece(seed)))


def expected_hz(piece: Piece, base: int, pitch: int, own: dict[int, float]) -> float:
    """Ratio by ratio from key 69, without the tuning's own tables."""
    ratio = float(JUST[pitch % 12])
    if piece.tuning.name == "equal":
        ratio = 2 ** (pitch % 12 / 12)
    ratio = own.get(pitch % 12, ratio)
    return float(440 * 2 ** ((base - 69) / 12) * ratio * 2 ** (pitch // 12))


def pitches_of(piece: Piece, own: dict[int, float]) -> set[int]:
    score = arrange(piece)
    seen = set()
    for part, one in zip(score.parts, performance_of(score, plain=True).parts, strict=True):
        for sound, tone in zip(part.sounds, one.tones, strict=True):
            base = score.tonic.midi if sound.base is None else sound.base
            seen.add(base)
            assert tone.hz == pytest.approx(
                expected_hz(piece, base, sound.pitch, own), rel=1e-9
            )  # fmt: skip
    return seen


@pytest.mark.parametrize("seed", range(20))
def test_hertz_are_the_ratio_over_sa(seed: int) -> None:
    text = random_piece(seed)
    own = {9: 27 / 16, 10: 2 ** (996.1 / 1200)} if "{D: 27/16" in text else {}
    pitches_of(piece_of(text), own)


def test_sa_is_that_of_the_step_where_the_form_moves_it() -> None:
    text = f"{LOOP}form: [play: head, {{play: head, tonic: E}}, {{play: head, tonic: Bb}}]\n"
    piece = piece_of(text)
    keys = pitches_of(piece, {})
    assert {key % 12 for key in keys} == {2, 4, 10}
    tonic = read_tonic("G")
    assert tonic is not None
    assert {key % 12 for key in pitches_of(transposed(piece, tonic), {})} == {7, 9, 3}


def test_what_is_heard_is_what_the_midi_file_bends_to() -> None:
    # Outside: the receiver of the MIDI file. A bend of two semitones is in 8192 steps: 0.02 cents.
    text = f"players: {{violin: , tanpura: }}\n{LOOP}form: [play: head, {{play: head, tonic: F}}]\n"
    score = arrange(piece_of(text))
    tones = sorted(
        (tone.start, tone.hz)
        for part in performance_of(score, plain=True).parts
        for tone in part.tones
    )
    notes = sorted((note.start, note.pitches[0][1]) for note in sounding_notes(midi_bytes(score)))
    assert len(tones) == len(notes)
    ours = sorted(69 + 12 * math.log2(hz / 440) for _, hz in tones)
    theirs = sorted(key for _, key in notes)
    assert ours == pytest.approx(theirs, abs=0.0005)


def test_strokes_are_sounds_of_the_drum_and_it_is_tuned_to_sa() -> None:
    for letter in ("C", "D", "F#", "G", "B"):
        piece = piece_of(f"players: {{flute: , tabla: , drum-kit: }}\n{LOOP}", tonic=letter)
        parts = {part.name: part for part in performance_of(arrange(piece), plain=True).parts}
        tabla = parts["tabla"]
        assert {stroke.sound for stroke in tabla.strokes} <= set(SOUNDS)
        assert {type(stroke.sound) for stroke in parts["drum-kit"].strokes} == {int}
        sa = parts["flute"].tones[0].hz
        assert math.log2(sa / tabla.hz) % 1 == pytest.approx(0, abs=1e-9)
        # Where such drums are made: within an octave that ends at F sharp (from memory).
        assert 185 < tabla.hz <= 370


def score_with(tempos: list[tuple[F, F]], end: F) -> Score:
    bare = arrange(piece_of(LOOP))
    marks = tuple(TempoMark(at, tempo) for at, tempo in tempos)
    return Score(
        title=bare.title,
        composer="",
        tonic=bare.tonic,
        tuning=bare.tuning,
        tempos=marks,
        meters=(),
        markers=(),
        parts=(),
        end=end,
    )


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.fractions(0, 50, max_denominator=12), st.integers(20, 400)), max_size=6),
    st.lists(st.fractions(0, 60, max_denominator=60), min_size=2, max_size=8),
)
def test_time_goes_forward_and_is_a_sum_of_beats(
    marks: list[tuple[F, int]], times: list[F]
) -> None:
    places = dict(marks)
    clock = Clock(score_with([(at, F(places[at])) for at in sorted(places)], F(60)).tempos)
    found = [clock.seconds(time) for time in sorted(times)]
    assert found == sorted(found)
    assert clock.seconds(F(0)) == 0
    for one, time in zip(found, sorted(times), strict=True):
        # By hand: each stretch between marks at its own tempo; before the first at the first's.
        starts = sorted(places)
        if not starts:
            break
        tempos = [places[at] for at in starts]
        edges = [F(0), *starts[1:], F(1000)]
        by_hand = sum(
            max(F(0), min(time, after) - before) * round(F(60_000_000, tempo))
            for before, after, tempo in zip(edges[:-1], edges[1:], tempos, strict=True)
        )
        assert one * 1_000_000 == by_hand
        assert abs(frame_at(clock, time) - one * RATE) <= F(1, 2)


def test_a_note_too_short_for_a_frame_still_sounds() -> None:
    assert all(
        isinstance(tone, Tone) and tone.frames >= 1
        for part in performance_of(arrange(piece_of("lines:\n  a: {sargam: S}\n"))).parts
        for tone in part.tones
    )
