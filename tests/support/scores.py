"""Random scores for tests of renderings, and their files read by mido and pretty_midi."""

from __future__ import annotations

import io
import warnings
from fractions import Fraction

import mido
import pretty_midi
from hypothesis import strategies as st
from support.midi_files import midi_bytes

from cyclechart.arrange.score import Hit, Marker, Meter, Part, Score, Sound, TempoMark
from cyclechart.catalog.roles import COUNT, DRONE, MELODY, THEKA
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import JUST_TUNING

Onset = tuple[Fraction, int]
"""(beats from the beginning, MIDI key)."""

STRINGS = (-5, -12, -12, -24)
BEATS = (Fraction(3), Fraction(5), Fraction(7), Fraction(11, 2), Fraction(27, 4))
UNITS = (Fraction(1), Fraction(1, 2), Fraction(1, 3), Fraction(2, 5), Fraction(3, 4))


def drone_of(end: Fraction) -> Part:
    """A string a beat, each ringing until its pitch is plucked again."""
    plucks = [(Fraction(n), n % 4) for n in range(int(end))]
    sounds = []
    for number, (start, string) in enumerate(plucks):
        later = (at for at, other in plucks[number + 1 :] if STRINGS[other] == STRINGS[string])
        until = next(later, end)
        sounds.append(Sound(start, until - start, STRINGS[string], 58, "", string))
    return Part("tanpura", DRONE, 104, tuple(sounds))


@st.composite
def scores(draw: st.DrawFn, *, counted: bool | None = None) -> Score:
    """A score of some cycles. Its melody has rests, ties over the first beat and moving tones."""
    beats = draw(st.sampled_from(BEATS))
    cycles = draw(st.integers(2, 6))
    counts_in = draw(st.booleans()) if counted is None else counted
    end = beats * (cycles + counts_in)
    markers = [Marker(Fraction(0), "count-in")] if counts_in else []
    for number in range(cycles + counts_in):
        name = "count-in" if counts_in and number == 0 else f"cycle {number + 1 - counts_in}"
        for beat in (Fraction(1), Fraction(3, 2), Fraction(3)):
            at = beats * number + beat - 1
            markers.append(Marker(at, f"{name} beat {show_exact(beat)} ×"))
    melody = []
    now = beats / 2 if counts_in else Fraction(0)
    for length, sound_count, pitch, moves in draw(
        st.lists(
            st.tuples(
                st.sampled_from(UNITS), st.booleans(), st.integers(-12, 12), st.floats(-2, 2)
            ),
            min_size=8,
            max_size=40,
        )
    ):
        if now + length > end:
            break
        if sound_count:
            curve = ((length / 4, moves), (length / 2, 0.0)) if moves > 1 else ()
            melody.append(Sound(now, length, pitch, 90, "x", curve=curve))
        now += length
    places = draw(st.lists(st.tuples(st.integers(0, 200), st.sampled_from((35, 60, 64)))))
    hits = sorted({(Fraction(place, 6), key) for place, key in places if place < end * 6})
    drums = tuple(Hit(at, min(Fraction(5, 4), end - at), key, 80) for at, key in hits)
    parts = [
        Part("alto-sax", MELODY, 65, tuple(melody)),
        Part("tabla", THEKA, None, hits=drums),
        drone_of(end),
    ]
    if counts_in:
        claps = [Hit(Fraction(n), Fraction(1, 2), 39, 100, "clap") for n in range(int(beats))]
        parts.append(Part("claps and waves", COUNT, None, hits=tuple(claps)))
    tempos = [TempoMark(Fraction(0), Fraction(92))]
    for at in sorted(draw(st.sets(st.integers(1, int(end) * 2 - 1), max_size=4))):
        tempos.append(TempoMark(Fraction(at, 2), tempos[-1].tempo + at))
    return Score(
        title="A Score",
        composer="Nobody",
        tonic=Tonic("D"),
        tuning=JUST_TUNING,
        tempos=tuple(tempos),
        meters=(Meter(Fraction(0), beats),),
        markers=tuple(markers),
        parts=tuple(parts),
        end=end,
    )


def onsets_by_mido(score: Score) -> dict[str, list[Onset]]:
    """Onsets by part as mido reads them from the file."""
    return read_with_mido(midi_bytes(score))


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


def file_seconds(score: Score) -> float:
    """Return the length of the file in seconds, as mido reads its tempi."""
    return float(mido.MidiFile(file=io.BytesIO(midi_bytes(score)), charset="utf-8").length)


def notes_with_pretty_midi(score: Score) -> int:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = pretty_midi.PrettyMIDI(io.BytesIO(midi_bytes(score)))
    return sum(len(instrument.notes) for instrument in read.instruments)


def sound_count(score: Score) -> int:
    return sum(len(part.sounds) + len(part.hits) for part in score.parts)


def part_of(score: Score, role: str) -> Part:
    return next(part for part in score.parts if part.role.name == role)


def check_score(score: Score) -> None:
    """Check that nothing is outside the score and that everything takes time."""
    for part in score.parts:
        for event in (*part.sounds, *part.hits):
            assert 0 <= event.start < event.start + event.length <= score.end
        for sound in part.sounds:
            assert all(0 <= at <= sound.length for at, _ in sound.curve)
    for marks in (score.tempos, score.meters, score.markers):
        assert all(0 <= mark.at <= score.end for mark in marks)
        assert list(marks) == sorted(marks, key=lambda mark: mark.at)


def check_note_count(score: Score) -> None:
    """Check that mido and pretty_midi find as many notes as the score has."""
    assert sum(len(found) for found in onsets_by_mido(score).values()) == sound_count(score)
    assert notes_with_pretty_midi(score) == sound_count(score)
