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

ToneEvent = tuple[float, float, float, int, Curve, int]
"""Start, length, cents above the middle Sa of the beginning, velocity 1 to 127, curve, joins.

``joins``: 1 if it goes on from the tone before without an attack, 2 if the next one goes on from
it, 3 for both, 0 for neither.
"""
StrokeEvent = tuple[float, int, int]
"""Start, index in the voice's ``sounds``, velocity."""


class Beat(TypedDict):
    """A beat of a cycle: its beginning and its length, in beats of the cycle."""

    at: float
    length: float
    name: str
    """Its number as players count: 1, 2 … (a last half beat has one too)."""
    sign: str
    """X at sam, 0 at a wave, 2, 3 … at the other claps; "" elsewhere."""
    open: bool
    """True in an open section (khali)."""
    opens_section: bool
    syllable: str
    """The syllables to be said: those of the theka, in the South of the spoken count."""


class CycleKind(TypedDict):
    """A cycle that the piece is in."""

    name: str
    beats: list[Beat]


class Turn(TypedDict):
    """One time round a cycle as played, or a free stretch. The turns fill the piece in order."""

    kind: Literal["count-in", "lead-in", "cycle", "free"]
    number: int
    """The number of the cycle on the charts; 0 for none."""
    cycle: int
    """Index in ``cycles``."""
    beats: list[float]
    """The beginning of each beat, then the end of the turn; a free stretch has two times."""
    section: int
    """Index in ``sections``, -1 for none."""


class Section(TypedDict):
    """A step of the form, with its letter on the charts."""

    letter: str
    name: str
    start: float
    end: float
    sa: str
    """The letter of Sa in it, at sounding pitch."""
    mode: str
    key: int
    """Index of that Sa in the page's ``names``, before any move."""
    turns: tuple[int, int]
    """The indices of its first turn and of the turn after its last."""
    loop: tuple[int, int]
    """The same, with the turns of its pickup: the turns to loop while learning it."""


Speaker = tuple[float, float, float | None]
"""How a voice differs on a loudspeaker: dB of its level, dB by which its upper partials are raised,
dB of the partials that are added to its low end (None for none)."""


class LoudspeakerData(TypedDict):
    """The filters of ``sound.loudspeaker``: places in Hz, the curve, the qualities of the sections
    of filters of the second and fourth order; how the drone on its own differs."""

    low: float
    middle: float
    band: float
    ends: tuple[float, float]
    drive: float
    bias: float
    second: list[float]
    fourth: list[float]
    drone: Speaker


class VoiceData(TypedDict):
    """The sounds of a player. ``level``: dB; ``pan``: -1 to 1; ``room``: dB sent to the room."""

    name: str
    title: str
    """The name of the instrument."""
    role: PageRole
    wave: str
    """A key of ``waves``; "" for a player of ``sounds``."""
    tones: list[ToneEvent]
    strokes: list[StrokeEvent]
    sounds: list[str]
    """Keys of the page's ``sounds``; a stroke has an index in this list."""
    level: float
    pan: float
    room: float
    speaker: Speaker
    stops: NotRequired[list[list[int]]]
    """For each of ``sounds`` the indices of those whose ringing a stroke of it ends."""


class SoundData(TypedDict):
    """A rendered stroke or pluck: FLAC, mono, base64.

    ``cents``: its pitch above the middle Sa of the piece's beginning (a drone's string), None for a
    drum, which does not move with Sa. ``velocity``: that of the rendering; the page plays others
    louder or softer.
    """

    flac: str
    cents: float | None
    velocity: int
    touches: NotRequired[list[str]]
    """The names of this and other plucks of the same string, to be taken in turn."""


class PartData(TypedDict):
    """A player's part on some Sa, engraved.

    ``systems``: an SVG each, from top to bottom; ``notes``: (start, end, id of the element) in
    order of time, an element as often as it is played; ``heads``: the texts before a system: (index
    of the system, letter, name, remark).
    """

    player: str
    systems: list[str]
    notes: list[tuple[float, float, str]]
    heads: list[tuple[int, str, str, str]]
    sa: str
    """The letter on which the player reads Sa."""
    measures: NotRequired[list[tuple[float, float, str]]]
    """The same for the measures, to show the place in rests too."""
    cells: NotRequired[list[tuple[int, int, str]]]
    """While the piece is written: the beginning and the end of a note's cell in the text, in units
    of UTF-16, and the id of its element."""


class PageData(TypedDict):
    """The data of one page."""

    title: str
    composer: str
    mode: str
    sa: str
    """The letter of Sa at the beginning, at sounding pitch."""
    hertz: float
    """The frequency of the middle Sa at the beginning."""
    names: list[str]
    """The letter of Sa on each of the twelve keys from C up."""
    key: int
    """Index of Sa in ``names``."""
    tempo: float
    """Beats a minute: the tempo in the heading of the piece."""
    length: float
    cycles: list[CycleKind]
    turns: list[Turn]
    sections: list[Section]
    voices: list[VoiceData]
    waves: dict[str, object]
    """``sound.voice_tables.Voice`` of each wave in use, as a dict."""
    sounds: dict[str, SoundData]
    room: str
    """The impulse response of the room: FLAC, stereo, base64."""
    loudspeaker: LoudspeakerData
    """The filters of the balance for loudspeakers."""
    parts: dict[str, dict[str, str]]
    """By the semitones that Sa is moved ("-5" to "6", at least "0"), then by player: a ``PartData``
    as JSON, deflated (raw), base64."""
    drone: list[tuple[float, str]]
    """The drone's strings in the order of plucking: cents above middle Sa, key of ``sounds``."""
    drone_tones: list[tuple[str, float]]
    """The tones that its first string may have, and their cents above middle Sa."""
    caution: str
    live: NotRequired[bool]
    """True if the page is served while its piece is written."""
    offline: NotRequired[bool]
    """True if the page is served to be kept by the browser and opened without the server."""


class WholePageData(PageData):
    """The data of a page, with the texts that are the same on every page."""

    hearing: str
    """A caution about levels."""
