"""The MIDI file, read back by readers that are not ours: mido, pretty_midi, music21, partitura.

Values of the format are those of Standard MIDI Files 1.0 and the MIDI 1.0 registered parameters.
"""

from __future__ import annotations

import io
import math
import random
import warnings
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import mido
import music21
import numpy
import partitura
import pretty_midi
import pytest
from support.hearing_midi import sounding_notes, stream_of
from support.making import DEMO_BOOK, PIECE_SEEDS, load_text, piece_of, random_piece
from support.midi_files import midi_bytes
from support.scores import Onset, read_with_mido

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.ornaments import note_sounds
from cyclechart.arrange.score import Part, Score, Sound, TempoMark
from cyclechart.catalog.roles import MELODY
from cyclechart.finding import Spot
from cyclechart.piece.load import load
from cyclechart.piece.note import Note
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import EQUAL, JUST_TUNING, Tuning
from cyclechart.write.midi.file import time_signature

DEMO = [pytest.param(path, id=path.stem) for path in DEMO_BOOK]

MODE = Mode(name="a mode", ascent=(0, 2, 4, 5, 7, 9, 11, 12), descent=(12, 11, 9, 7, 5, 4, 2, 0))


@lru_cache
def score_of(path: Path) -> Score:
    piece = load(path).piece
    assert piece is not None
    return arrange(piece)


@lru_cache
def data_of(path: Path) -> bytes:
    return midi_bytes(score_of(path))


@lru_cache(maxsize=len(PIECE_SEEDS))
def random_score(seed: int) -> tuple[Score, bytes]:
    """The score of a random piece and its file."""
    result = load_text(random_piece(seed))
    assert result.piece is not None
    assert not [f for f in result.findings if f.severity == "error"]
    score = arrange(result.piece)
    return score, midi_bytes(score)


def expected(score: Score, name: str) -> list[Onset]:
    """Return the sounds of a part in the score."""
    (part,) = [part for part in score.parts if part.name == name]
    pitched = [(sound.start, score.tonic.midi + sound.pitch) for sound in part.sounds]
    return sorted(pitched + [(hit.start, hit.key) for hit in part.hits])


def seconds_at(score: Score, beat: Fraction) -> float:
    """Return the seconds of a beat, by the tempos of the score."""
    total = 0.0
    marks = [*score.tempos]
    for mark, following in zip(marks, [*marks[1:], None], strict=True):
        end = beat if following is None else min(beat, following.at)
        if end > mark.at:
            total += float((end - mark.at) * 60 / mark.tempo)
    return total


@pytest.mark.parametrize("path", DEMO)
def test_mido_reads_every_onset_on_its_exact_beat(path: Path) -> None:
    score = score_of(path)
    read = read_with_mido(data_of(path))
    assert set(read) == {part.name for part in score.parts}
    for name, onsets in read.items():
        assert onsets == expected(score, name), name


