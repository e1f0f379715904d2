"""The notes of a part as music21 read it: one voice after another, ties joined."""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, Literal, TypeAlias

from cyclechart.text.line_tree import MAX_TEXT
from cyclechart.theory.tones import SEMITONE
from cyclechart.transcription.losses import Losses
from cyclechart.transcription.music21_bars import measures_of
from cyclechart.transcription.music21_marks import (
    dynamics_of,
    glides_of,
    hairpins_of,
    marks_of,
    slurs_of,
)
from cyclechart.transcription.tune import Bar, TuneNote, TuneVoice

Music: TypeAlias = Any
_TONE = re.compile(r"[SrRgGmMPdDnN]|[A-G][♭♯#b]?|[♭♯#b]?[1-7]|[SRGMPDN][123]?")
_SIGNS = str.maketrans("", "", "̣̤̇̈.'’,()~ ")
"""Octave dots and signs that may stand with a tone's name."""
_NO_SIGNS = str.maketrans("_*|\\~", "     ")
"""What means something else in the words of a line."""
FEWEST_NAMES = 3
SURE = 0.9
"""The share of svaras that must agree on where Sa is."""


@dataclass
class _Raw:
    """The notes of one voice as they come, with what has still to be joined."""

    name: str
    notes: list[TuneNote] = field(default_factory=list)
    sources: list[Music] = field(default_factory=list)
    graces: list[int] = field(default_factory=list)
    losses: Losses = field(default_factory=Losses)
    tied: int | None = None
    """The pitch that the last note is tied on at."""

    def end_tie(self) -> None:
        """Leave the last note with a tie that goes elsewhere."""
        if self.tied is not None:
            self.notes[-1] = replace(self.notes[-1], tied_on=True)
        self.tied = None


def voices_of(part: Music, bars: list[Bar], *, own: bool) -> Iterator[TuneVoice]:
    """Yield the voices of a part, the first one first."""
    name = " ".join(str(part.partName or "").split()) or "melody"
    voices: dict[str, _Raw] = {}
    numbers = _Numbers(bars)
    for measure in measures_of(part):
        inner = list(measure.voices)
        streams = [(str(voice.id), voice) for voice in inner] if inner else [("", measure)]
        for at, (key, stream) in enumerate(streams):
            key = "" if at == 0 and key not in voices else key
            raw = voices.setdefault(key, _Raw(name if not voices else f"{name} {len(voices) + 1}"))
            for element in stream.notesAndRests:
                start = Fraction(measure.offset) + Fraction(element.offset)
                if inner:
                    start += Fraction(stream.offset)
                _take(raw, element, start, numbers, raw.losses)
    for raw in voices.values():
        if raw.notes:
            notes = _finished(raw, part, numbers, raw.losses, own=own)
            yield TuneVoice(raw.name, notes, raw.losses.all())


def sa_of(part: Music) -> int | None:
    """Return the pitch class of Sa where svaras stand under the notes; None where none do."""
    counts: Counter[int] = Counter()
    for note in part.recurse().getElementsByClass("Note"):
        for lyric in note.lyrics:
            name = _bare(str(lyric.text or ""))
            if name in SEMITONE:
                counts[(round(note.pitch.ps) - SEMITONE[name]) % 12] += 1
    pitch_class, agreeing = next(iter(counts.most_common(1)), (0, 0))
    sure = agreeing >= FEWEST_NAMES and agreeing > SURE * counts.total()
    return pitch_class if sure else None


class _Numbers:
    """Which bar a time is in."""

    def __init__(self, bars: list[Bar]) -> None:
        self.bars = bars
        self.starts = [bar.start for bar in bars]

    def of(self, at: Fraction) -> str:
        """Return the number of the bar at a time."""
        number = bisect_right(self.starts, at) - 1
        return self.bars[max(number, 0)].number if self.bars else ""


def _take(raw: _Raw, element: Music, start: Fraction, numbers: _Numbers, losses: Losses) -> None:
    """Add a note, the top note of a chord, or nothing for a rest."""
    kind = type(element).__name__
    where = numbers.of(start)
    if kind in ("ChordSymbol", "NoChord"):
        losses.add("chord symbols are left out", where)
        return
    if kind == "Rest":
        raw.end_tie()
        return
    if kind in ("Unpitched", "PercussionChord"):
        losses.add("notes without a pitch (drums, slashes) are left out", where)
        return
    if getattr(element.style, "noteSize", None) == "cue":
        losses.add("cue notes are left out", where)
        return
    if kind == "Chord":
        losses.add("of a chord the top note is kept", where)
        top = max(element.notes, key=lambda note: note.pitch.ps)
    else:
        top = element
    if getattr(top, "notehead", "") == "slash":
        losses.add("notes without a pitch (drums, slashes) are left out", where)
        return
    key = round(top.pitch.ps)
    if key != top.pitch.ps:
        losses.add("quarter tones are rounded", where)
    length = Fraction(element.duration.quarterLength)
    if element.duration.isGrace or not length:
        raw.graces.append(key)
        return
    _strike(raw, element, top, start, length, key)


def _strike(
    raw: _Raw, element: Music, top: Music, start: Fraction, length: Fraction, key: int
) -> None:
    tie = getattr(top.tie or element.tie, "type", "")
    goes_on = tie in ("start", "continue", "let-ring") and tie != "let-ring"
    last = raw.notes[-1] if raw.notes else None
    joins = last is not None and raw.tied == key and last.end == start
    if joins and last is not None and tie in ("stop", "continue") and not raw.graces:
        raw.notes[-1] = replace(last, length=last.length + length)
        raw.tied = key if tie == "continue" else None
        return
    raw.end_tie()
    raw.notes.append(
        TuneNote(
            start=start,
            length=length,
            pitch=key,
            graces=tuple(raw.graces),
            tied_in=tie in ("stop", "continue"),
        )
    )
    raw.sources.append(element)
    raw.graces = []
    raw.tied = key if goes_on else None


