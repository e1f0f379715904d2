"""Finding cadences: the solver against the plainest enumeration of the landing equation."""

from __future__ import annotations

from fractions import Fraction

from table import Subject, Target
from timing import Contender, medians

from cyclechart.theory.cadence import Question, Statement, solve
from cyclechart.theory.cycle import Cycle

WINDOWS = (64, 256)
"""Cycles."""
SOLVER, PLAIN = "solver", "plain"
BEATS, PHRASE = 16, 5

ABOUT = f"""
All tihais of a phrase of {PHRASE} beats in {BEATS}, from any beat, gaps down to quarters.
{SOLVER}: solve, with kinds, ends and the order of plainness.
{PLAIN}: for each cycle and beginning beat the gap that the equation gives, if it can be counted.
"""

CYCLE = Cycle(
    name="tintal",
    beats=Fraction(BEATS),
    sections=(Fraction(4),) * 4,
    stressed=(Fraction(1), Fraction(5), Fraction(13)),
)


def plain(within: int) -> list[tuple[int, Fraction]]:
    """(begins, gap) of every answer."""
    found = []
    for landing in range(1, within + 1):
        for begins in range(1, BEATS + 1):
            gap = Fraction(BEATS * landing - (begins - 1) - (PHRASE - 1), 2) - PHRASE
            if gap >= 0 and gap.denominator in (1, 2, 4):
                found.append((begins, gap))
    return found


def subject() -> Subject:
    """The whole table."""
    statement = Statement.of_beats(Fraction(PHRASE))
    rows, ratios = [], []
    taken: dict[int, dict[str, float]] = {}
    for within in WINDOWS:
        question = Question(statement, within=within)
        answers = len(solve(question, CYCLE).found)
        assert answers == len(plain(within))
        taken[within] = medians(
            [
                Contender(SOLVER, lambda asked=question: solve(asked, CYCLE)),
                Contender(PLAIN, lambda cycles=within: plain(cycles)),
            ],
            300,
        )
        for name, seconds in taken[within].items():
            ratio = seconds / taken[within][PLAIN]
            rows.append((f"{within:>4} {name}", f"{answers:,}", f"{seconds:.5f}", f"{ratio:.2f}"))
        ratios.append(taken[within][SOLVER] / taken[within][PLAIN])
    head = ("cycles  work", "answers", "seconds", f"/ {PLAIN}")
    short, long = WINDOWS
    growth = taken[long][SOLVER] / taken[short][SOLVER] / (long / short)
    targets = (
        Target(f"{short} cycles, {SOLVER} / {PLAIN}", ratios[0], 10),
        Target(f"{SOLVER}, time a cycle, {long} cycles / {short}", growth, 1.5),
    )
    return Subject("Cadences", ABOUT, head, tuple(rows), targets)
