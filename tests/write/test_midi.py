"""The MIDI file, read back by readers that are not ours: mido, pretty_midi, music21, partitura.

Values of the format are those of Standard MIDI Files 1.0 and the MIDI 1.0 registered parameters.
"""

from __future__ import annotations

import io
import warnings
from fractions import Fraction
from pathlib import Path

import mido
import music21
import partitura
import pretty_midi
import pytest
from making import DEMO_BOOK, loaded, piece_of, random_piece

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Score
from cyclechart.piece.load import load
from cyclechart.theory.tuning import JUST_TUNING
from cyclechart.write.midi import midi_bytes, time_signature

DEMO = [pytest.param(path, id=path.stem) for path in DEMO_BOOK]

Onset = tuple[Fraction, int]
"""(beats from the beginning, MIDI key)."""


def score_of(path: Path) -> Score:
    piece = load(path).piece
    assert piece is not None
    return arrange(piece)


def expected(score: Score, name: str) -> list[Onset]:
    """What the score says a part sounds."""
    (part,) = [part for part in score.parts if part.name == name]
    pitched = [(sound.start, score.tonic.midi + sound.pitch) for sound in part.sounds]
    return sorted(pitched + [(hit.start, hit.key) for hit in part.hits])


def read_with_mido(data: bytes) -> dict[str, list[Onset]]:
    """Onsets by track name, exact: ticks over ticks a beat."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    found: dict[str, list[Onset]] = {}
    for track in file.tracks[1:]:
        now = 0
        onsets = found.setdefault(track.name, [])
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity:
                onsets.append((Fraction(now, file.ticks_per_beat), message.note))
        onsets.sort()
    return found


def seconds_at(score: Score, beat: Fraction) -> float:
    """When a beat sounds, by the score's own tempos."""
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
    read = read_with_mido(midi_bytes(score))
    assert set(read) == {part.name for part in score.parts}
    for name, onsets in read.items():
        assert onsets == expected(score, name), name


@pytest.mark.parametrize("path", DEMO)
def test_pretty_midi_reads_the_same_notes_at_the_same_seconds(path: Path) -> None:
    score = score_of(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = pretty_midi.PrettyMIDI(io.BytesIO(midi_bytes(score)))
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
    read = music21.midi.translate.midiStringToStream(midi_bytes(score), quantizePost=False)
    for name in ("melody", "tanpura"):
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
    file.write_bytes(midi_bytes(score))
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


@pytest.mark.parametrize("seed", range(200))
def test_random_pieces_read_back_equal(seed: int) -> None:
    result = loaded(random_piece(seed))
    assert result.piece is not None
    assert not [f for f in result.findings if f.severity == "error"]
    score = arrange(result.piece)
    data = midi_bytes(score)
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
        assert midi_bytes(score_of(path)) == midi_bytes(score_of(path))


def messages(data: bytes, track: int) -> list[mido.Message]:
    return list(mido.MidiFile(file=io.BytesIO(data), charset="utf-8").tracks[track])


def test_the_bend_range_is_stated_by_rpn_0_before_any_note_and_closed() -> None:
    # MIDI 1.0: CC 101/100 = 0/0 names pitch bend sensitivity, CC 6 semitones, CC 38 cents;
    # 127/127 is the null parameter.
    data = midi_bytes(score_of(DEMO_BOOK[0]))
    controls = []
    for message in messages(data, 1):
        if message.type == "note_on":
            break
        if message.type == "control_change":
            controls.append((message.control, message.value))
    assert controls == [(101, 0), (100, 0), (6, 2), (38, 0), (101, 127), (100, 127)]


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
    assert (Fraction(23, 2), "cycle 1 beat 1 ×") in marks
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


@pytest.mark.parametrize("seed", range(0, 200, 10))
def test_no_note_hangs_and_none_overlaps_its_like(seed: int) -> None:
    piece = loaded(random_piece(seed)).piece
    assert piece is not None
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(arrange(piece))), charset="utf-8")
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
