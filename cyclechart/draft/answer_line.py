"""The answer of a drafted piece: the other half of the register, round and round."""

from __future__ import annotations

from random import Random

from cyclechart.draft.head_line import drafted
from cyclechart.draft.line_plan import DraftedLine, LinePlan
from cyclechart.draft.melody_search import Contour, MelodySearch
from cyclechart.draft.rhythms import Rhythms, phrases_of


def answer_lines(plan: LinePlan, chance: Random) -> list[DraftedLine]:
    """Return a few answers, the best first: each fills whole cycles and ends at rest."""
    lowest, highest = plan.lower if plan.lives_high else plan.upper
    end = plan.cycles * plan.cycle.beats
    # Where the head begins with a pickup, the answer makes way for it.
    until = end - plan.pickup
    phrases = [
        tuple(group for group in phrase if group.start < until)
        for phrase in phrases_of(plan.cycle, plan.cycles, plan.tempo)
    ]
    rhythms = Rhythms(plan.cycle, plan.tempo, chance)
    beats = rhythms.line([phrase for phrase in phrases if phrase], open_end=False)
    search = MelodySearch(plan.mode, lowest, highest)
    middle = (lowest + highest) // 2
    contour = Contour(middle - 2, highest - 1, middle - 3, 0.5)
    last = [p for p in plan.chief_in(lowest, highest) if p in search.range]
    first = [p for p in search.range if p <= middle + 4 and p % 12 in search.resting]
    found = search.lines(beats, contour, chance, last=last or search.range, first=first)
    return drafted(beats, found, end)
