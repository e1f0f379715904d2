"""Advice on the form's changes of mode and of Sa; given only when it is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from cyclechart.finding import Finding
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import StepState
from cyclechart.rules.rule import Rule, rule
from cyclechart.theory.mode import Mode
from cyclechart.theory.pivots import ModePair, Pivot, shift_between
from cyclechart.theory.tones import show_path, tone

MOST = 2
"""The most phrases that are named for a change."""
ALL_TONES = 12


@rule("advice")
def change_of_mode(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The form changes its mode or its Sa, and these phrases are legal on both sides of the change.

    Given with `check --theory` only. A phrase that both modes allow, said before the change and
    again after it, takes the ear along. Each change is named where it first happens.

    wrong:  - play: head
            - {play: answer, mode: malkauns, tonic: E}      (after Bhupali on C)
    right:  the head ends with G R S D, S R G, and the answer begins with it: S n, d, m, d, n, S
    """
    told: set[tuple[Mode, Mode, int]] = set()
    for before, after in pairwise(piece.steps):
        old, new = before.state, after.state
        shift = shift_between(old.tonic.semitone, new.tonic.semitone)
        change = (old.mode, new.mode, shift)
        changes = shift or old.mode != new.mode
        if not changes or change in told or not (_is_read(old.mode) and _is_read(new.mode)):
            continue
        told.add(change)
        pair = ModePair(*change)
        pivots = pair.pivots()[:MOST]
        tries = [_said(pair, pivot) for pivot in pivots] or _without(pair)
        yield this.found(after.spot, _message(pair, old, new, pivots), *tries)


def _message(pair: ModePair, old: StepState, new: StepState, pivots: list[Pivot]) -> str:
    said = f"here {old.mode.name} on {old.tonic} becomes {new.mode.name} on {new.tonic}"
    count = len(pair.common)
    common = f"{count or 'no'} {'tones are' if count > 1 else 'tone is'} in both"
    none = "" if pivots else ", and no phrase is legal in both"
    return f"{said}; {common}{none}"


def _said(pair: ModePair, pivot: Pivot) -> str:
    there = f", which is {show_path(pivot.second)} on the new Sa" if pair.shift else ""
    return f"lead over with {show_path(pivot.first)}{there} ({pair.said_of(pivot)})"


def _without(pair: ModePair) -> list[str]:
    """Return what to do where no phrase is legal in both modes."""
    held = []
    for end in pair.ends[:MOST]:
        becomes = f": it becomes {tone(end - pair.shift)}" if pair.shift else ""
        held.append(f"hold {tone(end)} over the change{becomes}")
    return held or ["put a step of groove between them: - groove: 1"]


def _is_read(mode: Mode) -> bool:
    """Return whether a mode could be read: all twelve tones stand for one that could not."""
    return not (mode.name == "unknown" and len(mode.up) == ALL_TONES)
