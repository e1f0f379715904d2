"""The hand drums: the theka of the cycle, composed strokes in its place, and the count-in.

Stressed beats are louder, open sections (khali) softer and without an open bass.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.assigned_lines import Spans, is_within
from cyclechart.arrange.roles.band_hits import BandHit, band_hits, stop_times, written_hits
from cyclechart.arrange.roles.drum_kit import HandStroke, Pulse, kit_hits
from cyclechart.arrange.roles.drum_levels import LEVELS
from cyclechart.arrange.roles.kit_lines import kit_line_hits, kit_line_spans
from cyclechart.arrange.roles.line_levels import note_levels
from cyclechart.arrange.roles.spoken_count import kept_time
from cyclechart.arrange.roles.theka_variations import Variation, is_open, varied_theka
from cyclechart.arrange.score import Hit, Part
from cyclechart.arrange.timeline import PlacedLine, Stretch, Timeline
from cyclechart.catalog.roles import COUNT
from cyclechart.catalog.strokes import DrumSound, TimedSyllable, strokes
from cyclechart.piece.hairpins_and_slurs import hairpins_of
from cyclechart.piece.model import Piece
from cyclechart.piece.note import CUT_TO
from cyclechart.piece.player import Player
from cyclechart.text.line_tree import CUT
from cyclechart.theory.cycle import Cycle

SAM, STRESSED, OPEN = 18, 9, -14
"""Velocity added to a stroke on sam, on a stressed beat and in an open section."""

CLAPS = "claps and waves"
CLAP, WAVE, TAP = 39, 54, 37
"""General MIDI percussion keys of the count-in: hand clap, tambourine, side stick."""
CLAP_VELOCITY, WAVE_VELOCITY, TAP_VELOCITY = 100, 72, 52


def drummer_part(piece: Piece, timeline: Timeline, player: Player) -> Part:
    """Return a drummer's part: the theka, or composed strokes or kit lines in its place; silent in
    a drummer's solo."""
    composed = composed_lines(timeline, player)
    hand = _Drummer(timeline, player, composed, piece.timekeepers, piece.seed)
    if player.instrument.is_kit:
        hits = hand.kit_part_hits(kit_line_spans(timeline, player))
        own = kit_line_hits(timeline, player)
        hits = sorted([*hits, *own], key=lambda hit: (hit.start, hit.key)) if own else hits
    else:
        hits = hand.hand_drum_hits(written_hits(timeline, player))
    return Part(player.name, player.role, None, hits=tuple(hits), voice=player.instrument.voice)


def composed_lines(timeline: Timeline, player: Player) -> list[PlacedLine]:
    """Return a player's lines of composed strokes in order of time."""
    return [
        placed
        for placed in timeline.placed_lines
        if placed.line.kind == "strokes" and placed.line.notes and player.name in placed.players
    ]


def composed_spans(composed: Iterable[PlacedLine]) -> list[tuple[Fraction, Fraction]]:
    """Return (start, end) in beats of each composed line, cut off by the next; no theka is played
    there."""
    spans: list[tuple[Fraction, Fraction]] = []
    for placed in composed:
        last = placed.line.notes[-1]
        end = placed.start_of(last) + min(placed.length_of(last), Fraction(1))
        end = min(end, placed.until) if placed.until is not None else end
        if spans and spans[-1][1] > placed.start:
            spans[-1] = (spans[-1][0], placed.start)
        spans.append((placed.start, end))
    return spans


def count_part(timeline: Timeline) -> Part:
    """Return the part of claps and waves: the count-in and other clapped stretches."""
    hits = [
        hit for stretch in timeline.stretches if stretch.clapped for hit in stretch_claps(stretch)
    ]
    return Part(CLAPS, COUNT, None, hits=tuple(hits))


@dataclass(frozen=True, slots=True)
class _Stroke:
    """A syllable to be played, and the velocity that its place adds."""

    syllable: TimedSyllable
    lift: int


