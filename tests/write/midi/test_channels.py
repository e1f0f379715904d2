"""The channel plan, and its notes in a receiver (MIDI 1.0; a bend moves its whole channel)."""

from __future__ import annotations

import io
import random
import warnings
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import mido
import pretty_midi
import pytest
from support.hearing_midi import sounding_notes, stream_of
from support.midi_files import midi_bytes

from cyclechart.arrange.score import Hit, Meter, Part, Score, Sound, TempoMark
from cyclechart.catalog.roles import DRONE, MELODY, PEDAL, THEKA, VOICINGS
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import EQUAL, JUST_TUNING, Tuning, own_tuning
from cyclechart.write.midi.channels import ChannelPlan, plan_channels
from cyclechart.write.midi.file import midi_with_report

TONIC = Tonic("D")
SEEDS = range(100)
ROLES = (MELODY, VOICINGS, PEDAL, DRONE)


def score_of(*parts: Part, tuning: Tuning = JUST_TUNING) -> Score:
    ends = [event.start + event.length for part in parts for event in (*part.sounds, *part.hits)]
    end = max(ends, default=Fraction(1))
    tempos = (TempoMark(Fraction(0), Fraction(92)),)
    meters = (Meter(Fraction(0), Fraction(10)),)
    return Score(
        title="t",
        composer="",
        tonic=TONIC,
        tuning=tuning,
        tempos=tempos,
        meters=meters,
        markers=(),
        parts=parts,
        end=end,
    )


def sounding(start: int, length: int, pitch: int, voice: int = 0, base: int | None = None) -> Sound:
    return Sound(Fraction(start), Fraction(length), pitch, 80, "", voice, base)


def random_score(seed: int, most_parts: int = 12) -> Score:
    """An ensemble of monophonic voices that overlap as they like, with moved tonics and glides."""
    dice = random.Random(seed)
    parts = []
    for number in range(dice.randint(1, most_parts)):
        sounds: list[Sound] = []
        for voice in range(dice.choice([1, 1, 1, 2, 3, 4])):
            now = Fraction(dice.randint(0, 4), 2)
            lone = dice.randint(-12, 12) if dice.random() < 0.4 else None
            for _ in range(dice.randint(1, 12)):
                length = Fraction(dice.randint(1, 12), dice.choice([1, 2, 3, 4, 5]))
                pitch = dice.randint(-14, 20) if lone is None else lone
                base = dice.choice([None, None, None, 55, 62, 64])
                curve: tuple[tuple[Fraction, float], ...] = ()
                if dice.random() < 0.15:
                    goal = dice.choice([-12.0, -1.1, 0.0, 2.04, 7.0, 14.9])
                    curve = ((Fraction(0), 0.0), (length / 2, 0.3), (length, goal))
                sounds.append(Sound(now, length, pitch, 80, "x", voice, base, curve))
                now += length + dice.choice([0, 0, Fraction(1, 3), 2])
        dice.shuffle(sounds)
        sounds.sort(key=lambda sound: sound.start)
        role, program = dice.choice(ROLES), dice.choice([0, 24, 32, 65, 73, 104])
        parts.append(
            Part(f"part {number}", role, program, tuple(sounds), bends=dice.random() < 0.8)
        )
    if dice.random() < 0.5:
        hits = tuple(Hit(Fraction(beat), Fraction(1), 63, 90, "dha") for beat in range(4))
        parts.insert(dice.randint(0, len(parts)), Part("drums", THEKA, None, hits=hits))
    tuning = dice.choice([JUST_TUNING, JUST_TUNING, EQUAL, own_tuning({9: 906.0, 10: 1230.0})])
    return score_of(*parts, tuning=tuning)


def tuned_key(score: Score, sound: Sound, *, bends: bool) -> float:
    """Return the expected pitch of a sound as a MIDI key with its fraction: ratio times Sa."""
    base = TONIC.midi if sound.base is None else sound.base
    return base + (score.tuning.above_sa(sound.pitch) / 100 if bends else sound.pitch)


def sharply(wide: int) -> float:
    """A tenth of a cent in semitones; half a step of the bend where its range is wider than 16."""
    return max(0.001, wide / 8192 / 2 + 1e-9)