@pytest.mark.parametrize("path", DEMO)
def test_pretty_midi_reads_the_same_notes_at_the_same_seconds(path: Path) -> None:
    score = score_of(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = pretty_midi.PrettyMIDI(io.BytesIO(data_of(path)))
    for name in {part.name for part in score.parts}:
        notes = sorted(
            (note.start, note.pitch)
            for instrument in read.instruments
            if instrument.name == name
            for note in instrument.notes
        )
        wanted = sorted((seconds_at(score, at), key) for at, key in expected(score, name))
        assert len(notes) == len(wanted), name
        for (start, key), (at, pitch) in zip(notes, wanted, strict=True):
            assert abs(start - at) < 2e-3  # tempos are whole microseconds a beat in the file
            assert key == pitch


@pytest.mark.parametrize("path", DEMO)
def test_music21_reads_the_same_pitched_notes_at_the_same_beats(path: Path) -> None:
    # Drums are left to the other readers: music21 turns their keys into instruments.
    score = score_of(path)
    read = music21.midi.translate.midiStringToStream(data_of(path), quantizePost=False)
    for name in [part.name for part in score.parts if part.program is not None]:
        onsets = sorted(
            (Fraction(note.getOffsetInHierarchy(part)).limit_denominator(10080), pitch.midi)
            for part in read.parts
            if part.partName == name
            for note in part.recurse().notes
            if note.tie is None or note.tie.type == "start"  # it ties notes over its bar lines
            for pitch in note.pitches
        )
        assert onsets == expected(score, name), name


@pytest.mark.parametrize("path", DEMO)
def test_partitura_reads_the_same_notes_at_the_same_seconds(path: Path, tmp_path: Path) -> None:
    score = score_of(path)
    file = tmp_path / "piece.mid"
    file.write_bytes(data_of(path))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        performance = partitura.load_performance_midi(str(file))
    everything = [onset for part in score.parts for onset in expected(score, part.name)]
    wanted = sorted((round(seconds_at(score, at), 2), key) for at, key in everything)
    notes = sorted(
        (round(float(note["note_on"]), 2), note["midi_pitch"])
        for part in performance.performedparts
        for note in part.notes
    )
    assert len(notes) == len(wanted)
    for (start, key), (at, pitch) in zip(
        sorted(notes, key=lambda n: (n[1], n[0])),
        sorted(wanted, key=lambda n: (n[1], n[0])),
        strict=True,
    ):
        assert key == pitch
        assert abs(start - at) < 0.011  # both rounded to hundredths


@pytest.mark.parametrize("seed", PIECE_SEEDS)
def test_random_pieces_read_back_equal(seed: int) -> None:
    score, data = random_score(seed)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    ticks = file.ticks_per_beat
    for name, onsets in read_with_mido(data).items():
        wanted = expected(score, name)
        assert len(onsets) == len(wanted)
        for (at, _), (beat, _) in zip(sorted(onsets), wanted, strict=True):
            # Exact where the piece has a common tick, else the nearest tick: never a drift.
            assert abs(at - beat) <= Fraction(1, 2 * ticks)


@pytest.mark.parametrize("parts", range(1, 17))
@pytest.mark.parametrize("group", ["", "x3/2", "x5/4", "x7/4"])
def test_every_cell_and_group_is_exact_to_the_tick(parts: int, group: str) -> None:
    cell = "S" * parts
    inside = f"[{cell} {cell} {cell}]{group}" if group else f"{cell} {cell}"
    piece = piece_of(f"lines:\n  head:\n    lands: free\n    sargam: |\n      {inside} S\n")
    score = arrange(piece)
    assert read_with_mido(midi_bytes(score))["melody"] == expected(score, "melody")


def test_same_bytes_each_time() -> None:
    for path in DEMO_BOOK:
        piece = load(path).piece
        assert piece is not None
        assert midi_bytes(arrange(piece)) == data_of(path)


def messages(data: bytes, track: int) -> list[mido.Message]:
    return list(mido.MidiFile(file=io.BytesIO(data), charset="utf-8").tracks[track])


def test_the_bend_range_is_stated_by_rpn_0_before_any_note_and_closed() -> None:
    # MIDI 1.0: CC 101/100 = 0/0 names pitch bend sensitivity, CC 6 semitones, CC 38 cents;
    # 127/127 is the null parameter.
    data = data_of(DEMO_BOOK[0])
    controls = []
    for message in messages(data, 1):
        if message.type == "note_on":
            break
        if message.type == "control_change":
            controls.append((message.control, message.value))
    assert controls[-6:] == [(101, 0), (100, 0), (6, 2), (38, 0), (101, 127), (100, 127)]


def test_just_tones_are_bent_within_a_tenth_of_a_cent() -> None:
    piece = piece_of(
        "mode: {ascent: S r R g G m M P d D n N S', descent: S' N n D d P M m G g R r S}\n"
        "lines:\n  head:\n    lands: free\n    sargam: S r R g G m M P d D n N S'\n"
    )
    bend = 0
    heard = []
    for message in messages(midi_bytes(arrange(piece)), 1):
        if message.type == "pitchwheel":
            bend = message.pitch
        if message.type == "note_on":
            heard.append(100 * (message.note - piece.tonic.midi) + 200 * bend / 8192)
    assert heard == pytest.approx([*JUST_TUNING.cents, 1200.0], abs=0.1)


def test_equal_tuning_bends_nothing() -> None:
    piece = piece_of("tuning: equal\nlines:\n  head: {sargam: S R | G m P | d n | S' n d}\n")
    for track in range(1, 4):
        kinds = {message.type for message in messages(midi_bytes(arrange(piece)), track)}
        assert "pitchwheel" not in kinds


def test_names_lyrics_and_markers_are_utf8() -> None:
    piece = piece_of(
        "title: Chārukeśī नदी ♭\nlines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"
    )
    data = midi_bytes(arrange(piece))
    assert messages(data, 0)[0].name == "Chārukeśī नदी ♭"
    lyrics = [m.text for m in messages(data, 1) if m.type == "lyrics"]
    assert lyrics == ["S", "R", "G", "m", "P", "d", "n", "S'", "n", "d"]


def test_a_bar_is_a_cycle_and_each_first_beat_and_section_is_marked() -> None:
    piece = piece_of(
        "cycle: {beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}\n"
        "lines:\n  head: {sargam: S - - - - - - - - - - -/2}\n"
    )
    data = midi_bytes(arrange(piece))
    conductor = messages(data, 0)
    (signature,) = [m for m in conductor if m.type == "time_signature"]
    assert (signature.numerator, signature.denominator) == (23, 8)
    ticks = mido.MidiFile(file=io.BytesIO(data)).ticks_per_beat
    now, marks = 0, []
    for message in conductor:
        now += message.time
        if message.type == "marker":
            marks.append((Fraction(now, ticks), message.text))
    assert (Fraction(23, 2), "cycle 1 beat 1 x") in marks
    assert (Fraction(31, 2), "cycle 1 beat 5 0") in marks
    assert (Fraction(39, 2), "cycle 1 beat 9 2") in marks


@pytest.mark.parametrize(
    ("beats", "signature"),
    [("16", (16, 4)), ("23/2", (23, 8)), ("27/4", (27, 16)), ("9/8", (9, 32)), ("256", None)],
)
def test_time_signatures(beats: str, signature: tuple[int, int] | None) -> None:
    assert time_signature(Fraction(beats)) == signature


def test_a_free_line_takes_its_seconds_by_a_tempo_of_its_own() -> None:
    piece = piece_of(
        "lines:\n  open: {lands: free, sargam: S R G - m - - P}\n"
        "  head: {sargam: S - - - - - - - - -}\n"
        "form:\n  - {free: open, seconds: 20}\n  - {play: head}\n"
    )
    score = arrange(piece)
    assert score.tempos[0].tempo == 24  # 8 beats in 20 seconds
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(score)))
    assert file.length == pytest.approx(20 + 20 * 60 / 92, abs=1e-3)


