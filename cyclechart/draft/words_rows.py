"""The rows of sung words, each syllable at the column of the note that it is sung on."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from cyclechart.draft.text_rows import Column, Entry, RowedText
from cyclechart.piece.words import Sign, signs_on_notes


class _Note(NamedTuple):
    """The row that a note is written in, and its column there."""

    row: int
    column: Column


def signs_of_words(words: str, music: RowedText) -> list[Sign]:
    """Return the signs of sung words, each with its note in the music."""
    starts = [strike.start for strike in music.timed.strikes]
    bars = [line.offset for line in music.timed.section_lines]
    return list(signs_on_notes(words, starts, bars))


def words_rows(words: str, music: RowedText) -> dict[int, tuple[int, tuple[Entry, ...]]]:
    """Return by its number each row of words, with the number of the row of music below whose cells
    its syllables stand; {} where not each row of the words is sung on one row of the music."""
    below = [row.number for row in music.rows if row.entries]
    rows = [number for number, row in enumerate(words.split("\n")) if row.strip()]
    signs = signs_of_words(words, music)
    notes = _notes(music)
    bars = any(sign.text[0] == "|" for sign in signs)
    if music.repeats or len(rows) != len(below) or (bars and not music.timed.section_lines):
        return {}
    if not notes or any(sign.note >= len(notes) for sign in signs if sign.sung):
        return {}
    ends = [offset for offset, letter in enumerate(words) if letter == "\n"]
    found: dict[int, list[Entry]] = {number: [] for number in rows}
    row_of = dict(zip(rows, below, strict=True))
    for sign, text in _with_texts(words, signs):
        number = bisect_right(ends, sign.start)
        note = notes[sign.note if sign.sung else max(0, sign.note - 1)]
        if note.row != row_of[number]:
            return {}
        column = note.column
        if not sign.sung:
            column = Column(column.section, True, Fraction(0))
        found[number].append(Entry(column, text, sign.start, Fraction(0)))
    if any(one.column >= other.column for row in found.values() for one, other in pairwise(row)):
        return {}
    return {number: (row, tuple(found[number])) for number, row in row_of.items()}


def _notes(music: RowedText) -> list[_Note]:
    """Return the row and the column of each note of a music without repeats."""
    entries = [(entry, row.number) for row in music.rows for entry in row.entries]
    places = [entry.at for entry, _ in entries]
    found = []
    for strike in music.timed.strikes:
        entry, row = entries[bisect_right(places, strike.at) - 1]
        beat = entry.column.beat + strike.start - entry.beat
        found.append(_Note(row, entry.column._replace(beat=beat)))
    return found


def _with_texts(words: str, signs: list[Sign]) -> Iterator[tuple[Sign, str]]:
    """Yield the signs that stand by themselves, each with the hyphens that join it to the next."""
    alone = [sign for sign in signs if sign.sung or sign.text[0] == "|"]
    ends = [sign.start for sign in alone[1:]] + [len(words)]
    for sign, end in zip(alone, ends, strict=True):
        yield sign, words[sign.start : end].strip()
