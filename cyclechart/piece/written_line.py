"""A line that comes from another, written out: what can stand in place of ``from``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cyclechart.catalog.roles import LineKind
from cyclechart.piece.line import Line
from cyclechart.piece.line_text import script_named
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_text import Section, sections_of, text_of
from cyclechart.text.chord_script import CHORDS, chords_script, is_in_degrees
from cyclechart.text.excerpts import quoted
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact

KEY_OF: dict[LineKind, str] = {
    "melody": "sargam", "strokes": "strokes", "chords": CHORDS, "kit": "kit",
}  # fmt: skip
"""The key that each kind of line can be written out under."""


def music_of(piece: Piece, line: Line, phrase: Phrase | None = None) -> str:
    """Return the text of a line in one row; with a phrase, of the line with that for its music."""
    phrase = line.phrase if phrase is None else phrase
    sections = () if line.free else sections_of(_cycle(piece, line), line.begins, phrase.length)
    if phrase.kind != "chords":
        return text_of(phrase, script_named(KEY_OF[phrase.kind], piece.tonic), sections)
    return _chords_text(piece, phrase, sections)


def _chords_text(piece: Piece, phrase: Phrase, sections: Sequence[Section]) -> str:
    """Return the text of chords, with roots named as in the text that they come from; in letters
    where all that are left would be read as letters (D, G)."""

    before = " ".join(note.cell for note in phrase.notes)
    text = text_of(phrase, chords_script(before, piece.tonic), sections)
    if is_in_degrees(before, piece.tonic) == is_in_degrees(text, piece.tonic):
        return text
    return text_of(phrase, chords_script("", piece.tonic), sections)


def written_out(piece: Piece, line: Line, changed: Line | None = None) -> str:
    """Return the keys in place of ``from`` and what is done to it, a row each: the music of a line,
    or of the changed line, and what it has from its source.

    "" for a line that is not from another.
    """
    now = line if changed is None else changed
    if line.derivation is None:
        return ""
    phrase = now.phrase
    if now.struck is not None and "rhythm" not in line.derivation.beside:
        phrase = replace(phrase, notes=now.struck)
    rows = [f"{KEY_OF[now.kind]}: {quoted(music_of(piece, now, phrase))}"]
    rows += _beside(piece, line, now)
    return "\n".join(rows)


def _beside(piece: Piece, line: Line, now: Line) -> Iterator[str]:
    """The keys that the text needs beside it, but for those that stand there."""
    assert line.derivation is not None
    there = line.derivation.beside
    if "begins" not in there and now.begins != now.eduppu % _cycle(piece, line).beats + 1:
        yield f"begins: {show_exact(now.begins)}"
    if "eduppu" not in there and now.eduppu != piece.eduppu:
        yield f"eduppu: {show_exact(now.eduppu)}"
    if "lands" not in there and now.lands is not None:
        by = "" if now.lands.how == "free" else f" {show_exact(now.lands.by)}"
        yield f"lands: {now.lands.how}{by}"
    if "rhythm" not in there and line.struck is not None:
        yield "rhythm: written"
    if "words" not in there and any(note.word or any(note.verses) for note in now.notes):
        yield f"words: {words_of(now.notes)}"


def words_of(notes: Sequence[Note]) -> str:
    """Return the words of notes as they are written under a line, or its verses as a list."""
    count = 1 + max(len(note.verses) for note in notes)
    verses = [[(note.word, *note.verses)[verse] for note in notes] for verse in range(count)]
    texts = [quoted(" ".join(map(_word, words))) for words in verses]
    return texts[0] if count == 1 else f"[{', '.join(texts)}]"


def _word(word: str) -> str:
    if not word or word == "-":
        return "*"
    if word in ("_", "_-"):
        return "_"
    body = word.removesuffix("-")
    return body.replace("-", "\\-").replace(" ", "~") + word[len(body) :]


def _cycle(piece: Piece, line: Line) -> Cycle:
    return next(iter(piece.cycles_of(line.name)), piece.cycle)
