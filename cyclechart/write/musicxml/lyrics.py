"""The sung words of a line as syllables under its notes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

from cyclechart.arrange.part_notes import PartNote
from cyclechart.finding import Spot
from cyclechart.piece.note import Note
from cyclechart.write.musicxml.staff import clean_text

Syllabic = Literal["single", "begin", "middle", "end", ""]
"""The place of a syllable in its word, as MusicXML names it."""

_SYLLABIC: dict[tuple[bool, bool], Syllabic] = {
    (False, False): "single",
    (False, True): "begin",
    (True, True): "middle",
    (True, False): "end",
}
"""By (joined to the syllable before, joined to the next)."""

_HOLDS = ("_", "_-")
"""The words of a note that holds the syllable before it."""


class Lyric(NamedTuple):
    """The lyric under one note: a syllable, or a stretch of the line that extends one.

    ``syllabic`` and ``text`` are "" where only the line is drawn.
    """

    syllabic: Syllabic
    text: str
    extend: Literal["start", "continue", "stop", ""]


Lyrics = tuple[Lyric | None, ...]
"""The lyrics under one note, one for each verse; None for a verse that has none there."""


def lyrics_of(notes: Sequence[Note]) -> list[Lyrics]:
    """Return the lyrics of each note: one, or one for each verse; () for a note without any.

    Where there are several verses, the first syllable of each has its number before it, in each
    line that is placed anew.
    """
    count = 1 + max((len(note.verses) for note in notes), default=0)
    if count == 1:
        sung = _lyrics([note.word for note in notes], _line_starts(notes))
        return [() if one is None else (one,) for one in sung]
    starts = _line_starts(notes)
    verses = [
        _numbered(_lyrics([_word_in(note, verse) for note in notes], starts), notes, verse)
        for verse in range(count)
    ]
    return [lyrics if any(lyrics) else () for lyrics in zip(*verses, strict=True)]


def _word_in(note: Note, verse: int) -> str:
    """The word of a note in a verse, counted from 0; "" where its line has no such verse."""
    words = (note.word, *note.verses)
    return words[verse] if verse < len(words) else ""


def _numbered(lyrics: list[Lyric | None], notes: Sequence[Note], verse: int) -> list[Lyric | None]:
    """The lyrics of a verse with its number before the first syllable of each line, also where the
    line is written again; but not where only a later part of it is."""
    before: int | None = None
    seen: set[Spot] = set()
    firsts: set[Spot] = set()
    numbered: list[Lyric | None] = []
    for note, lyric in zip(notes, lyrics, strict=True):
        if lyric is not None and lyric.text and note.verses:
            placed = note.origin[0] if isinstance(note, PartNote) else 0
            if placed != before and note.spot not in seen:
                firsts.add(note.spot)
            if placed != before and note.spot in firsts:
                lyric = lyric._replace(text=f"{verse + 1}.\N{NO-BREAK SPACE}{lyric.text}")
            before = placed
            seen.add(note.spot)
        numbered.append(lyric)
    return numbered


def _line_starts(notes: Sequence[Note]) -> frozenset[int]:
    """Return where a line begins after another, or again: no word goes on there."""
    return frozenset(
        at
        for at, (before, note) in enumerate(pairwise(notes), start=1)
        if isinstance(before, PartNote) and isinstance(note, PartNote)
        if note.origin[0] != before.origin[0] and note.origin[1] <= before.origin[1]
    )


def _lyrics(sung: Sequence[str], starts: frozenset[int] = frozenset()) -> list[Lyric | None]:
    """The lyric of each word, None for "".

    A word that ends in ``-`` is joined to the next, unless a line begins there (``starts``); ``_``
    holds the one before.
    """
    words = [clean_text(word) for word in sung]
    lyrics: list[Lyric | None] = [None] * len(words)
    joined = False
    at = 0
    while at < len(words):
        end = at + 1
        if not words[at] or words[at] in _HOLDS:
            at = end
            continue
        while end < len(words) and words[end] in _HOLDS:
            end += 1
        after = next((number for number in range(end, len(words)) if words[number]), at)
        joins_next = starts.isdisjoint(range(at + 1, after + 1)) and any(
            word.endswith("-") and word != "-" for word in words[at:end]
        )
        lyrics[at:end] = _syllable(words[at], joined, joins_next, end - at)
        joined = joins_next
        at = end
    return lyrics


def _syllable(word: str, joined: bool, joins_next: bool, notes: int) -> list[Lyric | None]:
    """Return the lyrics of one syllable that is sung on so many notes."""
    text = word[:-1] if word.endswith("-") and word != "-" else word
    syllabic = _SYLLABIC[joined, joins_next]
    # Inside a word the hyphens show how long a syllable is held.
    if joins_next or notes == 1:
        return [Lyric(syllabic, text, ""), *[None] * (notes - 1)]
    middle = [Lyric("", "", "continue")] * (notes - 2)
    return [Lyric(syllabic, text, "start"), *middle, Lyric("", "", "stop")]
