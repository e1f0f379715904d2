"""A Standard MIDI File as notes, texts and bends with their ticks, checked before it is read."""

from __future__ import annotations

import contextlib
import io
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeAlias

from cyclechart.transcription.refusal import CannotRead

MOST_MIDI_BYTES = 2_000_000
MOST_NOTES_OF_ALL = 60_000
MOST_UPPER, FINEST_LOWER = 255, 64
"""The numbers of a time signature."""
LONGEST_FILE = 20_000
"""Quarter notes."""
DRUMS = 9
"""The channel of percussion in General MIDI."""
_WHEEL = 8192
Message: TypeAlias = Any


class MidiNote(NamedTuple):
    """A struck key: its ticks, the key, and where the wheel stands as it is struck (semitones)."""

    start: int
    end: int
    key: int
    bend: float
    velocity: int


@dataclass
class MidiVoice:
    """The notes of one channel of one track, with its texts (lyrics) and bends by tick."""

    name: str
    channel: int
    notes: list[MidiNote] = field(default_factory=list)
    texts: list[tuple[int, str]] = field(default_factory=list)
    bends: list[tuple[int, float]] = field(default_factory=list)
    program: int = 0


class MidiMusic(NamedTuple):
    """A whole file: ticks of a quarter, voices, drums apart, and what holds for all."""

    ticks: int
    title: str
    composer: str
    voices: tuple[MidiVoice, ...]
    drums: int
    """The number of drum hits."""
    tempos: tuple[tuple[int, int], ...]
    """(tick, microseconds of a quarter)."""
    meters: tuple[tuple[int, int, int], ...]
    """(tick, upper number, lower number)."""
    markers: tuple[tuple[int, str], ...]
    keys: tuple[tuple[int, str], ...]
    end: int


def midi_music(data: bytes) -> MidiMusic:
    """Return what a file has; one in a RIFF wrapper is taken out of it."""
    start = data.find(b"MThd")
    if start < 0:
        raise CannotRead("there is no MIDI in it")
    if len(data) > MOST_MIDI_BYTES:
        raise CannotRead(f"it is larger than {MOST_MIDI_BYTES // 1_000_000} megabytes")
    data = data[start:]
    division = int.from_bytes(data[12:14], "big")
    if len(data) < 14 or not division:
        raise CannotRead("the MIDI file is broken: it does not say what a beat is")
    if division & 0x8000:
        what = "it counts time in frames of film, not in beats"
        raise CannotRead(what, "", "export it with ticks to the beat")
    file = _file(data)
    reader = _Reader(file.ticks_per_beat)
    tracks = file.tracks[:1] if file.type == 2 else file.tracks
    for number, track in enumerate(tracks):
        reader.track(number, track)
    return reader.music(file.ticks_per_beat)


def _file(data: bytes) -> Any:
    import mido

    try:
        return mido.MidiFile(file=io.BytesIO(data), clip=True)
    except Exception as error:  # the library raises errors of many kinds for broken files
        raise CannotRead("the MIDI file is broken", "", "export it again") from error


