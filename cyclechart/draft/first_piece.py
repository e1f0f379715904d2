"""A first piece in any mode and cycle: a head, an answer, a tihai and a form with a solo.

Lines are searched (``head_line``, ``answer_line``, ``tihai_line``) and put together until the judge
has nothing against the piece. The same wish gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import NamedTuple

from cyclechart.draft.answer_line import answer_lines
from cyclechart.draft.first_band import Placed
from cyclechart.draft.head_line import head_lines
from cyclechart.draft.line_plan import DraftedLine, LinePlan
from cyclechart.draft.piece_text import DraftPiece, piece_text
from cyclechart.draft.tihai_line import tihai_lines
from cyclechart.draft.tour import draft_of
from cyclechart.finding import Finding
from cyclechart.piece.load import read_piece
from cyclechart.rules.judge import RULE_NAMES, findings_on
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

MOST_DRAFTS = 12
"""The most drafts that are judged; the one with the fewest findings is taken."""
MOST_TRIES = 5
"""The most rhythms that are tried for a line before there is said to be none."""

ADVISED = 8
"""The drafts after which one that is only advised on is good enough."""
PICKUPS = 0.4
"""The part of the heads that begin with a pickup, where the cycle has room."""

_WEIGHT = {"error": 100, "warning": 10, "advice": 1}


class Wish(NamedTuple):
    """The answers about a piece to be drafted; names as the file is to have them."""

    title: str
    mode_name: str
    mode: Mode
    cycle_name: str
    cycle: Cycle
    tonic: Tonic
    tempo: Fraction
    placed: Placed
    seed: int = 0


class FirstPiece(NamedTuple):
    """The text of a piece and what the judge still says of it."""

    text: str
    findings: tuple[Finding, ...]


Finder = Callable[[LinePlan, Random], list[DraftedLine]]
_FINDERS: dict[str, Finder] = {"head": head_lines, "answer": answer_lines, "tihai": tihai_lines}


class _Candidates:
    """The lines of one kind in turn, from one rhythm after the other."""

    def __init__(self, name: str, plan: LinePlan, seed: str) -> None:
        self._lines = self._found(name, plan, seed)
        self.current: DraftedLine | None = next(self._lines, None)

    def go_on(self) -> None:
        """Take the next line; where there is no other the last one stays."""
        self.current = next(self._lines, self.current)

    @staticmethod
    def _found(name: str, plan: LinePlan, seed: str) -> Iterator[DraftedLine]:
        empty = 0
        seen: set[tuple[int, ...]] = set()
        for attempt in range(MOST_DRAFTS):
            lines = _FINDERS[name](plan, Random(f"{seed} {name} {attempt}"))
            for line in lines:
                tune = tuple(note.pitch for note in line.notes)
                if tune not in seen:
                    seen.add(tune)
                    yield line
            empty = 0 if lines else empty + 1
            if empty == MOST_TRIES:
                return


def first_piece(wish: Wish, file: Path) -> FirstPiece | None:
    """Return a piece for a file; None where no line of the mode fits the cycle and the players."""
    seed = f"{wish.mode.name} {wish.cycle.name} {wish.seed}"
    early = Random(seed).random() < PICKUPS
    low, high = wish.placed.lowest, wish.placed.highest
    plan = LinePlan(wish.mode, wish.cycle, wish.tempo, low, high, begins_early=early)
    candidates = {name: _Candidates(name, plan, seed) for name in _FINDERS}
    best: FirstPiece | None = None
    for number in range(MOST_DRAFTS):
        lines = {name: one.current for name, one in candidates.items() if one.current is not None}
        if "head" not in lines:
            return None
        drafted = _judged(wish, draft_of(wish, lines, plan, file.name), file)
        if best is None or _cost(drafted) < _cost(best):
            best = drafted
        if _cost(best) < (_WEIGHT["warning"] if number >= ADVISED else 1):
            break
        blamed = {one.place.within for one in drafted.findings if one.place is not None}
        blamed &= set(candidates)
        for name in blamed or candidates:
            candidates[name].go_on()
    return best


def _judged(wish: Wish, draft: DraftPiece, file: Path) -> FirstPiece:
    text = piece_text(draft)
    loaded = read_piece(str(file), text.encode(), RULE_NAMES, file.parent)
    # The band's own files are not ours to mend.
    return FirstPiece(text, tuple(one for one in findings_on(loaded) if one.spot.file == str(file)))


def _cost(piece: FirstPiece) -> int:
    return sum(_WEIGHT[finding.severity] for finding in piece.findings)
