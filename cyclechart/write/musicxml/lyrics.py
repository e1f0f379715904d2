"""The sung words of a line as syllables under its notes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

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


def lyrics_of(notes: Sequence[Note]) -> list[Lyric | None]:
    """Return the lyric of each note, None for a note without one.

    A word that ends in ``-`` is joined to the next; ``_`` holds the one before.
    """
    words = [clean_text(note.word) for note in notes]
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
        joins_next = any(word.endswith("-") and word != "-" for word in words[at:end])
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
