"""Swing: the halves of a beat made long and short, in the sounds of a part.

Charts are written in even halves, as players read them; only what sounds is moved. A beat is moved
in a player's part if that player has nothing in it but its halves: triplets and quarters of a beat
stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.assigned_lines import assigned_spans, is_within
from cyclechart.arrange.score import Hit, Part, Sound
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.catalog.roles import LineKind

HALF = Fraction(1, 2)
_LINES: tuple[LineKind, ...] = ("melody", "strokes", "chords", "kit")


def swung_part(part: Part, timeline: Timeline) -> Part:
    """Return a part with its halved beats in the swing of the timeline."""
    if part.role.is_drone or all(stretch.swing == 1 for stretch in timeline.stretches):
        return part
    beats = _HalvedBeats(timeline, _written_times(part, timeline))
    return replace(
        part,
        sounds=tuple(beats.sound(sound) for sound in part.sounds),
        hits=tuple(beats.hit(hit) for hit in part.hits),
    )


def _written_times(part: Part, timeline: Timeline) -> Iterator[Fraction]:
    """Yield the times that are written for a player: where their notes begin and end, and where
    what their role plays begins. Graces and shakes are no part of it."""
    for placed in timeline.placed_lines:
        if part.name in placed.players:
            for _, _, start, length in placed.sounding_notes():
                yield start
                yield start + length
    spans = assigned_spans(timeline, part.name, _LINES, free=True)
    own: Sequence[Sound | Hit] = (*part.sounds, *part.hits)
    for entry in own:
        if not is_within(spans, entry.start):
            yield entry.start


@dataclass
class _HalvedBeats:
    """The beats of a timeline that one player has in halves."""

    timeline: Timeline

    def __init__(self, timeline: Timeline, times: Iterable[Fraction]) -> None:
        self.timeline = timeline
        inside: dict[Fraction, set[Fraction]] = {}
        for time in times:
            beat = self.beat_at(time)
            if beat is not None and time > beat:
                inside.setdefault(beat, set()).add(time - beat)
        self.beats = {beat for beat, parts in inside.items() if parts == {HALF}}

    def stretch_at(self, time: Fraction) -> Stretch | None:
        """Return the metered stretch that swings at a time, or None."""
        here = self.timeline.at(time)
        swings = here.swing != 1 and here.kind == "metered" and here.start <= time < here.end
        return here if swings else None

    def beat_at(self, time: Fraction) -> Fraction | None:
        """Return the start of the whole beat that holds a time, where it swings; else None."""
        here = self.stretch_at(time)
        if here is None:
            return None
        base = time - (time - here.start) % here.cycle.beats
        for _, at, length in here.cycle.walk():
            if base + at <= time < base + at + length:
                return base + at if length == 1 else None
        return None

    def moved(self, time: Fraction) -> Fraction:
        """Return where a time of an even beat comes to lie."""
        beat = self.beat_at(time)
        if beat is None or beat not in self.beats:
            return time
        swing = self.timeline.at(time).swing
        turn = swing / (swing + 1)
        within = time - beat
        if within <= HALF:
            return beat + within * 2 * turn
        return beat + turn + (within - HALF) * 2 * (1 - turn)

    def sound(self, sound: Sound) -> Sound:
        start = self.moved(sound.start)
        end = self.moved(sound.start + sound.length)
        if (start, end) == (sound.start, sound.start + sound.length):
            return sound
        curve = tuple((self.moved(sound.start + at) - start, bend) for at, bend in sound.curve)
        return replace(sound, start=start, length=end - start, curve=curve)

    def hit(self, hit: Hit) -> Hit:
        start = self.moved(hit.start)
        return replace(hit, start=start, length=self.moved(hit.start + hit.length) - start)
