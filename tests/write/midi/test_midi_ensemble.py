"""Whole bands in MIDI, read back by other receivers: the sounds of each player and their times."""

from __future__ import annotations

import io
import random
from fractions import Fraction
from functools import lru_cache

import mido
import music21
import pretty_midi
import pytest
from support.hearing_midi import sounding_notes
from support.making import DEMO_BOOK, piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Part, Score, Sound
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.theory.tuning import JUST
from cyclechart.write.midi.file import midi_with_report

BANDS = (
    "{flute: {octave: 1}, alto-sax: , tabla: , tanpura: }",
    "{violin: , trumpet: , piano: {plays: voicings}, bass-guitar: , tabla: , drum-kit: ,"
    " tanpura: }",
    "{flute: {octave: 1}, clarinet: , viola: , sarod: {octave: -1}, vibraphone: , double-bass: ,"
    " pakhawaj: , tanpura: , shruti-box: }",
)
LINES = """\
lines:
  loop: {sargam: "S R~G m | P -d {P}n d"}
  other: {sargam: "P - !gamak!m - | G !trill!R - S"}
  close: {begins: 7, sargam: "n, R || S GmP m G !andolan!P - G R || S"}
  beat: {strokes: dha tirakita na ti na ka dhi dhage}
"""
STEPS = (
    "play: loop", "play: close", "play: other", "groove: 1", "solo: {0}, cycles: 2, over: other",
    "free: {0}, seconds: 5", "play: beat", "trade: [{0}, {1}], cycles: 1",
)  # fmt: skip
CHANGES = ("", ", tempo: 97", ", tempo: {to: 150}", ", cycle: rupak", ", mode: kafi-thaat",
           ", tonic: F", ", tonic: B", ", times: 2")  # fmt: skip


def random_band(seed: int) -> Piece:
    dice = random.Random(seed)
    band = BANDS[seed % len(BANDS)]
    first, second = band[1:].split(":")[0], band.split(", ")[1].split(":")[0]
    steps = []
    for _ in range(dice.randrange(2, 8)):
        step = dice.choice(STEPS).replace("{0}", first).replace("{1}", second)
        change = dice.choice(CHANGES)
        steps.append(f"  - {{{step}{'' if 'free' in step and 'to:' in change else change}}}\n")
    return piece_of(
        f"players: {band}\nseed: {seed}\n{LINES}form:\n{''.join(steps)}", cycle="keherwa"
    )


DEMO = [load(path).piece for path in DEMO_BOOK]
PIECES = DEMO + [random_band(seed) for seed in range(24)]
FEW = [0, *range(len(DEMO), len(DEMO) + 2 * len(BANDS))]
"""One of the demo book, which is read by everybody elsewhere, and two of each band."""


@lru_cache(maxsize=len(PIECES))
def written(number: int) -> tuple[Score, bytes, tuple[str, ...]]:
    """The score of one of the pieces, its file and who gave up what."""
    piece = PIECES[number]
    assert piece is not None
    score = arrange(piece)
    return score, *midi_with_report(score)


def pitched(score: Score) -> list[tuple[int, Part]]:
    """The tuned parts with their tracks; the first track is the conductor's."""
    return [(n, part) for n, part in enumerate(score.parts, start=1) if part.program is not None]


@pytest.mark.parametrize("number", range(len(PIECES)))
def test_every_player_is_heard_as_the_score_has_it(number: int) -> None:
    score, data, given_up = written(number)
    assert given_up == ()
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    ticks = file.ticks_per_beat
    notes = sounding_notes(data)  # asserts that nothing hangs and no key is struck while it sounds
    for track, part in pitched(score):
        mine = sorted((n for n in notes if n.track == track), key=lambda n: (n.start, n.key))
        wanted = sorted(part.sounds, key=lambda s: (s.start, s.pitch))
        assert [n.start for n in mine] == [round(s.start * ticks) for s in wanted]
        in_tune(mine, wanted, score, part)
    for track, part in enumerate(score.parts, start=1):
        if part.program is None:
            struck = [m for m in file.tracks[track] if m.type == "note_on" and m.velocity]
            assert len(struck) == len(part.hits)


def in_tune(mine: list, wanted: list[Sound], score: Score, part: Part) -> None:  # type: ignore[type-arg]
    """Each note begins within 0.1 cent of Sa times its ratio, Sa being an equal-tempered key."""
    for note, sound in zip(mine, wanted, strict=True):
        base = score.tonic.midi if sound.base is None else sound.base
        octave, tone = divmod(sound.pitch, 12)
        exact = base + 12 * octave + (cents(JUST[tone]) / 100 if part.bends else tone)
        moved = sound.curve[0][1] if sound.curve and part.bends and not sound.curve[0][0] else 0
        assert abs(note.pitches[0][1] - exact - moved) < 0.001, (part.name, sound)


def cents(ratio: Fraction) -> float:
    from math import log2

    return 1200 * log2(ratio)


@pytest.mark.parametrize("number", FEW)
def test_pretty_midi_and_music21_count_the_same(number: int) -> None:
    score, data, _ = written(number)
    read = pretty_midi.PrettyMIDI(io.BytesIO(data))
    for part in score.parts:
        mine = [i for i in read.instruments if i.name == part.name]
        expected = len(part.sounds) + len(part.hits)
        assert sum(len(i.notes) for i in mine) == expected, part.name
    stream = music21.converter.parse(data, format="midi", quantizePost=False)
    # It parts notes at bar lines: those that are tied on are no notes of their own.
    sounded = [
        note
        for element in stream.flatten().notes
        for note in (element.notes if hasattr(element, "notes") else [element])
        if note.tie is None or note.tie.type == "start"
    ]
    assert len(sounded) == sum(len(part.sounds) + len(part.hits) for part in score.parts)


@pytest.mark.parametrize("number", range(len(PIECES)))
def test_every_first_beat_has_its_marker_on_its_tick(number: int) -> None:
    score, data, _ = written(number)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    now, read = 0, []
    for message in file.tracks[0]:
        now += message.time
        if message.type == "marker":
            read.append((now, message.text))
    wanted = [(round(m.at * file.ticks_per_beat), m.text.replace("×", "x")) for m in score.markers]
    assert read == wanted


def test_a_form_of_nine_minutes_is_written() -> None:
    piece = piece_of(
        f"players: {BANDS[2]}\n{LINES}form:\n  - {{play: loop, times: 25}}\n"
        "  - {solo: flute, cycles: 100, over: other}\n  - {groove: 15}\n  - play: close\n",
        cycle="keherwa",
        tempo="120",
    )
    score = arrange(piece)
    assert score.end / 120 > 9
    data, given_up = midi_with_report(score)
    assert given_up == ()
    assert mido.MidiFile(file=io.BytesIO(data), charset="utf-8").length > 9 * 60