def _finished(
    raw: _Raw, part: Music, numbers: _Numbers, losses: Losses, *, own: bool
) -> tuple[TuneNote, ...]:
    """Return the notes of a voice in order, none over another, with their marks and words."""
    raw.end_tie()
    if raw.graces:
        losses.add("grace notes after the last note are left out")
    notes = [
        replace(note, marks=marks_of(source, numbers.of(note.start), losses))
        for note, source in zip(raw.notes, raw.sources, strict=True)
    ]
    notes = _with_words(notes, raw.sources, losses, own=own)
    notes = _with_spanners(notes, raw.sources, part)
    notes = _with_dynamics(notes, dynamics_of(part, losses))
    if not own:
        notes = _with_texts(notes, part, numbers, losses)
    return tuple(in_order(notes, numbers.of, losses))


def in_order(notes: Iterable[TuneNote], number_at: Any, losses: Losses) -> list[TuneNote]:
    """Return the notes of a voice in order; one that sounds into the next ends with it, and of two
    that are struck at once the higher is kept."""
    done: list[TuneNote] = []
    for note in sorted(notes, key=lambda one: (one.start, -one.pitch)):
        if done and done[-1].start == note.start:
            losses.add("of notes struck at once the top one is kept", number_at(note.start))
            continue
        if done and done[-1].end > note.start:
            losses.add("a note ends where the next one begins", number_at(note.start))
            done[-1] = replace(done[-1], length=note.start - done[-1].start)
        done.append(note)
    return done


def _with_words(
    notes: list[TuneNote], sources: list[Music], losses: Losses, *, own: bool
) -> list[TuneNote]:
    """Return the notes with the syllables of each verse; names of tones are no words."""
    sung = [{int(one.number or 1): one for one in source.lyrics} for source in sources]
    verses = sorted({number for one in sung for number in one})
    kept = []
    for verse in verses:
        texts = [_syllable(one.get(verse)) for one in sung]
        said = [text.strip("-_") for text in texts if text.strip("-_")]
        if not said:
            continue
        names = sum(_TONE.fullmatch(_bare(text)) is not None for text in said)
        if names == len(said) and (own or len(said) >= FEWEST_NAMES):
            losses.add("names of tones under the notes are not taken as words")
            continue
        kept.append(texts)
    if not kept:
        return notes
    return [
        replace(note, words=words)
        for note, words in zip(notes, zip(*kept, strict=True), strict=True)
    ]


def _bare(text: str) -> str:
    """Return the name of a tone without dots and signs."""
    return unicodedata.normalize("NFD", text).translate(_SIGNS)


def _syllable(lyric: Music) -> str:
    """Return a syllable of music21 as a tune has it."""
    if lyric is None:
        return ""
    text = " ".join(str(lyric.text or "").translate(_NO_SIGNS).split())[:60]
    text = "".join(sign for sign in text if sign.isprintable())
    if not text.strip("-"):
        return ""
    joined = lyric.syllabic in ("begin", "middle")
    return text.rstrip("-") + "-" if joined else text


def _with_spanners(notes: list[TuneNote], sources: list[Music], part: Music) -> list[TuneNote]:
    """Return the notes with their slurs, glides and hairpins."""
    places = {id(source): at for at, source in enumerate(sources)}
    before = -1
    for first, last in sorted(slurs_of(part, places)):
        if before < first < last:
            ends: dict[int, Literal["starts", "ends"]] = {first: "starts", last: "ends"}
            for at, end in ends.items():
                notes[at] = replace(notes[at], slur=end)
            before = last
    for at in glides_of(part, places):
        if at + 1 < len(notes) and notes[at].end == notes[at + 1].start:
            notes[at] = replace(notes[at], glides=True)
    for at, name in hairpins_of(part, places):
        if not {"cresc", "dim"} & set(notes[at].marks):
            notes[at] = replace(notes[at], marks=(*notes[at].marks, name))
    return notes


def _with_dynamics(notes: list[TuneNote], marks: Iterable[tuple[Fraction, str]]) -> list[TuneNote]:
    """Return the notes with each dynamic at the first note that it stands before."""
    at = 0
    for start, name in marks:
        while at < len(notes) and notes[at].start < start:
            at += 1
        if at == len(notes):
            break
        others = tuple(
            mark for mark in notes[at].marks if mark not in ("pp", "p", "mp", "mf", "f", "ff")
        )
        notes[at] = replace(notes[at], marks=(*others, name))
    return notes


def _with_texts(
    notes: list[TuneNote], part: Music, numbers: _Numbers, losses: Losses
) -> list[TuneNote]:
    """Return the notes with the words that stand above them."""
    at = 0
    for element in part.recurse().getElementsByClass("TextExpression"):
        said = " ".join(str(element.content or "").split())
        start = Fraction(element.getOffsetInHierarchy(part))
        while at < len(notes) and notes[at].start < start:
            at += 1
        if not said or '"!' in said or "!" in said or '"' in said or not said.isprintable():
            continue
        if at == len(notes) or notes[at].text or len(said) > MAX_TEXT:
            losses.add("words over the staff are left out", numbers.of(start))
            continue
        notes[at] = replace(notes[at], text=said)
    return notes