@pytest.mark.parametrize("seed", PIECE_SEEDS)
def test_no_note_hangs_and_none_overlaps_its_like(seed: int) -> None:
    _, data = random_score(seed)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    for track in file.tracks[1:]:
        sounding: set[tuple[int, int]] = set()
        for message in track:
            if message.type == "note_on":
                assert (message.channel, message.note) not in sounding
                sounding.add((message.channel, message.note))
            elif message.type == "note_off":
                assert (message.channel, message.note) in sounding
                sounding.discard((message.channel, message.note))
        assert not sounding


def curved(*sounds: Sound, tempo: int = 60, tuning: Tuning = JUST_TUNING) -> Score:
    """A score of one flute that plays these sounds."""
    end = max(sound.start + sound.length for sound in sounds)
    tempos = (TempoMark(Fraction(0), Fraction(tempo)),)
    flute = Part("flute", MELODY, 73, sounds)
    return Score(
        title="t",
        composer="",
        tonic=Tonic("C"),
        tuning=tuning,
        tempos=tempos,
        meters=(),
        markers=(),
        parts=(flute,),
        end=end,
    )


def ramp(start: int, length: int, pitch: int, by: float) -> Sound:
    curve = ((Fraction(0), 0.0), (Fraction(length), by))
    return Sound(Fraction(start), Fraction(length), pitch, 80, curve=curve)


