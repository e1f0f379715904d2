"""The tihai of a drafted piece: a phrase that lands on the first beat when said three times."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import NamedTuple

from cyclechart.draft.head_line import drafted
from cyclechart.draft.line_plan import DraftedLine, LinePlan
from cyclechart.draft.melody_search import Contour, MelodySearch
from cyclechart.draft.rhythms import LONGEST_BREATH, Beat, Rhythms
from cyclechart.theory.cadence import Answer, Question, Statement, plainest

_STATEMENTS = (
    "1 1 1 1", "1 1 1 2", "a b 1 1 2", "1 1 a b 2", "1 a b 1 2", "a b 1 a b 1 1", "1 1 a b 1 2",
    "1a b 1 1 2", "2 1 1 2", "a b 1 2", "1 1 2", "a b 1 1", "a b 2", "1 1 1", "2 a b 1 1 2",
    "1 1 1 1 1 2", "a b a b 1 2", "a b 1 a b 1 2",
)  # fmt: skip
"""Rhythms of a statement, as in ``rhythms``; the last note is its last stroke."""
LONGEST = 32
"""The beats of a tihai after which it is long-winded."""


class _Option(NamedTuple):
    cost: Fraction
    order: int
    beats: tuple[Beat, ...]
    length: Fraction
    answer: Answer


def tihai_lines(plan: LinePlan, chance: Random) -> list[DraftedLine]:
    """Return a few statements whose plainest tihai lands, the best first; none where none does."""
    lowest, highest = plan.lower
    search = MelodySearch(plan.mode, lowest, highest)
    last = [pitch for pitch in search.range if pitch % 12 == 0]
    home = min(last, key=lambda pitch: abs(pitch - plan.home), default=plan.home)
    contour = Contour(min(home + 5, highest), min(home + 9, highest), home, 0.4, pull=0.16)
    if plan.home_is_high:
        contour = Contour(home - 5, home - 4, home, 0.4, pull=0.16)
    found: list[DraftedLine] = []
    for option in sorted(_options(plan, chance))[:3]:
        sung = search.lines(
            option.beats,
            contour,
            chance,
            last=[home],
            said_again=not (option.answer.gap or option.beats[-1].breath),
        )
        found += drafted(option.beats, sung[:2], option.length)
    return found


def _options(plan: LinePlan, chance: Random) -> Iterator[_Option]:
    """Yield the rhythms whose plainest answer is plain enough, each with its cost."""
    rhythms = Rhythms(plan.cycle, plan.tempo, chance)
    for order, text in enumerate(_STATEMENTS):
        at = Fraction(0)
        beats = []
        for length in map(rhythms.length, text.split()):
            beats.append(Beat(at, length))
            at += length
        beats[-1] = _last(beats[-1], 3 * at * 60 / plan.tempo)
        onsets = tuple(beat.start for beat in beats)
        answers = plainest(Question(Statement(at, onsets)), plan.cycle, many=1).found
        if answers:
            yield _Option(
                _cost(plan, answers[0], chance, breathes=beats[-1].breath),
                order,
                tuple(beats),
                at,
                answers[0],
            )


def _last(beat: Beat, seconds: Fraction) -> Beat:
    """Return the last note of a statement; it makes room for a breath where three statements take
    longer than one breath lasts."""
    if seconds > LONGEST_BREATH and beat.length > 1:
        return beat._replace(length=beat.length - 1, closes=True, breath=True)
    return beat._replace(closes=True)


def _cost(plan: LinePlan, answer: Answer, chance: Random, *, breathes: bool) -> Fraction:
    """Return how far a tihai is from a plain one; a little chance is in it."""
    cycle = plan.cycle
    total = answer.ends[-1] - answer.begins
    cost = Fraction(len(answer.early_ends(cycle.beats)) * 9)
    cost += Fraction(3) * (answer.gap.denominator - 1) + max(Fraction(0), answer.gap - 2)
    cost += Fraction(0) if answer.begins - 1 in cycle.starts else Fraction(1)
    cost += Fraction(2) * (answer.begins.denominator - 1)
    if not (answer.gap or breathes) and total * 60 / plan.tempo > LONGEST_BREATH:
        cost += 8  # nobody has the breath for it
    cost += max(Fraction(0), total - LONGEST) / 2 + max(Fraction(0), 14 - total)
    return cost + Fraction(chance.randrange(16), 10)
