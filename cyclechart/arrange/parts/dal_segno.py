"""Dal segno: bars near the end that were played before are replaced by a jump.

A jump leads back to the sign, from there without repeats to the coda sign, and on to the coda. It
is the same for all melody players; the parts of drums, bass and voicings are written out.
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
"""The fewest bars that a jump must save: finding the sign costs a reader something too."""


@dataclass(frozen=True)
class Jump:
    """A jump, as indices of bars of the timeline.

    ``sign``: the first bar of the step that is played again; ``leaves``: the last bar played again,
    at its last time; ``from_bar``: the first bar that is not written; ``coda``: the next bar that
    is written, or the number of bars where the piece ends (``fine``).
    """

    sign: int
    leaves: int
    from_bar: int
    coda: int
    fine: bool

    @property
    def leave_text(self) -> str:
        """The text at the end of the bars played again."""
        return "Fine" if self.fine else "To Coda"

    @property
    def back_text(self) -> str:
        """The text that sends the reader back to the sign."""
        return "D.S. al Fine" if self.fine else "D.S. al Coda"


@lru_cache(maxsize=4)
def jump_of(band: Band) -> Jump | None:
    """Return the jump that saves most bars, or None where none saves enough."""
    return _JumpSearch(band).best()


class _JumpSearch:
    def __init__(self, band: Band) -> None:
        self.band = band
        self.readers = [player for player in band.piece.players if player.role.plays_melody]
        """The melody players, whose lines decide."""
        known: dict[Hashable, int] = {}
        self.content_keys = [
            known.setdefault(self.content_key(at), len(known)) for at in range(len(band.bars))
        ]
        """A number for each bar, the same for bars that are equal for all readers."""
        self.steps = [self.bars_of(number) for number in range(len(band.piece.steps))]
        self.single_passes = [self.single_pass(number) for number in range(len(self.steps))]

    def best(self) -> Jump | None:
        """Return the best jump of every step to every earlier one."""
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
        """Return a key that is equal for bars in which all readers play the same."""
        return tuple(self.band.content_key(player.name, index) for player in self.readers)

    def bars_of(self, step: int) -> list[int]:
        """Return the indices of a step's metered bars, without a count-in; [] for a step with a
        lead-in or free bars."""
        bars = self.band.bars_of_step.get(step, [])
        kinds = {self.band.bars[at].stretch.kind for at in bars}
        if kinds - {"count-in", "metered"}:
            return []
        return [at for at in bars if self.band.bars[at].stretch.kind == "metered"]

    def to_the_end(self, first: int) -> list[int]:
        """Return the bars from a step to the end, or [] where not all are metered."""
        if not all(self.steps[first:]):
            return []
        return [at for bars in self.steps[first:] for at in bars]

    def bars_between(self, first: int, end: int, most: int) -> list[int]:
        """Return the bars played without repeats from step ``first`` to ``end``, about ``most`` at
        most; they stop before a step that cannot be read so."""
        indices: list[int] = []
        for bars in self.single_passes[first:end]:
            if not bars or len(indices) >= most:
                break
            indices += bars
        return indices

    def single_pass(self, number: int) -> list[int]:
        """Return the bars of a step's last time, or [] unless every reader plays them when they
        take no repeats."""
        step, bars = self.band.piece.steps[number], self.steps[number]
        if not bars or len(bars) % step.times or not isinstance(step, Play):
            return []
        last = bars[-(len(bars) // step.times) :]
        return (
            last if all(self.reads_last_time(player, bars, last) for player in self.readers) else []
        )

    def reads_last_time(self, player: Player, bars: list[int], last: list[int]) -> bool:
        """Return True if a part read without repeats gives the last time of a step."""
        written = without_repeats(self.band.part_bars(player.name, bars[0], len(bars)))
        if len(written) != len(last) or any(bar.rests > 1 for bar in written):
            return False
        read = [bars[0] + bar.at for bar in written]
        content_key = self.band.content_key
        pairs = zip(read, last, strict=True)
        return all(content_key(player.name, a) == content_key(player.name, b) for a, b in pairs)


def without_repeats(bars: Sequence[WrittenBar]) -> list[WrittenBar]:
    """Return the bars that are played when no repeat is taken, with the last of the endings."""
    last = max((bar.ending[-1] for bar in bars if bar.ending), default=0)
    return [bar for bar in bars if not bar.ending or last in bar.ending]