@pytest.mark.parametrize("seed", range(60))
def test_a_curve_is_heard_as_it_is_written(seed: int) -> None:
    """A receiver's pitch lies on the straight lines, in steps of 5 cents or 10 milliseconds."""
    dice = random.Random(seed)
    length = Fraction(dice.randint(1, 12), dice.choice([1, 2, 3, 5]))
    inner = sorted({length * Fraction(dice.randint(1, 47), 48) for _ in range(dice.randint(0, 9))})
    times = [Fraction(0), *inner, length]
    values = [0.0, *(dice.uniform(-3, 9) for _ in inner), dice.uniform(-12, 12)]
    tempo, pitch = dice.choice([40, 60, 133]), dice.randint(-12, 12)
    curve = tuple(zip(times, values, strict=True))
    score = curved(Sound(Fraction(0), length, pitch, 80, curve=curve), tempo=tempo)
    data = midi_bytes(score)
    (note,) = sounding_notes(data)
    ticks = mido.MidiFile(file=io.BytesIO(data)).ticks_per_beat
    base = score.tonic.midi + JUST_TUNING.above_sa(pitch) / 100
    wide = max(abs(base + by - note.key) for by in values) + 1
    step = wide / 8192
    assert note.pitches[0] == (0, pytest.approx(base, abs=step))
    assert note.pitches[-1][1] == pytest.approx(base + values[-1], abs=step)
    knots = [float(at * ticks) for at in times]
    # A tick is the least step in time: what the line moves in one is allowed.
    lines = list(pairwise(zip(knots, values, strict=True)))
    steepest = max(abs(b - a) / max(t - s, 1) for (s, a), (t, b) in lines)
    for tick, heard in note.pitches:
        assert 0 <= tick <= note.end
        assert heard == pytest.approx(
            base + float(numpy.interp(tick, knots, values)), abs=step + steepest
        )
    # Not wasteful: steps between the points are no finer than 5 cents and 10 ms both allow.
    seconds = float(length) * 60 / tempo
    moved = sum(abs(b - a) for a, b in pairwise(values)) * 100
    assert len(note.pitches) - 1 <= len(times) + min(seconds / 0.01, moved / 5)
    # Dense enough: the next step comes after 10 ms at most, or no more than 5 cents higher.
    for (tick, low), (later, high) in pairwise(note.pitches):
        wait = (later - tick) / ticks * 60 / tempo
        assert wait <= 0.0201 or abs(high - low) <= 0.05 + step + steepest


@pytest.mark.parametrize(
    ("by", "wide"), [(0.0, 2), (1.9, 2), (2.0, 3), (-2.0, 2), (7.02, 8), (-12.0, 12), (23.5, 24)]
)
def test_the_stated_range_is_the_least_that_holds_the_widest_bend(by: float, wide: int) -> None:
    # MIDI 1.0: 14 bits are −8192 to +8191, so that upwards the last step is lacking.
    data = midi_bytes(curved(ramp(0, 2, 0, by), tuning=EQUAL))
    controls = [(m.control, m.value) for m in messages(data, 1) if m.type == "control_change"]
    assert controls[-6:] == [(101, 0), (100, 0), (6, wide), (38, 0), (101, 127), (100, 127)]
    (note,) = sounding_notes(data)
    assert note.pitches[-1][1] == pytest.approx(60 + by, abs=wide / 8192)


def test_the_bend_is_set_anew_right_before_the_next_note() -> None:
    data = midi_bytes(curved(ramp(0, 2, 0, 7.0), Sound(Fraction(2), Fraction(1), 7, 80)))
    last = [m.type for m in messages(data, 1)][-5:]
    assert last == ["note_off", "pitchwheel", "note_on", "note_off", "end_of_track"]
    glided, after = sounding_notes(data)
    assert glided.pitches[-1] == (glided.end, pytest.approx(67, abs=0.001))
    assert after.pitches == [(after.start, pytest.approx(60 + 12 * math.log2(1.5), abs=0.001))]


