"""The movement grammar on one long breath, against a bare loop over its notes."""

from __future__ import annotations

import random
from itertools import pairwise

import tune
from table import Subject, Target, growth_of, ratio
from timing import Contender, medians

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.theory.grammar import judge_breath, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.turns import turns

JUDGE, TURNS, REPAIR, LOOP = "judge", "turns", "repair", "bare loop"
REPAIRED = 1_000
"""Notes that are mended at a time."""

ABOUT = f"""
Bhimpalasi; every note is drawn at random (seed 1) from its tones in two octaves.
{JUDGE}: tones foreign to the mode or left out on the way. {TURNS}: what is skipped or turned on.
{REPAIR}: the nearest legal breath of {REPAIRED:,} notes (or all, if fewer) of the twelve tones.
{LOOP}: for each note and the one after it, whether its tone is in the mode and where it leads.
"""


def mode() -> Mode:
    """The catalogue's Bhimpalasi."""
    found, _ = Library.beside(None).mode("bhimpalasi", Spot("bench", 1, 1, 1))
    assert found is not None
    return found


def bare_loop(judged: Mode, pitches: list[int]) -> int:
    """The least that judging needs: every note looked at once."""
    found = 0
    for this, after in pairwise(pitches):
        if this % 12 not in judged.up and after > this:
            found += 1
    return found


def contenders(judged: Mode, count: int) -> list[Contender]:
    """The grammar and the loop over ``count`` notes."""
    dice = random.Random(1)
    tones = sorted(judged.tones)
    pitches = [dice.choice(tones) + dice.choice((0, 12)) for _ in range(count)]
    faulty = [dice.randrange(24) for _ in range(min(count, REPAIRED))]
    return [
        Contender(JUDGE, lambda: list(judge_breath(judged, pitches))),
        Contender(TURNS, lambda: list(turns(judged, pitches))),
        Contender(REPAIR, lambda: repair_breath(judged, faulty)),
        Contender(LOOP, lambda: bare_loop(judged, pitches)),
    ]


def subject() -> Subject:
    """The whole table."""
    judged = mode()
    seconds = {count: medians(contenders(judged, count), count) for count in tune.SIZES}
    rows = []
    for count, times in seconds.items():
        for name, taken in times.items():
            notes = min(count, REPAIRED) if name == REPAIR else count
            last = count == tune.SIZES[-1] and name != REPAIR
            grown = growth_of(seconds, name) if last else None
            against = ratio(seconds, count, name, LOOP)
            cells = (f"{taken:.5f}", f"{notes / taken:,.0f}", f"{against:.1f}")
            rows.append((f"{count:>6,} {name}", *cells, "" if grown is None else f"{grown:.2f}"))
    longest = tune.SIZES[-1]
    targets = (
        Target(
            "notes judged a second", longest / seconds[longest][JUDGE], 3_000_000, at_least=True
        ),
        Target("growth of judging", growth_of(seconds, JUDGE), 1.1),
        Target(f"seconds for {REPAIRED:,} mended", seconds[longest][REPAIR], 0.2),
    )
    head = ("notes  work", "seconds", "notes/second", f"/ {LOOP}", "growth")
    return Subject("The mode's grammar", ABOUT, head, tuple(rows), targets)
