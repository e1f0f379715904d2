"""The instruments of the catalogue: notation, range and MIDI sound of each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import yaml

from cyclechart.catalog.library import LONGEST, fold
from cyclechart.catalog.roles import LineKind, Role, role_named

Clef = Literal["treble", "treble-8vb", "alto", "tenor", "bass", "percussion"]
MIDDLE_KEYS: dict[Clef, int] = {
    "treble": 71, "treble-8vb": 59, "alto": 60, "tenor": 57, "bass": 50, "percussion": 71,
}  # fmt: skip
"""The MIDI key of the middle line of each clef."""
Staff = Literal["pitched", "strokes", "kit"]
"""Five lines and a clef; one line for hand drums; five lines for a drum kit."""

_ENTRY = re.compile(r"^([a-z][a-z-]*): (\{.*\})$", re.MULTILINE)
_NOTE = re.compile(r"([A-G])([#b]?)(-?[0-9])")
_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """Keys are MIDI keys as they sound. ``transposes``: semitones from written to sounding."""

    name: str
    title: str
    short: str
    """The abbreviated name for the systems of a score."""
    family: str
    roles: tuple[Role, ...]
    """The roles it may play, the usual first."""
    clef: Clef
    transposes: int
    lowest: int
    highest: int
    """The possible range."""
    low: int
    high: int
    """The comfortable range."""
    breath: bool
    """True if it is blown or sung: a line needs rests."""
    bends: bool
    """True if it can play in just tuning; keys and frets cannot."""
    program: int | None
    """General MIDI program from 0; None for drums."""
    voice: str
    """The voice of the synthesiser; a drum's is its own name."""
    aka: tuple[str, ...] = ()
    staves: int = 1
    """2 if its player reads chords on a treble and a bass staff."""
    recites: bool = False
    """True if it says the syllables of a cycle rather than strikes them."""
    vibrato: bool = False
    """True if its long notes have a late vibrato (a jazz voice)."""

    @property
    def is_kit(self) -> bool:
        """True if it is played with sticks and feet: its part is derived from the hand drums'."""
        return self.family == "kit"

    def can_play(self, kind: LineKind) -> bool:
        """Return whether lines of a kind can be played on it at all."""
        if kind == "kit":
            return self.is_kit
        if kind == "chords":
            return any(role.plays_chords for role in self.roles)
        if kind == "strokes":
            return any(role.lines == kind for role in self.roles)
        return any(role.reads_pitches for role in self.roles)

    @property
    def sings(self) -> bool:
        """True for a voice, which has the words of a line."""
        return self.family == "voice"


def instrument(name: str) -> Instrument | None:
    """An instrument by its name or another of its names, in any spelling; None where there is
    none."""
    wanted = fold(name[:LONGEST])
    known = _named().get(wanted)
    if known is None and wanted:
        known = next((key for key in instrument_names() if wanted in _other_names(key)), None)
    return _made(known) if known is not None else None


@lru_cache(maxsize=1)
def instrument_names() -> tuple[str, ...]:
    """Every instrument by name, as the catalogue has them."""
    return tuple(_lines())


def instrument_spellings() -> dict[str, str]:
    """Return every spelling that finds an instrument, and the name that it finds."""
    names = {name: name for name in instrument_names()}
    return names | {other: name for name in names for other in _made(name).aka}


@lru_cache(maxsize=1)
def _lines() -> dict[str, str]:
    """The definition of each instrument as it is written: read whole only when asked for."""
    text = Path(__file__).with_name("instruments.yaml").read_text("utf-8")
    return {match[1]: match[2] for match in _ENTRY.finditer(text)}


@lru_cache(maxsize=1)
def _named() -> dict[str, str]:
    return {fold(name): name for name in _lines()}


def _other_names(name: str) -> set[str]:
    line = _lines()[name]
    listed = line.partition("aka: [")[2].partition("]")[0]
    return {fold(one) for one in listed.split(",")} - {""}


@lru_cache(maxsize=64)
def _made(name: str) -> Instrument:
    said: dict[str, Any] = yaml.load(_lines()[name], Loader=yaml.CSafeLoader)
    lowest, highest = _range(said.get("reach", "C-1-G9"))
    low, high = _range(said.get("ease", "C-1-G9"))
    program = said.get("program")
    return Instrument(
        name=name,
        title=said["title"],
        short=said.get("short", said["title"]),
        family=said["family"],
        roles=tuple(map(role_named, said["roles"])),
        clef=said["clef"],
        transposes=said.get("transposes", 0),
        lowest=lowest,
        highest=highest,
        low=low,
        high=high,
        breath=bool(said.get("breath", False)),
        bends=bool(said.get("bends", True)),
        program=None if program is None else program - 1,
        voice=said.get("voice", name),
        aka=tuple(said.get("aka", ())),
        staves=int(said.get("staves", 1)),
        recites=bool(said.get("recites", False)),
        vibrato=bool(said.get("vibrato", False)),
    )


def key_of(note: str) -> int:
    """The MIDI key of a note name with its octave: C4 is 60.

    Raises ValueError where it is none.
    """
    match = _NOTE.fullmatch(note)
    if match is None:
        raise ValueError(f"'{note}' is not a note name with an octave")
    sign = {"#": 1, "b": -1, "": 0}[match[2]]
    return 12 * (int(match[3]) + 1) + _LETTERS[match[1]] + sign


def _range(text: str) -> tuple[int, int]:
    low, high = _ends(text)
    return key_of(low), key_of(high)


def _ends(text: str) -> Iterator[str]:
    for match in _NOTE.finditer(text):
        yield match[0]