class _Reader:
    """Reads tracks one after the other."""

    def __init__(self, ticks: int) -> None:
        self.most_ticks = LONGEST_FILE * ticks
        self.voices: list[MidiVoice] = []
        self.texts: list[tuple[str, str]] = []
        """Track names and texts that stand before everything."""
        self.drums = self.notes = self.end = 0
        self.tempos: dict[int, int] = {}
        self.meters: dict[int, tuple[int, int]] = {}
        self.markers: list[tuple[int, str]] = []
        self.keys: list[tuple[int, str]] = []

    def track(self, number: int, track: Any) -> None:
        """Read one track."""
        of_channel: dict[int, MidiVoice] = {}
        sounding: dict[tuple[int, int], list[tuple[int, float, int]]] = defaultdict(list)
        wheel: dict[int, float] = defaultdict(float)
        ranges: dict[int, float] = defaultdict(lambda: 2.0)
        controls: dict[int, dict[int, int]] = defaultdict(dict)
        lyrics: list[tuple[int, str]] = []
        name = ""
        now = 0
        for message in track:
            now += message.time
            if now > self.most_ticks:
                raise CannotRead(f"it lasts more than {LONGEST_FILE:,} beats")
            kind = message.type
            if kind == "track_name":
                name = name or _text(message.name)
                if number == 0 and now == 0:
                    self.texts.append(("title", _text(message.name)))
            elif kind == "lyrics":
                lyrics.append((now, message.text))
            elif message.is_meta:
                self.meta(message, now, number)
            elif kind in ("note_on", "note_off"):
                voice = of_channel.setdefault(message.channel, MidiVoice(name, message.channel))
                if kind == "note_on" and message.velocity:
                    self.count()
                    begun = now, wheel[message.channel], message.velocity
                    sounding[message.channel, message.note].append(begun)
                elif sounding[message.channel, message.note]:
                    start, bend, loud = sounding[message.channel, message.note].pop(0)
                    voice.notes.append(MidiNote(start, now, message.note, bend, loud))
            elif kind == "pitchwheel":
                wheel[message.channel] = message.pitch / _WHEEL * ranges[message.channel]
                voice = of_channel.setdefault(message.channel, MidiVoice(name, message.channel))
                voice.bends.append((now, wheel[message.channel]))
            elif kind == "control_change":
                known = controls[message.channel]
                known[message.control] = message.value
                if message.control == 6 and known.get(101) == 0 and known.get(100) == 0:
                    ranges[message.channel] = float(message.value) or 2.0
            elif kind == "program_change":
                voice = of_channel.setdefault(message.channel, MidiVoice(name, message.channel))
                voice.program = message.program
        for (channel, key), left in sounding.items():
            for start, bend, loud in left:  # never ended: to the end of the track
                of_channel[channel].notes.append(MidiNote(start, now, key, bend, loud))
        self.end = max(self.end, now)
        for channel, voice in of_channel.items():
            voice.name = name or voice.name
            if channel == DRUMS:
                self.drums += len(voice.notes)
            elif voice.notes:
                voice.notes.sort()
                voice.texts = lyrics
                self.voices.append(voice)

    def count(self) -> None:
        """Count a note; refuse when there are too many."""
        self.notes += 1
        if self.notes > MOST_NOTES_OF_ALL:
            raise CannotRead(f"it has more than {MOST_NOTES_OF_ALL:,} notes")

    def meta(self, message: Message, now: int, number: int) -> None:
        """Read what is no sound."""
        kind = message.type
        if kind == "set_tempo" and message.tempo:
            self.tempos[now] = message.tempo
        elif kind == "time_signature":
            upper, lower = message.numerator, message.denominator
            if not 0 < upper <= MOST_UPPER or lower > FINEST_LOWER:
                raise CannotRead(f"{upper}/{lower} is no time signature that can be counted")
            self.meters[now] = upper, lower
        elif kind in ("marker", "cue_marker"):
            self.markers.append((now, _text(message.text)))
        elif kind == "key_signature":
            self.keys.append((now, str(message.key)))
        elif kind == "text" and number == 0 and now == 0:
            self.texts.append(("composer", _text(message.text)))

    def music(self, ticks: int) -> MidiMusic:
        """Return all that was read."""
        said = dict(reversed(self.texts))
        return MidiMusic(
            ticks,
            said.get("title", ""),
            said.get("composer", ""),
            tuple(self.voices),
            self.drums,
            tuple(sorted(self.tempos.items())),
            tuple((tick, *meter) for tick, meter in sorted(self.meters.items())),
            tuple(sorted(self.markers)),
            tuple(sorted(self.keys)),
            self.end,
        )


def _text(said: str) -> str:
    """Return a text of a file as one row; its bytes may be UTF-8."""
    with contextlib.suppress(UnicodeError):
        said = said.encode("latin-1").decode("utf-8")
    return "".join(sign for sign in " ".join(said.split())[:200] if sign.isprintable())


def named_voices(voices: tuple[MidiVoice, ...]) -> Iterator[str]:
    """Yield a name for each voice: its track's, or that of its General MIDI program."""
    import pretty_midi

    seen: dict[str, int] = {}
    for voice in voices:
        name = voice.name or pretty_midi.program_to_instrument_name(voice.program)
        seen[name] = seen.get(name, 0) + 1
        yield name if seen[name] == 1 else f"{name} {seen[name]}"
