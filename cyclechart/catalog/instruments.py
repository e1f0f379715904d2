"""The instruments of the catalogue: how each is written, what it reaches, how it sounds in MIDI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Clef = Literal["treble", "treble-8vb", "alto", "tenor", "bass", "percussion"]
Role = Literal["melody", "voicings", "pedal", "theka", "drone"]


@dataclass(frozen=True)
class Instrument:
    """Keys are MIDI keys as they sound. ``transposes``: semitones from written to sounding."""

    name: str
    title: str
    family: str
    roles: tuple[Role, ...]
    """What it may play, the usual first."""
    clef: Clef
    transposes: int
    lowest: int
    highest: int
    """The possible range."""
    low: int
    high: int
    """The comfortable range."""
    breath: bool
    """Whether it is blown or sung: a line needs rests."""
    bends: bool
    """Whether it can play in just tuning; a keyboard cannot."""
    program: int | None
    """General MIDI program from 0; None for drums."""
    aka: tuple[str, ...] = ()
    source: str = ""
