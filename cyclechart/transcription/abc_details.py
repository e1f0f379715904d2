"""The words and decorations of an ABC tune, which are read here: its notes in order, as in ABC 2.1
(sections 4.14 and 5.1), each with what stands before it and the syllables under it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from cyclechart.transcription.losses import Losses
from cyclechart.transcription.tune import Tune, TuneNote

_TOKEN = re.compile(
    r'(?P<text>"[^"]*")|(?P<mark>![^!\s]{1,30}!|\+[a-z]{2,20}\+)|(?P<grace>\{[^}]*\})'
    r"|(?P<field>\[[A-Za-z]:[^\]]*\])|(?P<bar>[|:\[\]]*[|:][|:\]]*(?:\[?\d[\d,-]*)?|\[\d[\d,-]*)"
    r"|(?P<chord>\[[^\]]*\][\d/]*)|(?P<note>[_^=]*[A-Ga-g][,']*[\d/]*)"
    r"|(?P<rest>[zxZX][\d/]*)|(?P<letter>[H-Wh-w~.])|(?P<tie>-)|(?P<other>.)"
)
_SYLLABLE = re.compile(r"(?:\\-|[^\s\-_*|])+|\||[-_*]")
_MARKS = {
    "trill": "trill", "accent": "accent", ">": "accent", "emphasis": "accent", "tenuto": "tenuto",
    "fermata": "fermata", "mordent": "mordent", "lowermordent": "mordent",
    "uppermordent": "mordent", "pralltriller": "mordent", "staccato": "staccato",
    "pppp": "pp", "ppp": "pp", "pp": "pp", "p": "p", "mp": "mp", "mf": "mf", "f": "f", "ff": "ff",
    "fff": "ff", "ffff": "ff", "crescendo(": "cresc", "<(": "cresc", "diminuendo(": "dim",
    ">(": "dim",
}  # fmt: skip
_LETTERS = {
    "T": "trill", "H": "fermata", "L": "accent", "M": "mordent", "P": "mordent", ".": "staccato",
}  # fmt: skip
_LOST = {"~": "a roll", "u": "up-bow", "v": "down-bow"}
"""Letters of ABC 2.1 (section 4.14) that a line of ours cannot say."""
_ENDS = frozenset(("crescendo)", "<)", "diminuendo)", ">)"))


@dataclass
class _AbcNote:
    """A note as written: its decorations, whether it is tied on, its syllables by verse, its bar
    from the beginning of its row."""

    marks: list[str]
    bar: int
    tied: bool = False
    words: list[str] = field(default_factory=list)


def with_details(tune: Tune, text: str) -> Tune:
    """Return a tune of one voice with the words and decorations of its text."""
    losses = Losses()
    notes = list(_joined(_notes(text, losses)))
    said = any(note.marks or any(note.words) for note in notes)
    voice = tune.voices[0]
    fits = len(tune.voices) == 1 and len(notes) == len(voice.notes)
    if not said or not fits:
        if said:
            losses.add(
                "words and decorations are left out: it is not clear to which notes they belong"
            )
        return replace(tune, losses=(*tune.losses, *losses.all()))
    verses = max(len(note.words) for note in notes)
    dressed = [_dressed(one, note, verses) for one, note in zip(voice.notes, notes, strict=True)]
    voices = (voice._replace(notes=tuple(dressed)),)
    return replace(tune, voices=voices, losses=(*tune.losses, *losses.all()))


def _dressed(note: TuneNote, written: _AbcNote, verses: int) -> TuneNote:
    marks = tuple(dict.fromkeys((*note.marks, *written.marks)))
    if {"cresc", "dim"} <= set(marks):
        marks = tuple(mark for mark in marks if mark != "dim")
    words = tuple((*written.words, *[""] * verses)[:verses])
    return replace(note, marks=marks, words=words)


def _joined(notes: Sequence[_AbcNote]) -> Iterator[_AbcNote]:
    """Yield the notes as they are struck: what a tie joins is one."""
    tied = False
    for note in notes:
        if not tied:
            yield note
        tied = note.tied


def _notes(text: str, losses: Losses) -> list[_AbcNote]:
    """Return the notes of a text in order."""
    every: list[_AbcNote] = []
    row: list[_AbcNote] = []
    in_body = False
    verse = 0
    for line in text.split("\n"):
        name = line[:1] if line[1:2] == ":" and line[:1].isalpha() else ""
        if name == "w" and row:
            _align(line[2:].split("%")[0], row, verse)
            verse += 1
        elif name:
            in_body = in_body or name == "K"
        elif in_body and line.strip() and not line.startswith("%"):
            row, verse = _row(line, losses), 0
            every += row
    return every


def _row(line: str, losses: Losses) -> list[_AbcNote]:
    """Return the notes of a row of music."""
    found: list[_AbcNote] = []
    marks: list[str] = []
    bar = 0
    for token in _TOKEN.finditer(_without_comment(line)):
        kind, said = token.lastgroup, token[0]
        if kind == "mark":
            _mark(said[1:-1], marks, losses)
        elif kind == "letter":
            if said in _LETTERS:
                marks.append(_LETTERS[said])
            elif said in _LOST:
                losses.add(f"the decoration {said} ({_LOST[said]}) is left out")
        elif kind in ("note", "chord"):
            found.append(_AbcNote(marks, bar))
            marks = []
        elif kind == "rest":
            marks = []
        elif kind == "tie" and found:
            found[-1].tied = True
        elif kind == "bar" and "|" in said:
            bar += 1
    return found


def _without_comment(line: str) -> str:
    """Return a row without what stands after a %."""
    found = re.search(r'^(?:[^%"]|"[^"]*")*', line)
    return found[0] if found else line


def _mark(name: str, marks: list[str], losses: Losses) -> None:
    if name in _MARKS:
        marks.append(_MARKS[name])
    elif name not in _ENDS and name not in ("segno", "coda", "fine", "D.S.", "D.C."):
        losses.add(f"the decoration !{name}! is left out")


def _align(words: str, row: Sequence[_AbcNote], verse: int) -> None:
    """Set the syllables of one verse under the notes of a row."""
    at, before = 0, ""
    for token in _SYLLABLE.finditer(words):
        said = token[0]
        if said == "|":
            here = row[at - 1].bar if at else 0
            at = next((n for n, note in enumerate(row) if n >= at and note.bar > here), len(row))
        elif said == "-" and before not in ("-", ""):
            _join(row, at, verse)
        elif at < len(row):
            text = {"*": "", "-": "_", "_": "_"}.get(said)
            syllables = row[at].words
            syllables += [""] * (verse + 1 - len(syllables))
            syllables[verse] = _plain(said) if text is None else text
            at += 1
        before = said


def _join(row: Sequence[_AbcNote], at: int, verse: int) -> None:
    """Give the last syllable before a note its hyphen."""
    for note in reversed(row[:at]):
        if len(note.words) > verse and note.words[verse] not in ("", "_"):
            note.words[verse] = note.words[verse].removesuffix("-") + "-"
            return


def _plain(said: str) -> str:
    text = said.replace("\\-", "-").replace("~", " ").replace("\\", "")
    return "".join(sign for sign in text if sign.isprintable())[:60]
