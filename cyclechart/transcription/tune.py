"""A tune as data, whatever notation or format it was read from.

Times are exact, in *units* from the tune's beginning: quarter notes where a format has note values,
beats where a text has beats. ``Meter.unit`` says how many units one beat lasts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple


class Loss(NamedTuple):
    """What of the source could not be kept, and where: "bar 4", "line 3"; "" for the whole."""

    what: str
    place: str = ""


class Meter(NamedTuple):
    """The meter from ``start`` on: so many beats of ``unit`` each, in groups where it is a sum
    (2+3+2+3); ``name`` as it is written: "6/8", "jhaptal"."""

    start: Fraction
    beats: Fraction
    unit: Fraction = Fraction(1)
    groups: tuple[Fraction, ...] = ()
    name: str = ""


class TempoMark(NamedTuple):
    """The units a minute from ``start`` on."""

    start: Fraction
    units: Fraction


class KeyMark(NamedTuple):
    """A key signature from ``start`` on: its sharps (flats are negative), and the scale that the
    source names: "major", "minor", "dorian" …; "" where it names none. ``final`` is the pitch
    class of the key's own tone, or None."""

    start: Fraction
    sharps: int
    scale: str = ""
    final: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneNote:
    """A struck note, ties joined.

    ``pitch``: a MIDI key number, or semitones above the middle Sa where ``Tune.from_sa``.
    ``graces``: pitches before it. ``marks``: decorations and dynamics by the names that a line's
    ``! !`` has. ``words``: a syllable for each verse, "" for none, ``_`` for one held over, with
    a hyphen at its end where its word goes on. ``text``: words above the note. ``tied_in`` and
    ``tied_on``: a tie comes from, or goes to, what does not stand beside it (over a repeat).
    """

    start: Fraction
    length: Fraction
    pitch: int
    graces: tuple[int, ...] = ()
    marks: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    glides: bool = False
    slur: Literal["", "starts", "ends"] = ""
    text: str = ""
    tied_in: bool = False
    tied_on: bool = False

    @property
    def end(self) -> Fraction:
        """Where it stops."""
        return self.start + self.length


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A bar as written, with what stands at its barlines.

    ``section``: a name (a rehearsal mark, a heading) where one begins here. ``opens_repeat``: the
    sign stands at its beginning; ``closes_repeat``: how often what ends with it is played, 0 where
    no sign stands. ``endings``: the times in which it is played, () for all. ``double``: a double
    or final barline stands at its end. ``fine``, ``segno``, ``coda`` and ``to_coda`` are signs;
    ``jump`` is "dc" or "ds" at its end.
    """

    start: Fraction
    length: Fraction
    number: str = ""
    section: str = ""
    opens_repeat: bool = False
    closes_repeat: int = 0
    endings: tuple[int, ...] = ()
    double: bool = False
    fine: bool = False
    segno: bool = False
    coda: bool = False
    to_coda: bool = False
    jump: Literal["", "dc", "ds"] = ""

    @property
    def end(self) -> Fraction:
        """Where the next bar begins."""
        return self.start + self.length


class TuneVoice(NamedTuple):
    """One voice: notes one after another, in order, none over another; and what of it is lost."""

    name: str
    notes: tuple[TuneNote, ...]
    losses: tuple[Loss, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tune:
    """A tune: voices over the same bars, and what was left out.

    ``bars`` cover the whole tune without gaps; where a text has none, one bar for each of its
    lines. ``pickup``: the units before the first first beat. ``from_sa``: pitches are counted from
    Sa. ``tonic``: the letter of Sa where the source names it ("D", "Eb"); ``mode`` and ``cycle``:
    names that the source gives for them, as written there, else "". ``swing``: how long the first
    half of a halved beat is played to the second; notes stand as they are written.
    """

    title: str = ""
    composer: str = ""
    voices: tuple[TuneVoice, ...]
    bars: tuple[Bar, ...]
    pickup: Fraction = Fraction(0)
    meters: tuple[Meter, ...] = ()
    tempos: tuple[TempoMark, ...] = ()
    keys: tuple[KeyMark, ...] = ()
    from_sa: bool = False
    tonic: str = ""
    mode: str = ""
    cycle: str = ""
    swing: Fraction = Fraction(1)
    losses: tuple[Loss, ...] = field(default=())

    @property
    def length(self) -> Fraction:
        """The units of the whole tune as written."""
        return self.bars[-1].end if self.bars else Fraction(0)
