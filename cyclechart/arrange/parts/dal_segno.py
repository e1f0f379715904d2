"""Dal segno: where what comes last was played before, and is not written again.

A jump leads back to the sign, from there without repeats to the coda sign, and on to the coda. It
is the same for all who play melodies; drums, bass and voicings, which go on, are written out.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.repeats import Fold
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Play

SHORTEST = 4
"""Bars that must be saved: to look for the sign costs a reader something too."""


@dataclass(frozen=True)
class Jump:
    """All are indices of bars, counted from the first of the timeline. ``sign``: the first bar of
    the step that is played again; ``leaves``: the last bar played again, as it was played last;
    ``from_bar``: the first that is not written; ``coda``: the first that is written again, or the
    number of bars where the piece ends (``fine``)."""

    sign: int
    leaves: int
    from_bar: int
    coda: int
    fine: bool

    @property
    def leaving(self) -> str:
        """What stands where the bars played again are left."""
        return "Fine" if self.fine else "To Coda"

    @property
    def back(self) -> str:
        """What sends back to the sign."""
        return "D.S. al Fine" if self.fine else "D.S. al Coda"


@lru_cache(maxsize=4)
def jump_of(band: Band) -> Jump | None:
    """The jump that saves most, None where none saves enough."""
    return _Search(band).best()


class _Search:
    def __init__(self, band: Band) -> None:
        self.band = band
        self.readers = [player for player in band.piece.players if player.role.plays_melody]
        """Those whose lines decide."""
        known: dict[Hashable, int] = {}
        self.looks = [known.setdefault(self.look(at), len(known)) for at in range(len(band.bars))]
        """For each bar a number, the same for bars that are alike for all readers."""
        self.steps = [self.bars_of(number) for number in range(len(band.piece.steps))]
        self.once = [self.played_once(number) for number in range(len(self.steps))]

    def best(self) -> Jump | None:
        """Every step held against every later one."""
        best: Jump | None = None
        for back in range(1, len(self.steps)):
            later = self.to_the_end(back)
            if len(later) < SHORTEST:
                continue
            for sign in range(back):
                once = self.until(sign, back, len(later))
                alike = 0
                for one, two in zip(once, later, strict=False):
                    if self.looks[one] != self.looks[two]:
                        break
                    alike += 1
                if alike >= SHORTEST and (best is None or alike > best.coda - best.from_bar):
                    coda = later[0] + alike
                    fine = coda == len(self.looks)
                    best = Jump(self.steps[sign][0], once[alike - 1], later[0], coda, fine)
        return best

    def look(self, index: int) -> Hashable:
        """What all readers have in a bar."""
        return tuple(self.band.look(player.name, index) for player in self.readers)

    def bars_of(self, step: int) -> list[int]:
        """The metered bars of a step, by index; none where it has others but a count-in."""
        found = self.band.of_step.get(step, [])
        kinds = {self.band.bars[at].stretch.kind for at in found}
        if kinds - {"count-in", "metered"}:
            return []
        return [at for at in found if self.band.bars[at].stretch.kind == "metered"]

    def to_the_end(self, first: int) -> list[int]:
        """The bars from a step to the end; none where not all are metered."""
        if not all(self.steps[first:]):
            return []
        return [at for bars in self.steps[first:] for at in bars]

    def until(self, first: int, end: int, most: int) -> list[int]:
        """The bars played from a step on without repeats, as far as they can be."""
        found: list[int] = []
        for once in self.once[first:end]:
            if not once or len(found) >= most:
                break
            found += once
        return found

    def played_once(self, number: int) -> list[int]:
        """The bars of a step's last time, where all who read it without repeats play them."""
        step, bars = self.band.piece.steps[number], self.steps[number]
        if not bars or len(bars) % step.times or not isinstance(step, Play):
            return []
        last = bars[-(len(bars) // step.times) :]
        return last if all(self.reads(player, bars, last) for player in self.readers) else []

    def reads(self, player: Player, bars: list[int], last: list[int]) -> bool:
        """Whether a part read without repeats plays the last time of a step."""
        folds = single(self.band.folds_for(player.name, bars[0], len(bars)))
        if len(folds) != len(last) or any(fold.rests > 1 for fold in folds):
            return False
        read = [bars[0] + fold.at for fold in folds]
        look = self.band.look
        pairs = zip(read, last, strict=True)
        return all(look(player.name, a) == look(player.name, b) for a, b in pairs)


def single(folds: Sequence[Fold]) -> list[Fold]:
    """The folds that are played when no repeat is taken: of endings the last."""
    last = max((fold.ending[-1] for fold in folds if fold.ending), default=0)
    return [fold for fold in folds if not fold.ending or last in fold.ending]