class _Drummer:
    """A drummer: plays the theka except in composed lines and drummers' solos."""

    def __init__(
        self,
        timeline: Timeline,
        player: Player,
        composed: list[PlacedLine],
        drummers: Collection[str],
        seed: int,
    ) -> None:
        self.timeline = timeline
        self.hits = band_hits(timeline, player)
        self.stops = stop_times(timeline, player)
        self.composed = composed
        self.drummers = frozenset(drummers)
        self.seed = seed
        self.cycles_kept = 0
        """The number of cycles of theka so far."""
        self.patterns = {
            cycle: kept_time(cycle, player.instrument)
            for cycle in dict.fromkeys(stretch.cycle for stretch in timeline.stretches)
        }

    def sounding_strokes(
        self, together: Sequence[BandHit] = ()
    ) -> list[tuple[_Stroke, tuple[DrumSound, ...]]]:
        """Return every stroke with its sounds; a stroke's sounds can depend on the one before."""
        struck = {hit.at for hit in together}
        every = [stroke for stroke in self.strokes() if stroke.syllable.start not in struck]
        every += map(self.together_stroke, together)
        ordered = sorted(every, key=lambda stroke: stroke.syllable.start)
        sounding = strokes().sounding(stroke.syllable for stroke in ordered)
        return list(zip(ordered, sounding, strict=True))

    def hand_drum_hits(self, together: Sequence[BandHit]) -> list[Hit]:
        """Return every sound of the hand drums in order; ``together``: what they hit with the
        band."""
        hits = [
            hit
            for stroke, sounds in self.sounding_strokes(together)
            for hit in _stroke_hits(stroke, sounds)
        ]
        return sorted(hits, key=lambda hit: (hit.start, hit.key))

    def together_stroke(self, hit: BandHit) -> _Stroke:
        """Return the stroke with which a hand drum joins in what the band hits."""
        first = self.patterns[self.timeline.at(hit.at).cycle][0].syllable
        return _Stroke(TimedSyllable(hit.at, hit.at + hit.length, first, quick=False), SAM)

    def kit_part_hits(self, kit_lines: Spans) -> list[Hit]:
        """Return the same strokes on a drum kit, with a cymbal that keeps the beats; nothing in the
        spans of its own lines."""
        hand_strokes = []
        for stroke, sounds in self.sounding_strokes():
            start, end = stroke.syllable.start, stroke.syllable.end
            if is_within(kit_lines, start):
                continue
            here = self.timeline.at(start)
            within = (start - here.start) % here.cycle.beats
            seconds = 60 / here.tempo_at(start)
            quiet = here.kind == "metered" and is_open(here.cycle, within)
            # A sarvalaghu leaves the claps to the treble; a kit has its kick there.
            clap = here.kind == "metered" and here.cycle.southern and within in here.cycle.starts
            if clap and all(sound.hand == "treble" for sound in sounds):
                sounds = (*sounds, *strokes().syllables["ge"])
            hand_strokes.append(HandStroke(start, end, sounds, stroke.lift, quiet, seconds))
        written = {hit.at for hit in self.timeline.hits}
        together = [
            (hit, 60 / here.tempo_at(hit.at))
            for hit in self.hits
            if (hit.at in written or not is_within(kit_lines, hit.at))
            and (here := self.timeline.at(hit.at)).kind == "metered"
            and not self.drummers.intersection(here.soloists_at(hit.at))
        ]
        pulses = [pulse for pulse in self.pulses() if not is_within(kit_lines, pulse.at)]
        return kit_hits(hand_strokes, pulses, together)

    def pulses(self) -> Iterator[Pulse]:
        """Yield the beats of every cycle in which the drums keep time."""
        for stretch in self.timeline.stretches:
            if stretch.kind != "metered" or self.is_drum_solo(stretch):
                continue
            base = stretch.start
            while base < stretch.end:
                for _, at, length in stretch.cycle.walk():
                    time = base + at
                    closing = self.timeline.closing
                    if self.drummers.intersection(stretch.soloists_at(time)):
                        continue
                    if is_within(self.stops, time):
                        continue
                    if time < stretch.end and (closing is None or time <= closing):
                        seconds = 60 / stretch.tempo_at(time)
                        opened = is_open(stretch.cycle, at)
                        lift = LEVELS.get(stretch.level, 0)
                        begins = at in stretch.cycle.starts
                        yield Pulse(time, length, opened, begins, seconds, lift)
                base += stretch.cycle.beats

    def is_drum_solo(self, stretch: Stretch) -> bool:
        """Return whether a drummer improvises in the whole of a stretch."""
        return not stretch.split and bool(self.drummers.intersection(stretch.soloists))

    def strokes(self) -> list[_Stroke]:
        """Return every stroke: theka, then composed lines, then the landing."""
        busy = composed_spans(self.composed)
        starts = [start for start, _ in busy]
        all_strokes: list[_Stroke] = []
        for stretch in self.timeline.stretches:
            if stretch.kind == "metered" and not self.is_drum_solo(stretch):
                all_strokes += self.theka_strokes(stretch, busy, starts)
        for placed, (_, end) in zip(self.composed, busy, strict=True):
            all_strokes += self.composed_strokes(placed, end)
        struck = {stroke.syllable.start for stroke in all_strokes}
        for landing in self.timeline.landings:
            if landing not in struck:
                cycle = self.timeline.at(landing).cycle
                first = self.patterns[cycle][0].syllable
                last = TimedSyllable(landing, landing + 1, first, quick=False)
                all_strokes.append(_Stroke(last, SAM))
        return all_strokes

    def theka_strokes(
        self, stretch: Stretch, busy: list[tuple[Fraction, Fraction]], starts: list[Fraction]
    ) -> list[_Stroke]:
        kept: list[_Stroke] = []
        base = stretch.start
        cycle, pattern = stretch.cycle, self.patterns[stretch.cycle]
        closing = self.timeline.closing
        soft = LEVELS.get(stretch.level, 0)
        while base < stretch.end:
            seconds = 60 / stretch.tempo_at(base)
            variation: Variation | None = "light" if stretch.level == "pp" else None
            number, self.cycles_kept = self.cycles_kept, self.cycles_kept + 1
            # The last cycle of all leads nowhere where the piece does not land.
            leads = closing is not None or base + cycle.beats < self.timeline.end
            seed = self.seed if leads else 0
            for beat in varied_theka(cycle, pattern, number, seed, seconds, variation):
                at = base + beat.at
                if at >= stretch.end or (closing is not None and at > closing):
                    break
                last = bisect_right(starts, at) - 1
                if last >= 0 and at < busy[last][1]:
                    continue
                if self.drummers.intersection(stretch.soloists_at(at)) or is_within(self.stops, at):
                    continue
                syllable = TimedSyllable(at, at + beat.length, beat.syllable, beat.length < 1)
                kept.append(_Stroke(syllable, _lift(cycle, beat.at) + soft))
            base += cycle.beats
        return kept

    def composed_strokes(self, placed: PlacedLine, end: Fraction) -> list[_Stroke]:
        struck: list[_Stroke] = []
        notes = placed.line.notes
        # Only hairpins make the dynamics of strokes sound: without any they are left to the player.
        levels = [0] * len(notes)
        if any(True for _ in hairpins_of(notes)):
            levels = note_levels(notes, LEVELS.get(placed.state.level, 0), LEVELS)
        for note, level in zip(notes, levels, strict=True):
            at = placed.start_of(note)
            if at < end:
                lift = (SAM if "accent" in note.marks else 4) + level
                length = placed.length_of(note) * (CUT_TO if CUT in note.marks else 1)
                syllable = TimedSyllable(at, at + length, note.syllable, note.length < 1)
                struck.append(_Stroke(syllable, lift))
        return struck


