"""The notes of a section as the text of a line: cells of a beat, in rows of whole cycles."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_text import text_of
from cyclechart.piece.written_line import words_of
from cyclechart.text.mark_reading import WORDS
from cyclechart.text.scripts import MAX_OCTAVES, SARGAM_SCRIPT
from cyclechart.text.timing import Speed
from cyclechart.transcription.losses import Losses
from cyclechart.transcription.sections import Section, Span
from cyclechart.transcription.tune import TuneNote

ROW = 88
"""The letters of a row, where its cycles let it be so short."""
_NOWHERE = Spot("", 1, 1, 0)
_TOKEN = re.compile(rf"(?:{WORDS}|\S)+")
LOWEST, HIGHEST = -12 * MAX_OCTAVES, 12 * (MAX_OCTAVES + 1) - 1
"""The semitones from the middle Sa that a line can have."""


class SectionNotes(NamedTuple):
    """The notes of a section in beats from its beginning, and its length in beats with the rests
    that fill the last cycle."""

    notes: tuple[Note, ...]
    length: Fraction


def notes_in(
    notes: Sequence[TuneNote], section: Section, unit: Fraction, sa: int, losses: Losses
) -> tuple[Note, ...]:
    """Return the notes of a voice that sound in a section, in beats from its beginning.

    A note that is held into it is struck again, one that is held beyond it ends with it; one that
    is held from one of its stretches into the next is one note.
    """
    found: list[Note] = []
    at = Fraction(0)
    tied: TuneNote | None = None
    for span in section.spans:
        for note in notes:
            if note.end <= span.start or note.start >= span.end:
                continue
            cut = _cut(note, span)
            comes = cut.start == span.start and (cut.start > note.start or note.tied_in)
            if comes and tied is not None and tied.pitch == note.pitch:
                found[-1] = replace(found[-1], length=found[-1].length + cut.length / unit)
            else:
                if cut.start > note.start:
                    what = "a note held over from one line into another is struck again"
                    losses.add(what, section.number)
                found.append(_note(note, cut, at - span.start, unit, sa, losses))
            goes_on = cut.end == span.end and (cut.end < note.end or note.tied_on)
            tied = note if goes_on else None
        at += span.end - span.start
    return tuple(_with_whole_slurs(found))


def _cut(note: TuneNote, span: Span) -> TuneNote:
    """Return what of a note sounds in a stretch."""
    start, end = max(note.start, span.start), min(note.end, span.end)
    return replace(note, start=start, length=end - start)


def _note(
    note: TuneNote, cut: TuneNote, shift: Fraction, unit: Fraction, sa: int, losses: Losses
) -> Note:
    """Return a note of a line; of one that is held into it nothing stands at its beginning."""
    fresh = cut.start == note.start
    words = note.words if fresh else tuple("_" for _ in note.words)
    graces = note.graces if fresh else ()
    return Note(
        (cut.start + shift) / unit,
        cut.length / unit,
        _NOWHERE,
        pitch=_within(note.pitch - sa, losses),
        grace=tuple(_within(pitch - sa, losses) for pitch in graces),
        marks=note.marks if fresh else (),
        glides=note.glides and cut.end == note.end,
        word=words[0] if words else "",
        verses=words[1:],
        text=note.text if fresh else "",
        slur=note.slur,
    )


def _within(pitch: int, losses: Losses) -> int:
    """Return a pitch that a line can have: an octave nearer where it is too far from Sa."""
    if LOWEST <= pitch <= HIGHEST:
        return pitch
    losses.add("notes more than three octaves from the middle Sa are moved by octaves")
    while pitch < LOWEST:
        pitch += 12
    while pitch > HIGHEST:
        pitch -= 12
    return pitch


def _with_whole_slurs(notes: list[Note]) -> list[Note]:
    """Return the notes with only those slurs that begin and end among them, over two or more."""
    opened: int | None = None
    whole: set[int] = set()
    for at, note in enumerate(notes):
        if note.slur == "starts":
            opened = at
        elif note.slur == "ends" and opened is not None:
            whole |= {opened, at}
            opened = None
    glide_ends = {
        at for at, note in enumerate(notes)
        if note.glides and (at + 1 == len(notes) or notes[at + 1].start > note.end)
    }  # fmt: skip
    return [
        replace(
            note,
            slur=note.slur if at in whole else "",
            glides=note.glides and at not in glide_ends,
        )
        for at, note in enumerate(notes)
    ]


def rows_of(
    notes: Sequence[Note],
    length: Fraction,
    marks: Sequence[tuple[Fraction, bool]],
    speeds: Iterable[Speed] = (),
) -> tuple[str, ...]:
    """Return the rows of a line's text; ``marks`` are its section lines."""
    phrase = Phrase(
        kind="melody",
        notes=tuple(notes),
        section_lines=(),
        speeds=tuple(speeds),
        length=length,
    )
    return tuple(_wrapped(text_of(phrase, SARGAM_SCRIPT, marks)))


def _wrapped(text: str) -> Iterable[str]:
    """Yield a text in rows that end with a cycle, or else with a section."""
    row = ""
    for cycle in _parts(text, "||"):
        for part in [cycle] if len(cycle) <= ROW else _parts(cycle, "|"):
            if row and len(row) + 1 + len(part) > ROW:
                yield row
                row = ""
            row = f"{row} {part}" if row else part
    if row:
        yield row


def _parts(text: str, mark: str) -> list[str]:
    """Return a text cut after each mark that stands by itself."""
    parts: list[list[str]] = [[]]
    for token in _TOKEN.findall(text):
        parts[-1].append(token)
        if token == mark:
            parts.append([])
    return [" ".join(part) for part in parts if part]


def words_under(notes: Sequence[Note]) -> str:
    """Return the words of a line as ready YAML; "" where there are none."""
    sung = [
        at
        for at, note in enumerate(notes)
        if any(word.strip("_") for word in (note.word, *note.verses))
    ]
    if not sung:
        return ""
    alone = not any(note.verses for note in notes)  # of several verses each reaches the last note
    return words_of(notes[: sung[-1] + 1] if alone else notes)
