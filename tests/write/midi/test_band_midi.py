"""Pieces for a whole band as MIDI files, and what is rehearsed with them.

Read by mido and pretty_midi; the drums' keys are those of the General MIDI Percussion Key Map
(MIDI Manufacturers Association, General MIDI Level 1, table 3), by pretty_midi's own list of it.
"""

from __future__ import annotations

import io
from collections import Counter
from fractions import Fraction

import mido
import pretty_midi
import pytest
from support.band_pieces import band_piece
from support.hearing_midi import sounding_notes
from support.making import load_text, piece_of

from cyclechart.arrange.arranger import Arrangement, arrange
from cyclechart.arrange.rehearse.recipes import renderings_of
from cyclechart.arrange.rehearse.score_transforms import cycle_starts, only_cycles
from cyclechart.arrange.rehearse.sing_back import call_and_response, cycle_claps, pickup_to
from cyclechart.arrange.score import Part, Score
from cyclechart.piece.model import Piece
from cyclechart.write.midi.file import midi_with_report

SEEDS = (0, 3, 7, 11, 16, 20)


def band(seed: int) -> Piece:
    piece = load_text(band_piece(seed)).piece
    assert piece is not None
    return piece


def midi_of(score: Score) -> bytes:
    return midi_with_report(score)[0]


def sound_in_order(score: Score) -> None:
    """No sound is empty, or begins before the piece; times of marks rise."""
    for part in score.parts:
        for one in (*part.sounds, *part.hits):
            assert one.length > 0, (part.name, one)
            assert one.start >= 0, (part.name, one)
    tempos = [mark.at for mark in score.tempos]
    assert tempos == sorted(set(tempos))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_sound_is_read_back_by_others_at_its_tick(seed: int) -> None:
    score = arrange(band(seed))
    sound_in_order(score)
    data = midi_of(score)
    sounding_notes(data)  # strikes nothing that sounds, leaves nothing on
    ticks = mido.MidiFile(file=io.BytesIO(data)).ticks_per_beat
    read = pretty_midi.PrettyMIDI(io.BytesIO(data))
    for part in score.parts:
        wanted = Counter(round(one.start * ticks) for one in (*part.sounds, *part.hits))
        heard: Counter[int] = Counter()
        for track in read.instruments:
            if track.name == part.name:
                assert track.is_drum == bool(part.hits), part.name
                assert all(note.end > note.start for note in track.notes)
                heard += Counter(read.time_to_tick(note.start) for note in track.notes)
        assert heard == wanted, part.name


@pytest.mark.parametrize("seed", SEEDS)
def test_no_key_of_one_player_is_struck_while_it_sounds(seed: int) -> None:
    file = mido.MidiFile(file=io.BytesIO(midi_of(arrange(band(seed)))), charset="utf-8")
    for track in file.tracks:
        sounding: set[tuple[int, int]] = set()
        for message in track:
            if message.type == "note_on":
                assert (message.channel, message.note) not in sounding, track.name
                sounding.add((message.channel, message.note))
            elif message.type == "note_off":
                sounding.remove((message.channel, message.note))
        assert not sounding


@pytest.mark.parametrize("seed", SEEDS[:3])
def test_all_that_is_rehearsed_sounds_in_order(seed: int) -> None:
    piece = band(seed)
    for rendering in renderings_of(piece):
        sound_in_order(rendering.score)
        sounding_notes(midi_of(rendering.score))
    sound_in_order(arrange(call_and_response(piece)))


def in_cycle(part: Part, start: Fraction, end: Fraction) -> list[tuple[Fraction, object]]:
    """What is struck between two beats, counted from the first."""
    every = (*part.sounds, *part.hits)
    return sorted(
        (one.start - start, getattr(one, "pitch", getattr(one, "key", 0)))
        for one in every
        if start <= one.start < end
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_a_cycle_that_is_cut_out_begins_on_its_first_beat(seed: int) -> None:
    arranged = Arrangement(band(seed))
    score, timeline = arranged.score, arranged.timeline
    starts = cycle_starts(score)
    for number in range(1, len(starts) + 1, 3):
        at = starts[number - 1]
        cut = only_cycles(
            score,
            number,
            number,
            count=cycle_claps(timeline, at),
            pickup=pickup_to(timeline, at),
        )
        sound_in_order(cut)
        (begins,) = cycle_starts(cut)
        beats = timeline.at(at).cycle.beats
        assert begins == beats, "one cycle of claps stands before it"
        for part, whole in zip(cut.parts, score.parts, strict=True):
            if not part.role.is_drone and not part.role.is_count:
                assert in_cycle(part, begins, begins + beats) == in_cycle(whole, at, at + beats)


LETTERS = {
    "k": "Bass Drum 1", "s": "Acoustic Snare", "x": "Side Stick", "h": "Closed Hi Hat",
    "o": "Open Hi Hat", "f": "Pedal Hi Hat", "r": "Ride Cymbal 1", "b": "Ride Bell",
    "c": "Crash Cymbal 1", "t": "High Tom", "m": "Low-Mid Tom", "l": "High Floor Tom",
}  # fmt: skip


def test_the_kits_letters_are_general_midis_drums_on_channel_10() -> None:
    text = " ".join(LETTERS)
    piece = piece_of(f'players: {{drum-kit: }}\nlines: {{all: {{kit: "{text}"}}}}\ncount-in: 0\n')
    data = midi_of(arrange(piece))
    (kit,) = [one for one in pretty_midi.PrettyMIDI(io.BytesIO(data)).instruments
              if one.name == "drum-kit"]  # fmt: skip
    notes = sorted(kit.notes, key=lambda note: note.start)
    names = [pretty_midi.note_number_to_drum_name(note.pitch) for note in notes]
    assert names == list(LETTERS.values())
    channels = {message.channel for track in mido.MidiFile(file=io.BytesIO(data)).tracks
                for message in track if message.type == "note_on"}  # fmt: skip
    assert channels == {9}


def test_notes_hits_and_fermatas_are_markers_and_the_tempo_comes_back() -> None:
    piece = piece_of(
        "players: {flute: , drum-kit: }\nlines: {head: {sargam: S R G m P d n S' n d}}\nform:\n"
        "  - {play: head, note: brushes, hits: head, fermata: 3}\n  - {play: head}\n",
        tempo="90",
    )
    track = mido.MidiFile(file=io.BytesIO(midi_of(arrange(piece))), charset="utf-8").tracks[0]
    texts = [message.text for message in track if message.type == "marker"]
    assert "brushes; hits: head" in texts
    assert "fermata" in texts
    tempos = [round(60_000_000 / message.tempo) for message in track if message.type == "set_tempo"]
    assert tempos == [90, 60, 90]  # three beats at 60 are three seconds
