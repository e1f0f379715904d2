"""The hand drums: the theka of the cycle, composed strokes in its place, and the count-in.

Stressed beats are heard louder, open sections (khali) softer and without an open bass.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.roles.cadence_hits import cadence_hits
from cyclechart.arrange.roles.drum_kit import Drawn, Pulse, kit
from cyclechart.arrange.roles.theka import theka
from cyclechart.arrange.roles.theka_variations import Way, is_open, varied
from cyclechart.arrange.score import Hit, Part
from cyclechart.arrange.timeline import Placed, Stretch, Timeline
from cyclechart.catalog.roles import COUNT
from cyclechart.catalog.strokes import DrumSound, TimedSyllable, strokes
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle

SAM, STRESSED, OPEN = 18, 9, -14
"""What sam, a stressed beat and an open section add to a stroke's plain velocity."""

LEVELS = {"pp": -30, "p": -20, "mp": -10, "mf": 0, "f": 8, "ff": 14}
"""What the dynamics of a step add."""

CLAPS = "claps and waves"
CLAP, WAVE, TAP = 39, 54, 37
"""General MIDI percussion keys of the count-in: hand clap, tambourine, side stick."""
CLAP_VELOCITY, WAVE_VELOCITY, TAP_VELOCITY = 100, 72, 52


def percussion(piece: Piece, timeline: Timeline, player: Player) -> Part:
    """A drummer: the theka, composed strokes in its place; silent in another drummer's solo."""
    hand = _Hand(timeline, composed_for(timeline, player), piece.timekeepers, piece.seed)
    hits = hand.on_kit() if player.instrument.is_kit else hand.hits()
    return Part(player.name, player.role, None, hits=tuple(hits), voice=player.instrument.voice)


def composed_for(timeline: Timeline, player: Player) -> list[Placed]:
    """The composed strokes of a player, in the order of time."""
    return [
        placed
        for placed in timeline.placed
        if placed.line.kind == "strokes" and placed.line.notes and player.name in placed.players
    ]


def spans_of(composed: Iterable[Placed]) -> list[tuple[Fraction, Fraction]]:
    """From where to where composed strokes stand in place of time, each cut off by the next."""
    spans: list[tuple[Fraction, Fraction]] = []
    for placed in composed:
        last = placed.line.notes[-1]
        end = placed.at(last) + min(placed.lasts(last), Fraction(1))
        end = min(end, placed.until) if placed.until is not None else end
        if spans and spans[-1][1] > placed.start:
            spans[-1] = (spans[-1][0], placed.start)
        spans.append((placed.start, end))
    return spans


def count(timeline: Timeline) -> Part:
    """The claps and waves where they keep the time."""
    hits = [hit for stretch in timeline.stretches if stretch.clapped for hit in counted(stretch)]
    return Part(CLAPS, COUNT, None, hits=tuple(hits))


@dataclass(frozen=True, slots=True)
class _Stroke:
    """A syllable to be struck, and what its place adds to its plain velocity."""

    said: TimedSyllable
    lift: int


