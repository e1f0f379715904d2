"""Chord symbols as data: a root and the tones over it, in semitones above Sa."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ChordSymbol:
    """A chord: ``root`` in semitones (0 to 11) above Sa, ``tones`` the semitones over the root from
    the lowest up, ``suffix`` what is written after the root (``m7``), ``bass`` in semitones (0 to
    11) above Sa where another tone than the root is the lowest."""

    root: int
    tones: tuple[int, ...]
    suffix: str = ""
    bass: int | None = None