def ranges_of(data: bytes) -> dict[int, int]:
    """The bend range that each channel states."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    controls = [m for _, _, m in stream_of(file) if m.type == "control_change"]
    return {message.channel: message.value for message in controls if message.control == 6}


@pytest.mark.parametrize("tuning_standard", [False, True])
@pytest.mark.parametrize("seed", SEEDS[::2])
def test_every_sound_of_an_ensemble_is_heard_at_its_own_pitch(
    seed: int, tuning_standard: bool
) -> None:
    score = random_score(seed)
    data, given_up = midi_with_report(score, tuning_standard=tuning_standard)
    planned, ranges = plan_channels(score, tuning_standard=tuning_standard), ranges_of(data)
    assert given_up == planned.given_up
    ticks = mido.MidiFile(file=io.BytesIO(data)).ticks_per_beat
    # ``sounding_notes`` refuses a key struck while it sounds, an end without a beginning and a
    # hanging note.
    notes = {
        (note.track, note.channel, note.start, note.key): note for note in sounding_notes(data)
    }
    lossless = 0
    for number, part in enumerate(score.parts):
        if any(line.startswith(f"{part.name}:") for line in given_up):
            continue
        shares = [n for n in range(len(score.parts)) if n != number and _meet(planned, n, number)]
        if any(score.parts[n].name in line for n in shares for line in given_up):
            continue
        for sound in part.sounds:
            lossless += 1
            channel = planned.channel_of(number, sound.voice)
            base = TONIC.midi if sound.base is None else sound.base
            note = notes[number + 1, channel, int(sound.start * ticks), base + sound.pitch]
            assert note.program == part.program
            wanted = tuned_key(score, sound, bends=part.bends)
            within = sharply(ranges[channel])
            assert note.pitches[0][1] == pytest.approx(wanted, abs=within)
            if not sound.curve or not part.bends:
                # Nothing bends it while it sounds: a retuning of its channel would be heard.
                assert all(at == note.pitches[0][1] for _, at in note.pitches)
            else:
                goal = wanted + sound.curve[-1][1]
                assert note.pitches[-1][1] == pytest.approx(goal, abs=within)
            # Voices are monophonic here, so nothing is cut (a tick off where tracks share).
            assert note.end >= int((sound.start + sound.length) * ticks) - 1
    assert lossless or given_up


def _meet(planned: ChannelPlan, one: int, other: int) -> bool:
    channels = planned.channels
    own = {channel for (part, _), channel in channels.items() if part == other}
    return any(part == one and channel in own for (part, _), channel in channels.items())


def test_the_random_ensembles_reach_every_case() -> None:
    plans = [plan_channels(random_score(seed)) for seed in SEEDS]
    assert sum(bool(planned.given_up) for planned in plans) > 10
    assert sum(not planned.given_up for planned in plans) > 40
    assert sum(len(planned.programs) == 15 for planned in plans) > 10


@pytest.mark.parametrize("seed", SEEDS)
def test_no_channel_is_the_drums_and_each_has_one_program(seed: int) -> None:
    score = random_score(seed)
    planned = plan_channels(score)
    assert set(planned.channels.values()) == set(planned.programs)
    assert set(planned.programs) <= set(range(16)) - {9}
    voices = {(n, s.voice) for n, part in enumerate(score.parts) for s in part.sounds}
    assert set(planned.channels) == voices
    alone = [len(plan_channels(replace(score, parts=(part,))).programs) for part in score.parts]
    if sum(alone) <= 15:
        assert not planned.given_up
    else:
        assert len(planned.programs) <= 15


@pytest.mark.parametrize("seed", range(60))
def test_pretty_midi_reads_the_same_pitches(seed: int) -> None:
    score = random_score(seed, most_parts=4)
    data = midi_bytes(score)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = pretty_midi.PrettyMIDI(io.BytesIO(data))
    found = Counter()
    for instrument in read.instruments:
        if instrument.is_drum:
            continue
        wide = next(c.value for c in instrument.control_changes if c.number == 6)
        bends = [(bend.time, bend.pitch) for bend in instrument.pitch_bends]
        for note in instrument.notes:
            bend = next((by for at, by in reversed(bends) if at <= note.start + 1e-6), 0)
            heard = note.pitch + wide * bend / 8192
            found[round(note.start, 3), instrument.name, note.pitch, round(heard, 2)] += 1
    beat = round(60_000_000 / 92) / 1e6
    assert not plan_channels(score).given_up
    wanted = Counter()
    for part in score.parts:
        for sound in part.sounds:
            key = (TONIC.midi if sound.base is None else sound.base) + sound.pitch
            at = tuned_key(score, sound, bends=part.bends)
            wanted[round(float(sound.start) * beat, 3), part.name, key, round(at, 2)] += 1
    assert sum(found.values()) == sum(wanted.values())
    for (start, name, key, at), (start2, name2, key2, at2) in zip(
        sorted(found.elements(), key=lambda e: (e[1], e[2], e[0], e[3])),
        sorted(wanted.elements(), key=lambda e: (e[1], e[2], e[0], e[3])),
        strict=True,
    ):
        assert (name, key) == (name2, key2)
        assert start == pytest.approx(start2, abs=2e-3)
        assert at == pytest.approx(at2, abs=0.011)


def test_strings_of_one_tone_share_a_channel_and_others_do_not() -> None:
    strings = [
        sounding(0, 9, -5, 0),
        *(sounding(n, 9, -12, n) for n in (1, 2)),
        sounding(3, 9, 0, 3),
    ]
    planned = plan_channels(score_of(Part("tanpura", DRONE, 104, tuple(strings))))
    # Voices 1 and 2 sound one key at once, which one channel cannot; the octave joins the first.
    assert [planned.channel_of(0, voice) for voice in range(4)] == [0, 1, 2, 1]
    equal = plan_channels(score_of(Part("tanpura", DRONE, 104, tuple(strings)), tuning=EQUAL))
    assert [equal.channel_of(0, voice) for voice in range(4)] == [0, 0, 1, 0]


def test_voices_in_turn_share_a_channel_whatever_their_tones() -> None:
    turns = tuple(sounding(n, 1, 2 * n, n % 2) for n in range(6))
    assert len(plan_channels(score_of(Part("duo", MELODY, 73, turns))).programs) == 1


def test_chords_of_a_piano_need_one_channel_and_are_not_bent() -> None:
    chords = tuple(sounding(beat, 2, 4 * voice, voice) for beat in (0, 2) for voice in range(4))
    score = score_of(Part("piano", VOICINGS, 0, chords, bends=False))
    assert len(plan_channels(score).programs) == 1
    kinds = {m.type for m in mido.MidiFile(file=io.BytesIO(midi_bytes(score))).tracks[1]}
    assert "pitchwheel" not in kinds and "note_on" in kinds


def test_a_piano_leaves_curves_out() -> None:
    curve = ((Fraction(0), 0.0), (Fraction(1), 7.0))
    sounds = (Sound(Fraction(0), Fraction(1), 4, 80, curve=curve),)
    (note,) = sounding_notes(midi_bytes(score_of(Part("piano", MELODY, 0, sounds, bends=False))))
    assert [at for _, at in note.pitches] == [TONIC.midi + 4]


def crowd(melodies: int, *others: Part) -> Score:
    chord = (sounding(0, 8, 4),)
    soloists = [Part(f"solo {n}", MELODY, 40 + n, chord) for n in range(melodies)]
    return score_of(*soloists, *others)


def test_fifteen_players_fit_and_nothing_is_given_up() -> None:
    planned = plan_channels(crowd(15))
    assert planned.given_up == ()
    assert sorted(planned.programs) == [n for n in range(16) if n != 9]


def test_pedal_and_drone_give_way_before_voicings_and_melody() -> None:
    chord = tuple(sounding(0, 8, pitch, pitch) for pitch in (1, 4, 8))
    guitar = Part("guitar", VOICINGS, 24, chord)
    drone = Part("tanpura", DRONE, 104, tuple(sounding(0, 8, p, n) for n, p in enumerate((-5, 0))))
    planned = plan_channels(crowd(11, guitar, drone))
    assert planned.given_up == (
        "tanpura: there are 15 channels, so it is in equal temperament and has all its voices on "
        "one channel",
    )
    assert 12 not in planned.tuned and {*range(11), 11} == planned.tuned


def test_players_of_one_sound_that_take_turns_share_before_anything_is_given_up() -> None:
    late = Part("second flute", MELODY, 40, (sounding(8, 8, 9),))
    planned = plan_channels(crowd(15, late))
    assert planned.given_up == ()
    assert planned.channel_of(15, 0) == planned.channel_of(0, 0)


def test_a_sixteenth_sound_is_lent_to_the_least_important_player() -> None:
    pedal = Part("bass", PEDAL, 32, (sounding(0, 8, -12),))
    planned = plan_channels(crowd(15, pedal))
    assert len(planned.programs) == 15
    assert [line.split(":")[0] for line in planned.given_up] == ["solo 14", "bass"]
    assert "shares the channel and the sound of" in planned.given_up[1]


def test_one_key_struck_again_on_one_channel_cuts_the_first() -> None:
    sounds = (sounding(0, 4, 0), sounding(2, 4, 0), sounding(3, 2, 4))
    ticks = 480
    heard = sounding_notes(midi_bytes(score_of(Part("flute", MELODY, 73, sounds))))
    # The third is bent otherwise: in one voice it ends what rings.
    assert [(note.start // ticks, note.end // ticks) for note in heard] == [(0, 2), (2, 3), (3, 5)]