def test_a_sound_that_was_cut_off_on_its_way_stops_where_it_had_come_to() -> None:
    sound = Sound(Fraction(0), Fraction(1), 0, 80, curve=((Fraction(0), 0.0), (Fraction(4), 8.0)))
    (note,) = sounding_notes(midi_bytes(curved(sound)))
    assert note.pitches[-1] == (note.end, pytest.approx(62, abs=0.001))
    assert [at for _, at in note.pitches] == sorted(at for _, at in note.pitches)


def test_a_moved_tonic_moves_the_keys() -> None:
    sounds = [
        Sound(Fraction(n), Fraction(1), 4, 80, base=base) for n, base in enumerate((None, 62, 55))
    ]
    heard = sounding_notes(midi_bytes(curved(*sounds)))
    third = 12 * math.log2(5 / 4)
    assert [note.pitches[0][1] for note in heard] == pytest.approx(
        [60 + third, 62 + third, 55 + third], abs=0.001
    )


def test_the_tuning_standard_retunes_and_bends_nothing_but_curves() -> None:
    # MIDI Tuning Standard, CA-021 (scale/octave, real-time, two bytes): read by write.hearing_midi.
    first = [Sound(Fraction(n), Fraction(1), n, 80) for n in range(12)]
    moved = [Sound(Fraction(12 + n), Fraction(1), n, 80, base=62) for n in range(12)]
    data = midi_bytes(curved(*first, *moved, ramp(24, 1, 7, 1.0)), tuning_standard=True)
    heard = sounding_notes(data)
    above = [cents / 100 for cents in JUST_TUNING.cents]
    wanted = [60 + by for by in above] + [62 + by for by in above] + [60 + above[7]]
    assert [note.pitches[0][1] for note in heard] == pytest.approx(wanted, abs=0.001)
    assert heard[-1].pitches[-1][1] == pytest.approx(61 + above[7], abs=0.001)
    stream = stream_of(mido.MidiFile(file=io.BytesIO(data)))
    tunings = [(tick, m.data) for tick, _, m in stream if m.type == "sysex"]
    # At the start, and where the tonic moves to D and back. The first in full: C, then D flat
    # 16/15 = +11.73 cents = 961 steps of 100/8192 above 40 00, which is 47 41.
    assert [tick for tick, _ in tunings] == [0, 12 * 480, 24 * 480]
    assert bytes(tunings[0][1][:11]).hex(" ") == "7f 7f 08 09 00 00 01 40 00 47 41"
    bends = [tick for tick, _, m in stream if m.type == "pitchwheel"]
    assert bends and min(bends) > 24 * 480


@pytest.mark.parametrize("parts", [(7, 11, 13, 16), (8, 61, 67)])
def test_ornaments_never_cost_a_written_onset_its_tick(parts: tuple[int, ...]) -> None:
    # Their multiples, 16016 and 32696, are right below 32768: nothing else fits on those grids,
    # and the 64ths of a grace note in an eighth would come before 67ths by their size.
    sounds: list[Sound] = []
    for beat, count in enumerate(parts):
        for number in range(count):
            note = Note(Fraction(0), Fraction(0), Spot("t", 1, 1), 4, grace=(2,), marks=("trill",))
            start = beat + Fraction(number, count)
            sounds += note_sounds(
                note, None, start, Fraction(1, count), Fraction(40), 80, MODE, JUST_TUNING
            )
    assert len(sounds) >= 2 * sum(parts)
    data = midi_bytes(curved(*sounds))
    onsets = {at for at, _ in read_with_mido(data)["flute"]}
    assert {sound.start for sound in sounds if sound.text} <= onsets


def test_grace_notes_before_the_usual_divisions_are_exact_too() -> None:
    sounds: list[Sound] = []
    for beat, count in enumerate((1, 2, 3, 4, 5, 7, 8, 9)):
        for number in range(count):
            note = Note(Fraction(0), Fraction(0), Spot("t", 1, 1), 4, grace=(2, 5))
            start = beat + Fraction(number, count)
            sounds += note_sounds(
                note, None, start, Fraction(1, count), Fraction(92), 80, MODE, JUST_TUNING
            )
    data = midi_bytes(curved(*sounds))
    assert {at for at, _ in read_with_mido(data)["flute"]} == {sound.start for sound in sounds}
