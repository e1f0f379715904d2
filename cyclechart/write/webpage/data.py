"""The data of the rehearsal page: the piece in seconds, the sounds of each player, the parts.

The sounds are those of the MIDI file and the recordings (``write.audio.performance``). Time is
counted by the same clock, exact until it is rounded at the very end.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from fractions import Fraction
from functools import cache
from math import log2
from typing import Any

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.clock import Clock
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.rehearse.sing_back import pickup_to
from cyclechart.arrange.roles.drone import DRONE_TONES, SOFT, string_pitch, string_pitches
from cyclechart.arrange.roles.theka_rows import beat_counts
from cyclechart.arrange.roles.theka_variations import is_open
from cyclechart.catalog.roles import DRONE
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.sound import loudspeaker, voice_tables
from cyclechart.sound.choking import CHOKES
from cyclechart.sound.rate import RATE
from cyclechart.sound.strings import string_hz, tuned_string_hz
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import TONICS, Tonic, readable_tonic
from cyclechart.theory.tones import show_pitch
from cyclechart.write.audio.mixdown import part_level, part_pans
from cyclechart.write.audio.performance import PartEvents, Tone, hertz, performance_of
from cyclechart.write.audio.phrases import joins
from cyclechart.write.audio.player_stems import speaker_of
from cyclechart.write.audio.variation import ALTERNATION, variants_of
from cyclechart.write.files.cache import Cache
from cyclechart.write.files.cautions import CAUTION
from cyclechart.write.files.paper_sizes import Look
from cyclechart.write.webpage.parts import DECIMALS, TextSpan, packed_parts, plain_text
from cyclechart.write.webpage.schema import (
    Beat,
    Curve,
    CycleKind,
    LoudspeakerData,
    PageData,
    Section,
    SoundData,
    StrokeEvent,
    ToneEvent,
    Turn,
    VoiceData,
)
from cyclechart.write.webpage.sounds import (
    TOUCHES,
    nearest_velocity,
    room_sound,
    string_sound,
    stroke_sound,
    struck_velocities,
    variants_rendered,
)

CENT_DECIMALS = 3
TABLE_DECIMALS = 5
"""Decimals of an amplitude: the loudest partial is about 1."""


def page_data(
    piece: Piece,
    *,
    shifts: Sequence[int] = (0,),
    look: Look | None = None,
    drawn: Cache | None = None,
    text_span: TextSpan | None = None,
    plain: bool = False,
) -> PageData:
    """Return the data of a piece's page, its parts with Sa moved by each of ``shifts`` (-5 to 6).

    ``shifts``: semitones. More of them can be added to ``parts`` afterwards
    (``webpage.parts.packed_parts``, in a process each). ``drawn``: the systems drawn for earlier
    pages. ``text_span``: gives the span of a place in the text that is shown beside the page.
    ``plain``: without phrasing, on the grid.
    """
    page = _Page(Band(piece, plain))
    score = page.score
    sounds: dict[str, SoundData] = {}
    voices = list(page.voices(sounds))
    drone = list(page.drone(sounds))
    waves = {voice["wave"] for voice in voices} - {""}
    return {
        "title": plain_text(piece.title),
        "composer": plain_text(piece.composer),
        "mode": plain_text(piece.mode.name),
        "sa": page.letter(score.tonic),
        "hertz": round(page.hertz, 6),
        "names": [page.letter(_tonic_of_key(piece, tonic)) for tonic in TONICS],
        "key": score.tonic.semitone,
        "tempo": round(float(piece.tempo), 6),
        "length": page.seconds(score.end),
        "cycles": list(map(_cycle_kind, page.cycles)),
        "turns": page.turns(),
        "sections": list(page.sections()),
        "voices": voices,
        "waves": {wave: _voice_table(wave) for wave in sorted(waves)},
        "sounds": sounds,
        "room": room_sound(),
        "loudspeaker": loudspeaker_data(),
        "parts": {
            str(shift): packed_parts(piece, shift, look, drawn, page.clock, text_span)
            for shift in shifts
        },
        "drone": drone,
        "drone_tones": list(page.drone_tones()),
        "caution": CAUTION,
    }


def loudspeaker_data() -> LoudspeakerData:
    """Return the filters of the balance for loudspeakers."""
    return {
        "low": loudspeaker.LOW_HZ,
        "middle": loudspeaker.SHELF_HZ,
        "band": loudspeaker.BAND_HZ,
        "ends": (loudspeaker.FROM_HZ, loudspeaker.TO_HZ),
        "drive": loudspeaker.DRIVE,
        "bias": loudspeaker.BIAS,
        "second": list(loudspeaker.SECOND_ORDER),
        "fourth": list(loudspeaker.FOURTH_ORDER),
        "drone": DRONE.speaker,
    }


def _tonic_of_key(piece: Piece, tonic: Tonic) -> Tonic:
    """Return the Sa of the piece where that is on the same key, else the given one."""
    return piece.tonic if piece.tonic.semitone == tonic.semitone else tonic


class _Page:
    """A piece as it is played, and the parts of its page's data."""

    def __init__(self, band: Band) -> None:
        self.piece = band.piece
        self.band = band
        self.score = score = band.score
        self.performance = performance_of(score, plain=band.plain)
        self.clock = Clock(score.tempos)
        self.hertz = hertz(score.tonic.midi, 0, score.tuning)
        self.cycles = list(dict.fromkeys(bar.stretch.cycle for bar in self.band.bars))

    def seconds(self, time: Fraction) -> float:
        """Return a time in beats of the timeline, in seconds."""
        return round(float(self.clock.seconds(time)), DECIMALS)

    def letter(self, tonic: Tonic) -> str:
        """Return the letter of a Sa as the lead sheet writes it."""
        return str(readable_tonic(tonic, self.band.tones))

    def cents(self, hz: float) -> float:
        """Return the cents of a frequency above the middle Sa of the beginning."""
        return round(1200 * log2(hz / self.hertz), CENT_DECIMALS)

    def turns(self) -> list[Turn]:
        """Return every bar as a turn; the count-in belongs to no section."""
        turns: list[Turn] = []
        section = -1
        for passage in self.band.passages:
            section += passage.step >= 0
            for bar in passage.bars:
                in_section = passage.step >= 0 and bar.stretch.kind != "count-in"
                turns.append(
                    {
                        "kind": _turn_kind(bar),
                        "number": bar.number,
                        "cycle": self.cycles.index(bar.stretch.cycle),
                        "beats": [self.seconds(at) for at in (*_beat_times(bar), bar.end)],
                        "section": section if in_section else -1,
                    }
                )
        return turns

    def sections(self) -> Iterator[Section]:
        """Yield the steps of the form that take time, without the count-in."""
        at = 0
        for passage in self.band.passages:
            first, at = at, at + len(passage.bars)
            if passage.step < 0:
                continue
            first += sum(bar.stretch.kind == "count-in" for bar in passage.bars)
            box, here = self.band.road[passage.step], passage.bars[-1].stretch
            begin = self.band.bars[first].start if first < at else passage.bars[-1].end
            yield {
                "letter": box.letter,
                "name": plain_text(
                    ", ".join(filter(None, [box.in_parts[0] or box.name, box.note]))
                ),
                "start": self.seconds(begin),
                "end": self.seconds(passage.bars[-1].end),
                "sa": self.letter(here.tonic),
                "mode": plain_text(here.mode.name),
                "key": here.tonic.semitone,
                "turns": (first, at),
                "loop": (self.pickup_turn(first, begin), at),
            }

    def pickup_turn(self, first: int, begin: Fraction) -> int:
        """Return the turn in which the pickup to a section begins.

        ``first``: the first turn of the section; ``begin``: its beginning in beats.
        """
        pickup = begin - pickup_to(self.band.timeline, begin)
        bars = self.band.bars
        # A section that lies in the count-in alone has no bar of its own, and may be the last.
        while first > 0 and (first == len(bars) or bars[first].start > pickup):
            if bars[first - 1].stretch.kind in ("count-in", "free"):
                break
            first -= 1
        return first

    def voices(self, sounds: dict[str, SoundData]) -> Iterator[VoiceData]:
        """Yield every player, then the counting hands; their sounds are added to ``sounds``."""
        titles = {player.name: player.instrument.title for player in self.piece.players}
        parts = self.performance.parts
        for part, pan in zip(parts, part_pans(parts), strict=True):
            is_drone = part.plucked
            names, strokes = (
                self.string_plucks(part, sounds) if is_drone else _drum_strokes(part, sounds)
            )
            voice: VoiceData = {
                "name": plain_text(part.name),
                "title": plain_text(titles.get(part.name, part.name)),
                "role": part.role.on_page,
                "wave": part.voice if part.tones and not is_drone else "",
                "tones": [] if is_drone else list(map(self.tone, part.tones, joins(part.tones))),
                "strokes": strokes,
                "sounds": names,
                "level": part_level(part),
                "pan": pan,
                "room": part.role.room,
                "speaker": speaker_of(part),
            }
            if not is_drone and any(stops := _stops(names)):
                voice["stops"] = stops
            yield voice

    def tone(self, tone: Tone, joined: int) -> ToneEvent:
        """Return a pitched sound as an event of the page."""
        curve: Curve = [
            (_in_seconds(frame), round(cents, CENT_DECIMALS)) for frame, cents in tone.curve
        ]
        length = _in_seconds(tone.frames)
        cents = self.cents(tone.hz)
        return _in_seconds(tone.start), length, cents, tone.velocity, curve, joined

    def string_plucks(
        self, part: PartEvents, sounds: dict[str, SoundData]
    ) -> tuple[list[str], list[StrokeEvent]]:
        """Return the names of the sounds of a drone's strings, and each pluck of them.

        A string takes its sounds in turn.
        """
        names: dict[str, int] = {}
        strokes: list[StrokeEvent] = []
        turns: dict[str, Iterator[str]] = {}
        for tone in part.tones:
            touches = self.string(tone.hz, tone.string, sounds)
            name = next(turns.setdefault(touches[0], itertools.cycle(touches)))
            at = names.setdefault(name, len(names))
            strokes.append((_in_seconds(tone.start), at, tone.velocity))
        return list(names), strokes

    def string(self, hz: float, number: int, sounds: dict[str, SoundData]) -> list[str]:
        """Return the names of the plucks of a string, which are rendered if they are new."""
        tuned = tuned_string_hz(string_hz(hz), number)
        cents = self.cents(tuned)
        names = [f"string {cents:g} {touch}" for touch in range(TOUCHES)]
        if names[0] not in sounds:
            for touch, name in enumerate(names):
                sounds[name] = string_sound(tuned, cents, SOFT, touch)
            sounds[names[0]]["touches"] = names
        return names

    def drone(self, sounds: dict[str, SoundData]) -> Iterator[tuple[float, str]]:
        """Yield the strings of the drone in order, at the beginning of the piece.

        They are there without a drone in the band, too: its players may want one to tune to.
        """
        stretches = self.band.timeline.stretches
        mode = stretches[0].mode if stretches else self.piece.mode
        for number, pitch in enumerate(string_pitches(mode, self.drone_player)):
            hz = self.drone_hz(pitch)
            name = self.string(hz, number, sounds)[0]
            yield self.cents(tuned_string_hz(hz, number)), name

    def drone_tones(self) -> Iterator[tuple[str, float]]:
        """Yield the tones that the first string may have, and their cents above middle Sa."""
        for tone in DRONE_TONES:
            yield show_pitch(tone), self.cents(self.drone_hz(string_pitch(tone)))

    @property
    def drone_player(self) -> Player | None:
        """The player of the drone, if the band has one."""
        return next((one for one in self.piece.players if one.role.is_drone), None)

    def drone_hz(self, pitch: int) -> float:
        """Return the frequency of a string at the beginning of the piece."""
        octave = 0 if self.drone_player is None else self.drone_player.octave
        return string_hz(hertz(self.score.tonic.midi, pitch + 12 * octave, self.score.tuning))