class _Hand:
    """The drummer: the theka wherever no composed strokes stand and no drummer's solo is open."""

    def __init__(
        self, timeline: Timeline, composed: list[Placed], drummers: Collection[str], seed: int
    ) -> None:
        self.timeline = timeline
        self.composed = composed
        self.drummers = drummers
        self.seed = seed
        self.number = 0
        """How many cycles have been kept."""
        self.patterns = {
            cycle: theka(cycle)
            for cycle in dict.fromkeys(stretch.cycle for stretch in timeline.stretches)
        }

    def struck(self) -> list[tuple[_Stroke, tuple[DrumSound, ...]]]:
        """Every stroke with its sounds, for what one is may hang on the one before it."""
        struck = sorted(self.strokes(), key=lambda stroke: stroke.said.start)
        sounding = strokes().sounding(stroke.said for stroke in struck)
        return list(zip(struck, sounding, strict=True))

    def hits(self) -> list[Hit]:
        """Every sound of the hand drums."""
        hits = [hit for stroke, sounds in self.struck() for hit in _hits(stroke, sounds)]
        return sorted(hits, key=lambda hit: (hit.start, hit.key))

    def on_kit(self) -> list[Hit]:
        """The same on a drum kit, with a cymbal that keeps the beats."""
        drawn = []
        for stroke, sounds in self.struck():
            start, end = stroke.said.start, stroke.said.end
            here = self.timeline.at(start)
            within = (start - here.start) % here.cycle.beats
            seconds = 60 / here.tempo_at(start)
            quiet = here.kind == "metered" and is_open(here.cycle, within)
            drawn.append(Drawn(start, end, sounds, stroke.lift, quiet, seconds))
        together = [
            (at, 60 / here.tempo_at(at))
            for at in cadence_hits(self.timeline)
            if (here := self.timeline.at(at)).kind == "metered"
            and here.soloist not in self.drummers
        ]
        return kit(drawn, list(self.pulses()), together)

    def pulses(self) -> Iterator[Pulse]:
        """The beats of every cycle that the drums keep."""
        for stretch in self.timeline.stretches:
            if stretch.kind != "metered" or stretch.soloist in self.drummers:
                continue
            base = stretch.start
            while base < stretch.end:
                for _, at, length in stretch.cycle.walk():
                    time = base + at
                    closing = self.timeline.closing
                    if time < stretch.end and (closing is None or time <= closing):
                        seconds = 60 / stretch.tempo_at(time)
                        opened = is_open(stretch.cycle, at)
                        lift = LEVELS.get(stretch.level, 0)
                        begins = at in stretch.cycle.starts
                        yield Pulse(time, length, opened, begins, seconds, lift)
                base += stretch.cycle.beats

    def strokes(self) -> list[_Stroke]:
        """Everything that is struck, the theka first."""
        busy = spans_of(self.composed)
        starts = [start for start, _ in busy]
        found: list[_Stroke] = []
        for stretch in self.timeline.stretches:
            if stretch.kind == "metered" and stretch.soloist not in self.drummers:
                found += self.keep_time(stretch, busy, starts)
        for placed, (_, end) in zip(self.composed, busy, strict=True):
            found += self.compose(placed, end)
        closing = self.timeline.closing
        if closing is not None and not any(one.said.start == closing for one in found):
            cycle = self.timeline.stretches[-1].cycle
            last = TimedSyllable(
                closing, closing + 1, self.patterns[cycle][0].syllable, quick=False
            )
            found.append(_Stroke(last, SAM))
        return found

    def keep_time(
        self, stretch: Stretch, busy: list[tuple[Fraction, Fraction]], starts: list[Fraction]
    ) -> list[_Stroke]:
        found: list[_Stroke] = []
        base = stretch.start
        cycle, pattern = stretch.cycle, self.patterns[stretch.cycle]
        closing = self.timeline.closing
        soft = LEVELS.get(stretch.level, 0)
        while base < stretch.end:
            seconds = 60 / stretch.tempo_at(base)
            way: Way | None = "light" if stretch.level == "pp" else None
            number, self.number = self.number, self.number + 1
            # The last cycle of all leads nowhere where the piece does not land.
            leads = closing is not None or base + cycle.beats < self.timeline.end
            seed = self.seed if leads else 0
            for beat in varied(cycle, pattern, number, seed, seconds, way):
                at = base + beat.at
                if at >= stretch.end or (closing is not None and at > closing):
                    break
                last = bisect_right(starts, at) - 1
                if last >= 0 and at < busy[last][1]:
                    continue
                said = TimedSyllable(at, at + beat.length, beat.syllable, beat.length < 1)
                found.append(_Stroke(said, _lift(cycle, beat.at) + soft))
            base += cycle.beats
        return found

    def compose(self, placed: Placed, end: Fraction) -> list[_Stroke]:
        found: list[_Stroke] = []
        for note in placed.line.notes:
            at = placed.at(note)
            if at < end:
                lift = SAM if "accent" in note.marks else 4
                said = TimedSyllable(at, at + placed.lasts(note), note.syllable, note.length < 1)
                found.append(_Stroke(said, lift))
        return found


def _hits(stroke: _Stroke, sounds: tuple[DrumSound, ...]) -> list[Hit]:
    """The one or two sounds of a syllable; the first of them carries its name."""
    said = stroke.said
    return [
        Hit(
            said.start,
            said.end - said.start,
            sound.key,
            max(1, min(127, sound.velocity + stroke.lift)),
            said.syllable if number == 0 else "",
        )
        for number, sound in enumerate(sounds)
    ]


def _lift(cycle: Cycle, position: Fraction) -> int:
    """What a place in the cycle adds to a stroke."""
    if position == 0 and Fraction(1) not in cycle.open:
        return SAM
    section = cycle.starts[bisect_right(cycle.starts, position) - 1]
    if section + 1 in cycle.open:
        return OPEN + (SAM if position == 0 else 0)
    return STRESSED if position + 1 in cycle.stressed else 0


def counted(stretch: Stretch) -> list[Hit]:
    """A clap on each stressed beat and sam, a wave on each open one and where the hand waves within
    a limb, a tap on the others."""
    cycle = stretch.cycle
    found = []
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
            found.append(Hit(base + at, length, key, velocity, text))
        base += cycle.beats
    return found
