"""The cheapest breath of some candidates without a fault, by dynamic programming.

A cost is one number whose digits, to a base that no sum reaches, are in order of weight: changed
notes, those changed to another svara, skipped turns, semitones; skipped turns before all where they
go first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from cyclechart.theory.moves import Moves
from cyclechart.theory.tones import SARGAM

DOUBLED = 2
"""Semitones that a note counts more which comes to double its neighbour."""


class Weights(NamedTuple):
    """The values of the digits of a cost. A semitone costs 1."""

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


_State = tuple[int | None, int | None, int, frozenset[int] | None]
"""The choices for the notes so far, as far as later notes have to know them.

The semitones by which the note before was reached, where a way of the mode asks for them; the last
note that differs from the present one (None at the start); the present one; the semitones by which
it must be left, where a way of the mode goes on.
"""
_Trail = tuple[int, "_Trail | None"]
_Layer = dict[_State, tuple[int, _Trail]]
"""By state the least cost so far and the choices that led to it."""
_Priced = Sequence[tuple[int, int]]
"""Pitches that may be chosen for a note, each with its price."""
_Step = tuple[int, int, _State | None]
"""A choice, what it costs, and the state after it; None where that depends on how the present note
is reached."""


class _Move(NamedTuple):
    """The facts of a move from a tone that hold whatever stands around it."""

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


@dataclass(frozen=True, slots=True)
class Search:
    """The search for breaths in a mode's movement."""

    moves: Moves
    weights: Weights

    def cheapest(self, candidates: Sequence[_Priced], meant: Sequence[bool]) -> list[int] | None:
        """Return the choices of least cost, one for each note; None where each has a fault.

        A note is judged when the next different one is known, so that runs of equal choices are one
        note, exactly as ``judge_breath`` sees them. Of equal costs the first found is taken.
        """
        layer: _Layer = {
            (None, None, choice, None): (price, (choice, None)) for choice, price in candidates[0]
        }
        for number in range(1, len(candidates)):
            layer = self._following(layer, candidates[number], meant[number - 1])
        closing = [
            (cost, trail)
            for state, (cost, trail) in layer.items()
            if meant[-1] or self.moves.fault(state[1], state[2], None) is None
        ]
        if not closing:
            return None
        chosen: list[int] = []
        step: _Trail | None = min(closing, key=lambda item: item[0])[1]
        while step is not None:
            chosen.append(step[0])
            step = step[1]
        return chosen[::-1]

    def _following(self, layer: _Layer, candidates: _Priced, meant: bool) -> _Layer:
        """Return the layer after one more note."""
        following: _Layer = {}
        known_steps: dict[tuple[int, bool | None], list[_Step]] = {}
        for state, (cost, trail) in layer.items():
            before, this = state[1], state[2]
            rises = None if before is None else before < this
            steps = known_steps.get((this, rises))
            if steps is None:
                steps = list(self._steps(this, rises, candidates, meant))
                known_steps[this, rises] = steps
            owed = state[3]
            for choice, price, plain in steps:
                if owed is not None and choice != this and choice - this not in owed:
                    continue
                after = plain or self._after(state, choice, meant)
                if after is None:
                    continue
                total = cost + price
                known = following.get(after)
                if known is None or total < known[0]:
                    following[after] = total, (choice, trail)
        return following

    def _steps(
        self, this: int, rises: bool | None, candidates: _Priced, meant: bool
    ) -> Iterator[_Step]:
        """Yield the steps from a note that is reached from below (``rises``), from above or as the
        first (None), without those that are at fault wherever it is reached from."""
        for choice, price in candidates:
            if choice == this:
                yield choice, price + DOUBLED, None
                continue
            move = _move(self.moves, this % 12, choice - this)
            if move.foreign and not meant:
                continue
            fault = not meant and (move.fault_up if rises else move.fault_down)
            depends = rises is not None and (fault or move.asks)
            cost = price + (self.weights.skipped if move.skips else 0)
            yield choice, cost, None if depends else (None, this, choice, None)

    def _after(self, state: _State, choice: int, meant: bool) -> _State | None:
        """Return the state after a further note, None where the present one is at fault before
        it."""
        reached, before, this, _ = state
        if choice == this:
            return state
        assert before is not None, "a first note is never passed"
        by, came_by = choice - this, this - before
        move = _move(self.moves, this % 12, by)
        owing: frozenset[int] | None = None
        if not meant and (move.fault_up if came_by > 0 else move.fault_down):
            afters = self.moves.ways.afters(reached, came_by, this % 12, by)
            if not afters:
                return None
            owing = None if None in afters else frozenset(by for by in afters if by is not None)
        return came_by if move.asks else None, this, choice, owing
