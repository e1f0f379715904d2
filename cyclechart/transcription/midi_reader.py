"""A Standard MIDI File as a tune: each channel of a track a voice, on the coarsest cells."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.transcription.losses import Losses
from cyclechart.transcription.midi_events import (
    MidiMusic,
    MidiNote,
    MidiVoice,
    midi_music,
    named_voices,
)
from cyclechart.transcription.midi_svaras import named_voice
from cyclechart.transcription.mode_choice import letter_of
from cyclechart.transcription.music21_notes import in_order
from cyclechart.transcription.playing_order import MOST_BARS
from cyclechart.transcription.quantising import (
    FEWEST_SWUNG,
    halved_beats,
    plain_times,
    quantised,
    unswung,
)
from cyclechart.transcription.refusal import MOST_NOTES, CannotRead
from cyclechart.transcription.tune import Bar, KeyMark, Meter, TempoMark, Tune, TuneNote, TuneVoice

_CYCLE_MARKER = re.compile(r"(?:cycle \d+|count-in) beat ")
"""The markers of our own files that count: they are no sections."""
_SWING_MARKER = re.compile(r"swing (\d{1,3}):(\d{1,3})$")
_SHARPS = {
    "Cb": -7, "Gb": -6, "Db": -5, "Ab": -4, "Eb": -3, "Bb": -2, "F": -1, "C": 0, "G": 1, "D": 2,
    "A": 3, "E": 4, "B": 5, "F#": 6, "C#": 7,
}  # fmt: skip
_MINOR = {"Abm": -7, "Ebm": -6, "Bbm": -5, "Fm": -4, "Cm": -3, "Gm": -2, "Dm": -1, "Am": 0,
          "Em": 1, "Bm": 2, "F#m": 3, "C#m": 4, "G#m": 5, "D#m": 6, "A#m": 7}  # fmt: skip


def midi_tune(data: bytes) -> Tune:
    """Return the tune of a Standard MIDI File."""
    music = midi_music(data)
    losses = Losses()
    if music.drums:
        losses.add(f"percussion is left out ({music.drums:,} hits)")
    if not music.voices:
        what = "there are only drums in it" if music.drums else "there is no note in it"
        raise CannotRead(what)
    own = any(_CYCLE_MARKER.match(text) for _, text in music.markers)
    bars = _bars(music, own=own)
    swing = _swing(music)
    sa: int | None = None
    voices = []
    for voice, name in zip(music.voices, named_voices(music.voices), strict=True):
        if len(voice.notes) > MOST_NOTES * 2:
            raise CannotRead(f"a voice has more than {MOST_NOTES:,} notes")
        own_losses = Losses()
        notes, its_sa = _notes(voice, music, bars, own_losses, swing=swing)
        sa = its_sa if sa is None else sa
        voices.append(TuneVoice(name, notes, own_losses.all()))
    return Tune(
        title=music.title,
        composer=music.composer,
        voices=tuple(voices),
        bars=tuple(bars),
        meters=tuple(_meters(music, own=own)),
        tempos=tuple(_tempos(music)),
        keys=tuple(_keys(music)),
        tonic="" if sa is None else letter_of(sa, list(_keys(music))),
        swing=swing,
        losses=losses.all(),
    )


def _swing(music: MidiMusic) -> Fraction:
    """Return how long the first half of a halved beat is played to the second: as a marker of our
    own says, or 2 where some voice halves no beat evenly, and all together fewer so than long and
    short."""
    for _, text in music.markers:
        said = _SWING_MARKER.match(text)
        if said is not None:
            return Fraction(said[1]) / Fraction(said[2])
    tick = Fraction(1, music.ticks)
    voices = []
    for voice in music.voices:
        starts = sorted({note.start for note in voice.notes})
        voices.append(halved_beats(plain_times([start * tick for start in starts], tick)))
    surely = any(one.swung >= FEWEST_SWUNG and not one.even for one in voices)
    mostly = sum(one.swung for one in voices) > sum(one.even for one in voices)
    return Fraction(2 if surely and mostly else 1)


def _notes(
    voice: MidiVoice, music: MidiMusic, bars: Sequence[Bar], losses: Losses, *, swing: Fraction
) -> tuple[tuple[TuneNote, ...], int | None]:
    """Return the notes of a voice, and the pitch class of Sa where svaras name them."""
    tick = Fraction(1, music.ticks)
    named = named_voice(voice)
    if named is not None:
        raw = [(one.start, one.end, one.key, one.glides) for one in named.notes]
    else:
        raw = [
            (one.start, one.end, round(one.key + one.bend), False) for one in _top(voice, losses)
        ]
    spans = [(start * tick, max(end, start + 1) * tick) for start, end, _, _ in raw]
    placed, residue = quantised(spans, tick, own=named is not None)
    if swing != 1:
        placed = tuple(unswung(placed, swing))
    if residue > tick:
        losses.add(f"notes are moved by up to 1/{int(1 / residue)} of a quarter onto the cells")
    notes = [
        TuneNote(start=start, length=end - start, pitch=key, glides=glides)
        for (start, end), (_, _, key, glides) in zip(placed, raw, strict=True)
        if end > start
    ]
    return tuple(in_order(notes, _number_at(bars), losses)), None if named is None else named.sa


def _top(voice: MidiVoice, losses: Losses) -> Iterator[MidiNote]:
    """Yield the notes of a voice without those under a higher one that is struck with it."""
    before: MidiNote | None = None
    for note in sorted(voice.notes, key=lambda one: (one.start, -one.key)):
        if before is not None and note.start == before.start:
            losses.add("of notes struck at once the top one is kept")
            continue
        yield note
        before = note


def _number_at(bars: Sequence[Bar]) -> Callable[[Fraction], str]:
    starts = [bar.start for bar in bars]
    return lambda at: bars[max(bisect_right(starts, at) - 1, 0)].number


def _bars(music: MidiMusic, *, own: bool) -> list[Bar]:
    """Return the bars of a file, from the one that the first note is in to the last note's; a note
    in the second half of the first bar is a pickup."""
    first = min(note.start for voice in music.voices for note in voice.notes)
    last = max(note.end for voice in music.voices for note in voice.notes)
    names = _sections(music, own=own)
    bars: list[Bar] = []
    number = 1
    meters = list(_meters(music, own=own))
    for at, meter in enumerate(meters):
        start = meter.start
        end = meters[at + 1].start if at + 1 < len(meters) else Fraction(music.end, music.ticks)
        length = meter.beats * meter.unit
        while start < end:
            stop = start + length
            if at + 1 < len(meters):
                stop = min(stop, end)
            name = next((text for when, text in names if start <= when < stop), "")
            if len(bars) >= MOST_BARS:
                raise CannotRead(f"it has more than {MOST_BARS:,} bars")
            bars.append(Bar(start=start, length=stop - start, number=str(number), section=name))
            start, number = stop, number + 1
    begins, ends = Fraction(first, music.ticks), Fraction(last, music.ticks)
    bars = [bar for bar in bars if bar.end > begins and bar.start < ends]
    late = begins - bars[0].start
    if late * 2 >= bars[0].length:
        bars[0] = replace(bars[0], start=begins, length=bars[0].length - late)
    return bars


def _sections(music: MidiMusic, *, own: bool) -> list[tuple[Fraction, str]]:
    """Return the markers that name sections, with their times in quarters."""
    found: list[tuple[Fraction, str]] = []
    for tick, text in music.markers:
        if own and (_CYCLE_MARKER.match(text) or text == "count-in"):
            continue
        found.append((Fraction(tick, music.ticks), text))
    return found


def _meters(music: MidiMusic, *, own: bool) -> Iterator[Meter]:
    """Yield the meters; 4/4 where a file names none, as the standard says."""
    named = music.meters
    if not named or named[0][0] > 0:
        named = ((0, 4, 4), *named)
    before: tuple[int, int] | None = None
    for tick, upper, lower in named:
        if before == (upper, lower):
            continue
        before = upper, lower
        unit = Fraction(1) if own else Fraction(4, max(lower, 4))
        beats = Fraction(4 * upper, lower) / unit
        yield Meter(Fraction(tick, music.ticks), beats, unit, (), f"{upper}/{lower}")


def _tempos(music: MidiMusic) -> Iterator[TempoMark]:
    for tick, micros in music.tempos:
        yield TempoMark(Fraction(tick, music.ticks), _beats_a_minute(micros))


def _beats_a_minute(micros: int) -> Fraction:
    """Return the plainest tempo that is written as so many microseconds."""
    exact = Fraction(60_000_000, micros)
    for parts in (1, 2, 3, 4, 5, 8, 10):
        plain = Fraction(round(exact * parts), parts)
        if plain and abs(Fraction(60_000_000) / plain - micros) <= 1:
            return plain
    return Fraction(round(exact))


def _keys(music: MidiMusic) -> Iterator[KeyMark]:
    for tick, name in music.keys:
        start = Fraction(tick, music.ticks)
        if name in _SHARPS:
            yield KeyMark(start, _SHARPS[name], "major", _SHARPS[name] * 7 % 12)
        elif name in _MINOR:
            yield KeyMark(start, _MINOR[name], "minor", (_MINOR[name] * 7 + 9) % 12)
