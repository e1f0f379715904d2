"""The data of the rehearsal page: the one agreement between Python and the page.

``static/schema.js`` holds the same types for the script.

Times are seconds at the written tempo from the beginning of the piece; the page divides them by the
tempo that its player chose. Pitches are cents above the middle Sa. Every text is plain text.
"""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict

from cyclechart.catalog.roles import PageRole

Curve = list[tuple[float, float]]
"""(seconds from the start, cents away from the tone's own pitch), joined by straight lines."""

ToneEvent = tuple[float, float, float, int, Curve]
"""Start, length, cents above the middle Sa of the piece's beginning, velocity 1 to 127, curve."""
StrokeEvent = tuple[float, int, int]
"""Start, which of the voice's ``sounds`` (an index), velocity."""


class Beat(TypedDict):
    """A beat of a cycle: where it begins and how long it is, in beats of the cycle."""

    at: float
    length: float
    name: str
    """As it is counted: 1, 2 … (a last half beat too)."""
    sign: str
    """X at sam, 0 at a wave, 2, 3 … at further claps; "" between."""
    open: bool
    """Whether it is in an open section (khali)."""
    opens_section: bool
    syllable: str
    """Of the theka, or ""."""


class CycleKind(TypedDict):
    """A cycle that the piece is in."""

    name: str
    beats: list[Beat]


class Turn(TypedDict):
    """One time round a cycle as played, or a free stretch: they fill the whole piece in order."""

    kind: Literal["count-in", "lead-in", "cycle", "free"]
    number: int
    """As the charts number cycles; 0 where it has none."""
    cycle: int
    """Which of ``cycles`` (an index)."""
    beats: list[float]
    """When each beat of the cycle begins, then when it ends; a free stretch has two times."""
    section: int
    """Which of ``sections`` (an index), -1 for none."""


class Section(TypedDict):
    """A step of the form, as the charts letter it."""

    letter: str
    name: str
    start: float
    end: float
    sa: str
    """The letter of Sa in it, as it sounds."""
    mode: str
    key: int
    """Which of the page's ``names`` that Sa is, unmoved."""
    turns: tuple[int, int]
    """The first of ``turns`` in it, and the one after its last."""
    loop: tuple[int, int]
    """The same with the turns that its pickup begins in: what is said over and over to learn it."""


class VoiceData(TypedDict):
    """A player as he sounds. ``level`` in dB, ``pan`` -1 to 1, ``room`` in dB sent to the room."""

    name: str
    title: str
    """The instrument as it is called."""
    role: PageRole
    wave: str
    """Of ``waves``; "" for what is played from ``sounds``."""
    tones: list[ToneEvent]
    strokes: list[StrokeEvent]
    sounds: list[str]
    """Names in ``sounds`` of the page, by index of a stroke."""
    level: float
    pan: float
    room: float


class SoundData(TypedDict):
    """A rendered stroke or pluck: FLAC, mono, base64. ``cents``: what it sounds above the middle
    Sa of the piece's beginning (a drone's string), None for a drum, which does not move with Sa.
    ``velocity``: as it was struck; others are a gain away."""

    flac: str
    cents: float | None
    velocity: int


class PartData(TypedDict):
    """A player's part on some Sa, engraved: systems one under the other, each an SVG; ``notes`` are
    (start, end, id of the element), in order of time, the same element as often as it is played;
    ``heads``: what stands before a system: (index of the system, letter, name, remark)."""

    player: str
    systems: list[str]
    notes: list[tuple[float, float, str]]
    heads: list[tuple[int, str, str, str]]
    sa: str
    """The letter that the player reads Sa on."""
    measures: NotRequired[list[tuple[float, float, str]]]
    """As ``notes``, for the measures: where the reader is in rests, too."""


class PageData(TypedDict):
    """All of a page."""

    title: str
    composer: str
    mode: str
    sa: str
    """The letter of Sa at the beginning, as it sounds."""
    hertz: float
    """The middle Sa of the beginning."""
    names: list[str]
    """How Sa on each of the twelve keys from C up is called."""
    key: int
    """Which of those Sa is."""
    tempo: float
    """Beats a minute, as the piece says at its top."""
    length: float
    cycles: list[CycleKind]
    turns: list[Turn]
    sections: list[Section]
    voices: list[VoiceData]
    waves: dict[str, object]
    """``sound.voice_tables.Voice`` of each wave in use, as ``dataclasses.asdict`` gives it."""
    sounds: dict[str, SoundData]
    room: str
    """The answer of the room to a click: FLAC, stereo, base64."""
    parts: dict[str, dict[str, str]]
    """By semitones that Sa is moved ("-5" to "6", at least "0"), by player: a ``PartData`` as JSON,
    deflated (raw), base64."""
    drone: list[tuple[float, str]]
    """The drone's strings in the order they are plucked: cents above the middle Sa, its sound."""
    caution: str
    live: NotRequired[bool]
    """Whether the page is served while its piece is written."""


class WholePageData(PageData):
    """The data of a page with what is the same on every page."""

    hearing: str
    """A caution about levels."""
