"""Phrases cut, sped up and set end to end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.piece.hairpins_and_slurs import without_first_notes
from cyclechart.piece.note import Note, Phrase
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
