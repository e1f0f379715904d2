"""Dal segno: where what comes last was played before, and is not written again.

A jump leads back to the sign, from there without repeats to the coda sign, and on to the coda. It
is the same for all who play melodies; drums, bass and voicings, which go on, are written out.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.repeats import WrittenBar
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
    def leave_text(self) -> str:
        """What stands where the bars played again are left."""
        return "Fine" if self.fine else "To Coda"

    @property
    def back_text(self) -> str:
        """What sends back to the sign."""
        return "D.S. al Fine" if self.fine else "D.S. al Coda"


@lru_cache(maxsize=4)
def jump_of(band: Band) -> Jump | None:
    """The jump that saves most, None where none saves enough."""
    return _JumpSearch(band).best()


class _JumpSearch:
    def __init__(self, band: Band) -> None:
        self.band = band
        self.readers = [player for player in band.piece.players if player.role.plays_melody]
        """Those whose lines decide."""
        known: dict[Hashable, int] = {}
        self.content_keys = [
            known.setdefault(self.content_key(at), len(known)) for at in range(len(band.bars))
        ]
        """For each bar a number, the same for bars that are alike for all readers."""
        self.steps = [self.bars_of(number) for number in range(len(band.piece.steps))]
        self.single_passes = [self.single_pass(number) for number in range(len(self.steps))]

    def best(self) -> Jump | None:
        """Every step held against every later one."""
        best: Jump | None = None
        for back in range(1, len(self.steps)):
            later = self.to_the_end(back)
            if len(later) < SHORTEST:
                continue
            for sign in range(back):
                replayed = self.bars_between(sign, back, len(later))
                saved = 0
                for one, two in zip(replayed, later, strict=False):
                    if self.content_keys[one] != self.content_keys[two]:
                        break
                    saved += 1
                if saved >= SHORTEST and (best is None or saved > best.coda - best.from_bar):
                    coda = later[0] + saved
                    fine = coda == len(self.content_keys)
                    best = Jump(self.steps[sign][0], replayed[saved - 1], later[0], coda, fine)
        return best

    def content_key(self, index: int) -> Hashable:
        """What all readers have in a bar."""
        return tuple(self.band.content_key(player.name, index) for player in self.readers)

    def bars_of(self, step: int) -> list[int]:
        """The metered bars of a step, by index; none where it has others but a count-in."""
        bars = self.band.bars_of_step.get(step, [])
        kinds = {self.band.bars[at].stretch.kind for at in bars}
        if kinds - {"count-in", "metered"}:
            return []
        return [at for at in bars if self.band.bars[at].stretch.kind == "metered"]

    def to_the_end(self, first: int) -> list[int]:
        """The bars from a step to the end; none where not all are metered."""
        if not all(self.steps[first:]):
            return []
        return [at for bars in self.steps[first:] for at in bars]

    def bars_between(self, first: int, end: int, most: int) -> list[int]:
        """The bars played from a step on without repeats, as far as they can be."""
        found: list[int] = []
        for bars in self.single_passes[first:end]:
            if not bars or len(found) >= most:
                break
            found += bars
        return found

    def single_pass(self, number: int) -> list[int]:
        """The bars of a step's last time, where all who read it without repeats play them."""
        step, bars = self.band.piece.steps[number], self.steps[number]
        if not bars or len(bars) % step.times or not isinstance(step, Play):
            return []
        last = bars[-(len(bars) // step.times) :]
        return (
            last if all(self.reads_last_time(player, bars, last) for player in self.readers) else []
        )

    def reads_last_time(self, player: Player, bars: list[int], last: list[int]) -> bool:
        """Whether a part read without repeats plays the last time of a step."""
        written = without_repeats(self.band.part_bars(player.name, bars[0], len(bars)))
        if len(written) != len(last) or any(bar.rests > 1 for bar in written):
            return False
        read = [bars[0] + bar.at for bar in written]
        content_key = self.band.content_key
        pairs = zip(read, last, strict=True)
        return all(content_key(player.name, a) == content_key(player.name, b) for a, b in pairs)


def without_repeats(bars: Sequence[WrittenBar]) -> list[WrittenBar]:
    """The folds that are played when no repeat is taken: of endings the last."""
    last = max((bar.ending[-1] for bar in bars if bar.ending), default=0)
    return [bar for bar in bars if not bar.ending or last in bar.ending]
