"""The cheapest breath of some candidates without a fault, by dynamic programming.

A cost is one number whose digits, to a base that no sum reaches, are in order of weight: changed
notes, those changed to another svara, skipped turns, semitones; skipped turns before all where they
go first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from cyclechart.theory.moves import Moves
from cyclechart.theory.tones import SARGAM

DOUBLED = 2
"""Semitones that a note counts more which comes to double its neighbour."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What each thing costs: the values of the digits of a cost. A semitone costs 1."""

    changed: int
    another_svara: int
    skipped: int

    @classmethod
    def of(cls, most: int, *, skips_first: bool) -> Weights:
        """Return the weights where no digit's sum is more than ``most``."""
        base = most + 1
        return cls(base**3, base**2, base**4 if skips_first else base)

    def price(self, pitch: int, choice: int, struck: int) -> int:
        """Return what it costs to choose a pitch for one that is struck so often."""
        if pitch == choice:
            return 0
        another = SARGAM[pitch % 12].upper() != SARGAM[choice % 12].upper()
        each = self.changed + another * self.another_svara + abs(choice - pitch)
        return struck * each


_Place = tuple[int | None, int | None, int, frozenset[int] | None]
"""The choices for the notes so far, as far as later notes have to know them.

The semitones by which the note before was reached, where a way of the mode asks for them; the last
note that differs from the present one (None at the start); the present one; the semitones by which
it must be left, where a way of the mode goes on.
"""


class _State:
    """A place with the steps that lead on from it, each worked out once.

    A step is by the next choice: the state after it, None where the present note is at fault before
    it, and what it costs.
    """

    __slots__ = ("place", "steps")

    def __init__(self, place: _Place) -> None:
        self.place = place
        self.steps: dict[int, _Step] = {}


class _Move(NamedTuple):
    """What there is to know of a move from a tone, whatever stands around it."""

    foreign: bool
    """The tone is foreign to the mode."""
    fault_up: bool
    """The tone is at fault where it is reached from below, but for the mode's own ways."""
    fault_down: bool
    """The same from above."""
    asks: bool
    """A way of the mode that makes the move asks how the tone is reached."""
    skips: bool


@lru_cache(maxsize=1 << 14)
def _move(moves: Moves, tone: int, by: int) -> _Move:
    after = tone + by
    return _Move(
        moves.fault(None, tone, after) is not None,
        moves.fault(tone - 1, tone, after) is not None,
        moves.fault(tone + 1, tone, after) is not None,
        moves.ways.asks_before(after % 12, by),
        moves.never_straight(tone, after),
    )


_Step = tuple[_State | None, int]
_NO_STEP: _Step = None, 0
_Trail = tuple[int, "_Trail | None"]
_Layer = dict[_State, tuple[int, _Trail]]
"""By state the least cost so far and the choices that led to it."""


class Search:
    """The search for breaths in a mode's movement; what one finds out serves the next."""

    def __init__(self, moves: Moves, weights: Weights) -> None:
        self.moves = moves
        self.weights = weights
        self._states: dict[_Place, _State] = {}

    def cheapest(
        self, candidates: Sequence[Sequence[tuple[int, int]]], meant: Sequence[bool]
    ) -> list[int] | None:
        """Return the choices of least cost, one for each note; None where each has a fault.

        ``candidates`` are pairs, a pitch and its price. A note is judged when the next different
        one is known, so that runs of equal choices are one note, exactly as ``judge_breath`` sees
        them. Of equal costs the first found is taken.
        """
        layer: _Layer = {
            self._state((None, None, choice, None)): (price, (choice, None))
            for choice, price in candidates[0]
        }
        for number in range(1, len(candidates)):
            layer = self._following(layer, candidates[number], meant[number - 1])
        closing = [
            (cost, trail)
            for state, (cost, trail) in layer.items()
            if meant[-1] or self.moves.fault(state.place[1], state.place[2], None) is None
        ]
        if not closing:
            return None
        chosen: list[int] = []
        step: _Trail | None = min(closing, key=lambda item: item[0])[1]
        while step is not None:
            chosen.append(step[0])
            step = step[1]
        return chosen[::-1]

    def _following(
        self, layer: _Layer, candidates: Sequence[tuple[int, int]], meant: bool
    ) -> _Layer:
        """Return the layer after one more note."""
        following: _Layer = {}
        for state, (cost, trail) in layer.items():
            steps = state.steps if not meant else {}
            for choice, price in candidates:
                step = steps.get(choice)
                if step is None:
                    step = steps[choice] = self._step(state, choice, meant)
                after, more = step
                if after is None:
                    continue
                total = cost + price + more
                known = following.get(after)
                if known is None or total < known[0]:
                    following[after] = total, (choice, trail)
        return following

    def _step(self, state: _State, choice: int, meant: bool) -> _Step:
        """Return the step from a state to a choice."""
        reached, before, this, owed = state.place
        by = choice - this
        if not by:
            return state, DOUBLED
        if owed is not None and by not in owed:
            return _NO_STEP
        moves = self.moves
        move = _move(moves, this % 12, by)
        owing: frozenset[int] | None = None
        if not meant:
            if move.foreign:
                return _NO_STEP
            if before is not None and (move.fault_up if before < this else move.fault_down):
                afters = moves.ways.afters(reached, this - before, this % 12, by)
                if not afters:
                    return _NO_STEP
                owing = None if None in afters else frozenset(by for by in afters if by is not None)
        asked = this - before if move.asks and before is not None else None
        cost = self.weights.skipped if move.skips else 0
        return self._state((asked, this, choice, owing)), cost

    def _state(self, place: _Place) -> _State:
        """Return the one state of a place."""
        found = self._states.get(place)
        if found is None:
            found = self._states[place] = _State(place)
        return found
