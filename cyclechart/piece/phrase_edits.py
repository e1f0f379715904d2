"""Phrases cut, sped up, turned round and set end to end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Literal

from cyclechart.piece.dynamics_edits import cut_out, with_dynamics_turned
from cyclechart.piece.hairpins_and_slurs import without_first_notes
from cyclechart.piece.note import Note, Phrase
from cyclechart.text.line_tree import SPEEDS
from cyclechart.text.timing import SectionLine, Speed


def without_front(phrase: Phrase, beats: Fraction) -> Phrase:
    """Return a phrase without its first so many beats; a note held over the cut is silent."""
    if not beats:
        return phrase
    gone = sum(note.start < beats for note in phrase.notes)
    left = without_first_notes(phrase.notes, gone)
    notes = [replace(note, start=note.start - beats) for note in left]
    speeds = [
        replace(speed, start=max(speed.start - beats, Fraction(0)), end=speed.end - beats)
        for speed in phrase.speeds
        if speed.end > beats
    ]
    lines = [
        replace(line, offset=line.offset - beats)
        for line in phrase.section_lines
        if line.offset >= beats
    ]
    return replace(
        phrase,
        notes=tuple(notes),
        speeds=tuple(speeds),
        section_lines=tuple(lines),
        length=phrase.length - beats,
    )


def at_speed(phrase: Phrase, speed: Fraction) -> Phrase:
    """Return a phrase at so many times its speed, as a group at that speed."""
    if speed == 1:
        return phrase
    notes = [replace(n, start=n.start / speed, length=n.length / speed) for n in phrase.notes]
    inner = [
        replace(one, start=one.start / speed, end=one.end / speed, speed=one.speed * speed)
        for one in phrase.speeds
    ]
    lines = [replace(line, offset=line.offset / speed) for line in phrase.section_lines]
    length = phrase.length / speed
    return replace(
        phrase,
        notes=tuple(notes),
        speeds=(Speed(Fraction(0), length, speed, ""), *inner),
        section_lines=tuple(lines),
        length=length,
    )


def stretch_of(phrase: Phrase, start: Fraction, end: Fraction) -> Phrase:
    """Return the beats of a phrase from ``start`` to ``end``.

    A note that is held into them is silent, a chord begins there; one that is held beyond them ends
    with them. What is under way there, a slur, a dynamic or a hairpin, begins with the first note
    and ends with the last.
    """
    if phrase.kind == "chords":
        phrase = replace(phrase, notes=tuple(_begun_again(phrase.notes, start)))
    front = without_front(phrase, start)
    length = end - start
    notes = [
        replace(note, length=min(note.length, length - note.start))
        for note in front.notes
        if note.start < length
    ]
    if notes and len(notes) < len(front.notes):
        notes[-1] = replace(notes[-1], glides=False)
    first = len(phrase.notes) - len(front.notes)
    signed = cut_out(phrase.notes, first, first + len(notes))
    notes = [replace(note, marks=one.marks) for note, one in zip(notes, signed, strict=True)]
    return replace(
        front,
        notes=_with_slurs_closed(notes),
        speeds=tuple(
            replace(speed, end=min(speed.end, length))
            for speed in front.speeds
            if speed.start < length
        ),
        section_lines=tuple(line for line in front.section_lines if line.offset < length),
        length=length,
    )


def _begun_again(notes: Iterable[Note], at: Fraction) -> Iterator[Note]:
    """Yield chords; one that is held at a time begins there."""
    for note in notes:
        if note.start < at < note.end:
            rest = note.end - at
            note = replace(note, start=at, length=rest, marks=(), text="", word="", verses=())
        yield note


def backwards(phrase: Phrase) -> Phrase:
    """Return a phrase from its end to its beginning: notes and rests keep their lengths.

    Graces, marks and words above stay with their notes, a glide between two notes leads from the
    later to the earlier, and so does a slur. Each note is as loud as it was: a cresc. becomes a
    dim. It has no sung words and no section lines.
    """
    length = phrase.length
    gliding = [False, *(note.glides for note in phrase.notes)][: len(phrase.notes)]
    notes = [
        replace(
            note,
            start=length - note.end,
            glides=into,
            slur=_OTHER_END[note.slur],
            word="",
            verses=(),
        )
        for note, into in zip(with_dynamics_turned(phrase.notes), gliding, strict=True)
    ]
    speeds = [
        replace(speed, start=length - speed.end, end=length - speed.start)
        for speed in phrase.speeds
    ]
    speeds.sort(key=lambda speed: (speed.start, -speed.end))
    return replace(phrase, notes=tuple(reversed(notes)), speeds=tuple(speeds), section_lines=())


_OTHER_END: dict[Literal["", "starts", "ends"], Literal["", "starts", "ends"]] = {
    "": "",
    "starts": "ends",
    "ends": "starts",
}


def _with_slurs_closed(notes: Iterable[Note]) -> tuple[Note, ...]:
    """Notes with a slur whose end is cut off ending on the last; none where it is left alone."""
    kept = list(notes)
    began = next((at for at in reversed(range(len(kept))) if kept[at].slur), -1)
    if began >= 0 and kept[began].slur == "starts":
        alone = began == len(kept) - 1
        kept[-1] = replace(kept[-1], slur="" if alone else "ends")
    return tuple(kept)


def faster(phrase: Phrase, speed: Fraction) -> Phrase:
    """Return a phrase at so many times its speed: this is how it goes, and no group at a speed.

    Section lines would fall elsewhere: there are none.
    """
    whole = at_speed(phrase, speed)
    if whole is phrase:
        return phrase
    inner = [replace(one, word=_word_of(one)) for one in whole.speeds[1:]]
    return replace(whole, speeds=tuple(inner), section_lines=())


def _word_of(speed: Speed) -> str:
    """Return the trade's word for a speed that had one, if it still has."""
    words = (word for word, of in SPEEDS.items() if of == speed.speed)
    return next(words, "") if speed.word else ""


def joined(placed: list[tuple[Fraction, Phrase]], length: Fraction) -> Phrase:
    """Phrases at their places as one of so many beats."""
    return Phrase(
        kind=placed[0][1].kind,
        notes=tuple(_moved_notes(placed)),
        section_lines=tuple(_moved_lines(placed)),
        speeds=tuple(_moved_speeds(placed)),
        length=length,
        whole=all(phrase.whole for _, phrase in placed),
    )


def end_to_end(phrases: Iterable[Phrase]) -> Phrase:
    """Phrases one after the other as one."""
    at = Fraction(0)
    placed = []
    for phrase in phrases:
        placed.append((at, phrase))
        at += phrase.length
    return joined(placed, at)


def _moved_notes(placed: list[tuple[Fraction, Phrase]]) -> Iterator[Note]:
    for at, phrase in placed:
        for note in phrase.notes:
            yield replace(note, start=note.start + at) if at else note


def _moved_lines(placed: list[tuple[Fraction, Phrase]]) -> Iterator[SectionLine]:
    for at, phrase in placed:
        for line in phrase.section_lines:
            yield replace(line, offset=line.offset + at)


def _moved_speeds(placed: list[tuple[Fraction, Phrase]]) -> Iterator[Speed]:
    for at, phrase in placed:
        for speed in phrase.speeds:
            yield replace(speed, start=speed.start + at, end=speed.end + at)