def _stroke_hits(stroke: _Stroke, sounds: tuple[DrumSound, ...]) -> list[Hit]:
    """Return the hits of a syllable, one or two; the first has its name as text."""
    syllable = stroke.syllable
    return [
        Hit(
            syllable.start,
            syllable.end - syllable.start,
            sound.key,
            max(1, min(127, sound.velocity + stroke.lift)),
            syllable.syllable if number == 0 else "",
        )
        for number, sound in enumerate(sounds)
    ]


def _lift(cycle: Cycle, position: Fraction) -> int:
    """Return the velocity that a place in the cycle adds to a stroke."""
    if is_open(cycle, position):
        return OPEN + (SAM if position == 0 else 0)
    if position == 0:
        return SAM
    return STRESSED if position + 1 in cycle.stressed else 0


def stretch_claps(stretch: Stretch) -> list[Hit]:
    """Return the claps and waves of a stretch: a clap on sam and each stressed beat, a wave on each
    open beat and each wave of the hand within a limb, a tap on the others."""
    cycle = stretch.cycle
    claps = []
    base = stretch.start
    while base < stretch.end:
        for _, at, length in cycle.walk():
            beat = at + 1
            if beat in cycle.open or cycle.hand.get(at) == "wave":
                key, velocity, text = WAVE, WAVE_VELOCITY, "wave"
            elif beat in cycle.stressed or beat == 1:
                key, velocity, text = CLAP, CLAP_VELOCITY, "clap"
            else:
                key, velocity, text = TAP, TAP_VELOCITY, ""
            claps.append(Hit(base + at, length, key, velocity, text))
        base += cycle.beats
    return claps