def _in_seconds(frames: int) -> float:
    return round(frames / RATE, DECIMALS)


def _drum_strokes(
    part: PartEvents, sounds: dict[str, SoundData]
) -> tuple[list[str], list[StrokeEvent]]:
    """Return the names of a drum's sounds, and each stroke."""
    velocities = struck_velocities(part)
    drum = part.voice if any(isinstance(sound, str) for sound in velocities) else "kit"
    indices: dict[tuple[str | int, int, int], int] = {}
    names: list[str] = []
    for sound, rendered in velocities.items():
        for velocity in rendered:
            for variant in range(variants_rendered(part, sound, velocity)):
                name = f"{drum} {variant + 1} {sound} {velocity}"
                indices[sound, velocity, variant] = len(names)
                names.append(name)
                if name not in sounds:
                    sounds[name] = stroke_sound(part, sound, velocity, variant)
    strokes: list[StrokeEvent] = []
    turns = variants_of([stroke.sound for stroke in part.strokes], ALTERNATION)
    for stroke, turn in zip(part.strokes, turns, strict=True):
        velocity = nearest_velocity(velocities[stroke.sound], stroke.velocity)
        found = indices.get((stroke.sound, velocity, turn))
        index = indices[stroke.sound, velocity, 0] if found is None else found
        strokes.append((_in_seconds(stroke.start), index, stroke.velocity))
    return names, strokes


