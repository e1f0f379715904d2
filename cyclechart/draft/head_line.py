"""The head of a drafted piece: phrases that rise, come home and land on the first beat."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from random import Random

from cyclechart.draft.line_cells import DraftNote
from cyclechart.draft.line_plan import DraftedLine, LinePlan
from cyclechart.draft.melody_search import Contour, MelodySearch, Sung
from cyclechart.draft.rhythms import LONGEST_BREATH, Beat, Rhythms, phrases_of

LONGEST_HELD = 8
"""The beats for which a landing should be held where breath allows it."""


def head_lines(plan: LinePlan, chance: Random) -> list[DraftedLine]:
    """Return a few heads, the best first: each lands on Sa and holds it for a cycle.

    In a very long cycle it ends on Sa with the cycle, and goes round.
    """
    lowest, highest = plan.upper if plan.lives_high else plan.lower
    beats, end = _rhythm(plan, chance)
    search = MelodySearch(plan.mode, lowest, highest)
    last = [pitch for pitch in search.range if pitch % 12 == 0]
    home = min(last, key=lambda pitch: abs(pitch - plan.home), default=plan.home)
    contour = Contour(home + 2, min(highest, lowest + 17) - 1, home)
    if home - lowest > highest - home:
        contour = Contour((lowest + home) // 2, home, home)
    near = range(max(lowest, contour.start - 7), contour.start + 6)
    first = [p for p in search.range if p in near and p % 12 in search.resting]
    return drafted(beats, search.lines(beats, contour, chance, last=last, first=first), end)


def _rhythm(plan: LinePlan, chance: Random) -> tuple[list[Beat], Fraction]:
    """Return the notes of the head with pickup and landing, and where it ends."""
    rhythms = Rhythms(plan.cycle, plan.tempo, chance)
    pickup = _pickup(plan, rhythms)
    beats = rhythms.line(
        phrases_of(plan.cycle, plan.cycles, plan.tempo),
        open_end=plan.lands,
        since=pickup[0].start if pickup else Fraction(0),
        held=min(plan.cycle.beats / 2, Fraction(LONGEST_HELD)),
    )
    end = plan.cycles * plan.cycle.beats
    beats = [*pickup, *(_after(beat, len(pickup)) for beat in beats)]
    if not plan.lands:
        return beats, end
    breaths = [after.start for beat, after in pairwise(beats) if beat.breath]
    held = _held(plan, end - (breaths[-1] if breaths else beats[0].start))
    landing = Beat(end, held, accent=2, closes=True, breath=True)
    return [*beats, landing], end + plan.cycle.beats


def drafted(beats: Sequence[Beat], found: Sequence[Sung], end: Fraction) -> list[DraftedLine]:
    """Return lines with the lengths of a rhythm and the pitches that were found for it."""
    return [
        DraftedLine(
            tuple(
                DraftNote(beat.start, beat.length, pitch)
                for beat, pitch in zip(beats, one.pitches, strict=True)
            ),
            end,
            one.score,
        )
        for one in found
    ]


def _held(plan: LinePlan, before: Fraction) -> Fraction:
    """Return how long the landing is held: most of its cycle, but no longer than what is left of a
    breath that began so many beats before."""
    beats = plan.cycle.beats
    left = max(Fraction(1), int(LONGEST_BREATH * plan.tempo / 60) - before)
    return min(Fraction(-(-beats // 1)) - 1 if beats > 2 else beats / 2, left)


def _pickup(plan: LinePlan, rhythms: Rhythms) -> list[Beat]:
    """Return the notes of the pickup, if the plan has one: the cycle's last section."""
    if not plan.pickup:
        return []
    (*_, last_phrase) = phrases_of(plan.cycle, 1, plan.tempo)
    start = plan.cycle.starts[-1]
    groups = tuple(group for group in last_phrase if group.start >= start)
    beats = rhythms.line([groups], open_end=True)
    return [beat._replace(start=beat.start - plan.cycle.beats) for beat in beats]


def _after(beat: Beat, count: int) -> Beat:
    """Return a note that so many others come to stand before."""
    return beat if beat.like is None else beat._replace(like=beat.like + count)
