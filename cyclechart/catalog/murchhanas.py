"""What a mode's tones become from each of them: the catalogue's modes of just those tones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cyclechart.catalog.library import fold
from cyclechart.catalog.melas import NAMES, sounded
from cyclechart.catalog.same_or_near import mela_of
from cyclechart.catalog.search import ModeEntry, is_bare, tones_of
from cyclechart.theory.mode import Mode
from cyclechart.theory.murchhana import moves_apart, murchhanas
from cyclechart.theory.scales import scale_of


@dataclass(frozen=True, slots=True)
class Murchhana:
    """A tone of a mode taken as Sa, and what the mode's tones are from there."""

    tone: int
    modes: tuple[str, ...]
    """The names of modes with just those tones, those that move likest first; bare scales last."""
    scale: str
    """The name of the scale in jazz; "" where it has none."""

    @property
    def is_known(self) -> bool:
        """True if there is any name for it."""
        return bool(self.modes or self.scale)


def murchhanas_of(mode: Mode, known: Sequence[ModeEntry]) -> Iterator[Murchhana]:
    """Yield what the tones of a mode's paths are from each of them but Sa."""
    for tone, tones in murchhanas(tones_of(mode)):
        alike = [entry.mode for entry in known if tones_of(entry.mode) == tones]
        ranked = sorted(alike, key=lambda other: (is_bare(other), moves_apart(mode, tone, other)))
        number = mela_of(tones)
        names = [other.name for other in ranked]
        names += [NAMES[number - 1]] if number is not None else []
        yield Murchhana(tone, tuple(_each_once(names)), scale_of(tones))


def _each_once(names: Sequence[str]) -> Iterator[str]:
    """Yield names without those that are another spelling of one before."""
    taken = set()
    for name in names:
        heard = sounded(fold(name))
        if heard not in taken:
            taken.add(heard)
            yield name