def _stops(names: Sequence[str]) -> list[list[int]]:
    """Return, for each sound of a drum, the indices of those whose ringing it ends."""
    struck = [name.split(" ")[-2] for name in names]
    chokes = {str(sound): {str(one) for one in ended} for sound, ended in CHOKES.items()}
    return [
        [at for at, other in enumerate(struck) if other in chokes.get(sound, ())]
        for sound in struck
    ]


def _turn_kind(bar: Bar) -> Any:
    kind = bar.stretch.kind
    return "cycle" if kind == "metered" else kind


def _beat_times(bar: Bar) -> Iterator[Fraction]:
    """Yield the beginnings of the beats that a bar has, in beats of the timeline."""
    if bar.stretch.kind == "free":
        yield bar.start
        return
    for _, at, _ in bar.stretch.cycle.walk():
        if at < bar.length:
            yield bar.start + at


def _cycle_kind(cycle: Cycle) -> CycleKind:
    syllables = dict(beat_counts(cycle))
    beats: list[Beat] = [
        {
            "at": float(at),
            "length": float(length),
            "name": show_exact(at + 1),
            "sign": cycle.signs.get(at, "").replace("×", "X"),
            "open": is_open(cycle, at),
            "opens_section": at in cycle.starts,
            "syllable": syllables[at],
        }
        for _, at, length in cycle.walk()
    ]
    return {"name": plain_text(cycle.name), "beats": beats}


@cache
def _voice_table(wave: str) -> dict[str, Any]:
    """Return a voice of the synthesiser as plain data, its tables rounded."""
    table = asdict(voice_tables.named_voice(wave))
    for zone in table["zones"]:
        zone["levels"] = [[round(level, TABLE_DECIMALS) for level in row] for row in zone["levels"]]
    return table
