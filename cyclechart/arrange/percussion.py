"""The hand drums: the theka of the cycle, composed strokes in its place, and the count-in.

Stressed beats are heard louder, open sections (khali) softer and without an open bass.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.score import Hit, Part
from cyclechart.arrange.theka import theka
from cyclechart.arrange.timeline import Placed, Stretch, Timeline
from cyclechart.catalog.strokes import Said, Sound, strokes
from cyclechart.piece.model import HAND_DRUMS
from cyclechart.theory.cycle import Cycle

SAM, STRESSED, OPEN = 18, 9, -14
"""What sam, a stressed beat and an open section add to a stroke's plain velocity."""

CLAP, WAVE, TAP = 39, 54, 37
"""General MIDI percussion keys of the count-in: hand clap, tambourine, side stick."""
CLAP_VELOCITY, WAVE_VELOCITY, TAP_VELOCITY = 100, 72, 52


def percussion(timeline: Timeline) -> tuple[Part, ...]:
    """The hand drums, and the claps and waves of the count-in as a part of their own."""
    composed = [
        placed for placed in timeline.placed if placed.line.kind == "strokes" and placed.line.notes
    ]
    hits = _Hand(timeline, composed).hits()
    counted = [hit for stretch in timeline.stretches if stretch.clapped for hit in _count(stretch)]
    parts = [Part(HAND_DRUMS, "drums", None, hits=tuple(hits))]
    if counted:
        parts.append(Part("claps and waves", "count", None, hits=tuple(counted)))
    return tuple(parts)


@dataclass(frozen=True, slots=True)
class _Stroke:
    """A syllable to be struck, and what its place adds to its plain velocity."""

    said: Said
    lift: int


class _Hand:
    """The drummer: the theka wherever no composed strokes stand and nobody's solo is open."""

    def __init__(self, timeline: Timeline, composed: list[Placed]) -> None:
        self.timeline = timeline
        self.composed = composed
        self.patterns = {
            cycle: theka(cycle)
            for cycle in dict.fromkeys(stretch.cycle for stretch in timeline.stretches)
        }

    def hits(self) -> list[Hit]:
        """Every sound: of a stroke at a time, for what one is may hang on the one before it."""
        struck = sorted(self.strokes(), key=lambda stroke: stroke.said.start)
        sounding = strokes().sounding(stroke.said for stroke in struck)
        hits = [
            hit
            for stroke, sounds in zip(struck, sounding, strict=True)
            for hit in _hits(stroke, sounds)
        ]
        return sorted(hits, key=lambda hit: (hit.start, hit.key))

    def strokes(self) -> list[_Stroke]:
        """Everything that is struck, the theka first."""
        busy = self.busy()
        starts = [start for start, _ in busy]
        found: list[_Stroke] = []
        for stretch in self.timeline.stretches:
            if stretch.kind == "metered" and stretch.soloist != HAND_DRUMS:
                found += self.keep_time(stretch, busy, starts)
        for placed, (_, end) in zip(self.composed, busy, strict=True):
            found += self.compose(placed, end)
        closing = self.timeline.closing
        if closing is not None and not any(one.said.start == closing for one in found):
            cycle = self.timeline.stretches[-1].cycle
            last = Said(closing, closing + 1, self.patterns[cycle][0].syllable, quick=False)
            found.append(_Stroke(last, SAM))
        return found

    def busy(self) -> list[tuple[Fraction, Fraction]]:
        """From where to where composed strokes stand, each cut off by the next."""
        spans: list[tuple[Fraction, Fraction]] = []
        for placed in self.composed:
            last = placed.line.notes[-1]
            end = placed.at(last) + min(placed.lasts(last), Fraction(1))
            end = min(end, placed.until) if placed.until is not None else end
            if spans and spans[-1][1] > placed.start:
                spans[-1] = (spans[-1][0], placed.start)
            spans.append((placed.start, end))
        return spans

    def keep_time(
        self, stretch: Stretch, busy: list[tuple[Fraction, Fraction]], starts: list[Fraction]
    ) -> list[_Stroke]:
        found: list[_Stroke] = []
        base = stretch.start
        cycle, pattern = stretch.cycle, self.patterns[stretch.cycle]
        closing = self.timeline.closing
        while base < stretch.end:
            for beat in pattern:
                at = base + beat.at
                if at >= stretch.end or (closing is not None and at > closing):
                    break
                number = bisect_right(starts, at) - 1
                if number >= 0 and at < busy[number][1]:
                    continue
                said = Said(at, at + beat.length, beat.syllable, beat.length < 1)
                found.append(_Stroke(said, _lift(cycle, beat.at)))
            base += cycle.beats
        return found

    def compose(self, placed: Placed, end: Fraction) -> list[_Stroke]:
        found: list[_Stroke] = []
        for note in placed.line.notes:
            at = placed.at(note)
            if at < end:
                lift = SAM if "accent" in note.marks else 4
                said = Said(at, at + placed.lasts(note), note.syllable, note.length < 1)
                found.append(_Stroke(said, lift))
        return found


def _hits(stroke: _Stroke, sounds: tuple[Sound, ...]) -> list[Hit]:
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


def _count(stretch: Stretch) -> list[Hit]:
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
