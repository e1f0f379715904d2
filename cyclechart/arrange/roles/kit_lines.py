"""The lines of a drum kit: what a drummer plays as written, in place of keeping time.

A line that enters ends the one before it, be it of a kit or of strokes.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from fractions import Fraction

from cyclechart.arrange.assigned_lines import Spans, in_turn, is_within, lines_of
from cyclechart.arrange.part_notes import PartNote, line_notes
from cyclechart.arrange.roles.band_hits import written_hits
from cyclechart.arrange.roles.drum_levels import LEVELS
from cyclechart.arrange.score import Hit
from cyclechart.arrange.timeline import PlacedLine, Stretch, Timeline
from cyclechart.catalog.kit import DRUM, struck_at_once
from cyclechart.piece.player import Player

VELOCITY = {
    "kick": 90, "foot": 58, "snare": 92, "rim": 80, "low-tom": 90, "mid-tom": 88, "high-tom": 86,
    "hat": 66, "open-hat": 76, "ride": 68, "bell": 78, "crash": 96,
}  # fmt: skip
"""The plain velocity of each drum, on a beat that is not stressed."""

TIME_DRUMS = frozenset(("foot", "hat", "open-hat", "ride", "bell"))
"""What keeps the time moves with the stress of its place; drums and crashes do by half."""

SAM, STRESSED, HALF_BEAT, BETWEEN = 10, 5, -8, -12
"""Velocity added on sam, on a stressed beat, on the half of a beat and elsewhere in it."""

ACCENT, GRACE = 18, -32
"""Velocity added by an accent, and to a grace note against its note."""

LONGEST_LANDING = Fraction(1)
"""The most beats for which the stroke that a line lands on keeps the time waiting."""

GRACE_SECONDS = Fraction(1, 30)
"""The seconds between the strokes of a flam or a drag (common practice; from memory)."""


def kit_line_spans(timeline: Timeline, player: Player) -> Spans:
    """Return from where to where (beats) a player has a kit line, in order and without overlaps."""
    entries = lines_of(timeline, player.name, ("kit", "strokes"))
    ends = (((placed.span[0], _end_of(placed, timeline)), placed) for _, placed in entries)
    spans: Spans = []
    for (start, end), placed in in_turn(ends):
        if placed.line.kind != "kit":
            continue
        if spans and spans[-1][1] == start:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((start, end))
    return spans


def _end_of(placed: PlacedLine, timeline: Timeline) -> Fraction:
    """Return the end of a placed line of a kit: with the stroke that it lands on, for a beat at
    most, where time goes on after it."""
    end = placed.span[1]
    if placed.line.kind != "kit" or end in timeline.landings:
        return end
    landing = next((note for note in placed.line.notes if placed.start_of(note) == end), None)
    if landing is None or (placed.until is not None and placed.until <= end):
        return end
    return end + min(placed.length_of(landing), LONGEST_LANDING)


def kit_line_notes(timeline: Timeline, player: Player) -> list[PartNote]:
    """Return the notes of a player's kit lines in beats of the timeline, where they play them and
    do not hit with the band."""
    spans = kit_line_spans(timeline, player)
    together = {hit.at for hit in written_hits(timeline, player)}
    return [
        note
        for note in line_notes(timeline, player, "kit")
        if is_within(spans, note.start)
        and note.start not in together
        and player.name not in timeline.at(note.start).soloists_at(note.start)
    ]


def kit_line_hits(timeline: Timeline, player: Player) -> list[Hit]:
    """Return the hits of a player's kit lines in order."""
    hits: list[Hit] = []
    line, level = -1, 0
    before = Fraction(0)
    for note in kit_line_notes(timeline, player):
        if note.origin[0] != line:
            line = note.origin[0]
            level = LEVELS.get(timeline.placed_lines[line].state.level, 0)
        level = next((LEVELS[mark] for mark in note.marks if mark in LEVELS), level)
        here = timeline.at(note.start)
        stress = _stress(here, note.start)
        loud = level + (ACCENT if "accent" in note.marks else 0)
        length = note.length / 2 if "staccato" in note.marks else note.length
        struck = [
            Hit(note.start, length, DRUM[name].key, _velocity(name, stress, loud), "")
            for name in note.drums
        ]
        hits += _graces(note, before, here, max(hit.velocity for hit in struck))
        hits += struck
        before = note.start
    return sorted(hits, key=lambda hit: (hit.start, hit.key))


def _graces(note: PartNote, since: Fraction, here: Stretch, loud: int) -> Iterator[Hit]:
    """Yield the grace notes of a note, all of them after ``since``."""
    graces = [value for value in note.grace if isinstance(value, str)]
    if not graces or note.start <= since:
        return
    apart = GRACE_SECONDS * here.tempo_at(note.start) / 60
    apart = min(apart, (note.start - since) / (len(graces) + 1))
    velocity = max(1, loud + GRACE)
    for number, value in enumerate(graces):
        at = note.start - apart * (len(graces) - number)
        for name in struck_at_once(value):
            yield Hit(at, apart, DRUM[name].key, velocity, "")


def _stress(here: Stretch, time: Fraction) -> int:
    """Return the velocity that a place in the cycle adds."""
    if here.kind == "free":
        return 0
    # A count-in may be shorter than its cycle: it is counted from its end.
    first = here.end if here.kind == "count-in" else here.start
    within = (time - first) % here.cycle.beats
    if within == 0:
        return SAM
    walk = here.cycle.walk()
    _, beat, _ = walk[bisect_right(walk, within, key=lambda one: one[1]) - 1]
    if within == beat:
        return STRESSED if beat + 1 in here.cycle.stressed else 0
    return HALF_BEAT if within - beat == Fraction(1, 2) else BETWEEN


def _velocity(name: str, stress: int, loud: int) -> int:
    moved = stress if name in TIME_DRUMS else stress // 2
    return max(1, min(127, VELOCITY[name] + moved + loud))
