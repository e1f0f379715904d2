"""A text in another spelling, in parts: its tones with all their readings, and the sargam of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

Form = Literal["lower", "natural", "raised"]


class SpelledTone(NamedTuple):
    """A tone as it is written: the degree, or the pitch of a spelling that leaves nothing open.

    ``form`` is what a sign beside it says. ``small`` is True for a small initial, None where the
    spelling has no capitals.
    """

    degree: str
    form: Form | None = None
    octave: int = 0
    small: bool | None = None
    pitch: int | None = None
    tick: bool = False
    """True where a ' after it may be the sign of the raised fourth or of the octave above."""
    comma: bool = False
    """True where just one comma follows, which may only part it from the next."""
    placed: bool = False
    """True where ``pitch`` has its octave already (C4)."""


class Piece(NamedTuple):
    """Characters of a text, from ``start`` to ``end``: a tone, or what stands in their place."""

    start: int
    end: int
    text: str = ""
    tone: SpelledTone | None = None


class Reading(NamedTuple):
    """The pitches of a text's tones, in semitones above the middle Sa, and why they are these."""

    pitches: tuple[int, ...]
    reasons: tuple[str, ...] = ()


class Known(NamedTuple):
    """The mode that a text is read against and the letter of Sa, where they are known."""

    mode: Mode | None = None
    tonic: Tonic | None = None


NOTHING = Known()

Match = Callable[[str, int], tuple[int, SpelledTone] | None]
"""Returns the tone at an index of a text and where it ends."""


@dataclass(frozen=True, kw_only=True)
class Spelling:
    """A spelling of the tones.

    ``title`` names it in a sentence. ``match`` finds a tone. ``proves``: whether the tones of a
    text are surely of this spelling. ``resolve`` gives the readings of the tones, the likeliest
    first; none where they make no sense. ``signs``: holds, rests and bars of its own, what is
    written to what we write.
    """

    name: str
    title: str
    match: Match
    proves: Callable[[Sequence[SpelledTone]], bool]
    resolve: Callable[[Sequence[SpelledTone], Known], list[Reading]]
    signs: tuple[tuple[str, str], ...] = ()
    distinct: bool = False
    """True where its names cannot be those of another: then a few cells may stay unread."""


class Respelled(NamedTuple):
    """A text as our sargam: what is written in place of which characters, and why.

    ``unread``: what could not be read, which stays as it is. ``others``: further readings.
    """

    spelling: Spelling
    pieces: tuple[Piece, ...]
    text: str
    reasons: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    others: tuple[Respelled, ...] = ()
