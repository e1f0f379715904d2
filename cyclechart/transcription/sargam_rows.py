"""The rows of a plain text of sargam: what stands at its head, names of sections, and music."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

_HEADINGS = {
    "title": "title", "song": "title", "bandish": "title", "name": "title", "piece": "title",
    "composer": "composer", "by": "composer", "music": "composer",
    "raag": "mode", "raga": "mode", "rag": "mode", "ragam": "mode", "mode": "mode",
    "scale": "mode", "thaat": "mode", "that": "mode",
    "taal": "cycle", "tal": "cycle", "tala": "cycle", "talam": "cycle", "cycle": "cycle",
    "sa": "tonic", "tonic": "tonic", "key": "tonic", "shruti": "tonic", "sruti": "tonic",
    "tempo": "tempo", "bpm": "tempo", "laya": "tempo",
}  # fmt: skip
"""What a heading's word says."""
_HEADING = re.compile(r"([^\W\d_]+)\s*[:=–—-]\s*(\S.*)")
_NEXT_HEADING = re.compile(rf"[\s,;|/]+(?=(?:{'|'.join(_HEADINGS)})\s*[:=–—])", re.IGNORECASE)
"""What stands between two headings of one row: ``Raga: Yaman  Tala: Teental``."""
_SECTION = re.compile(r"\[?\s*([^\W\d_][\w .'()-]{0,40}?)\s*(?::|\])\s*(.*)")
_NUMBERED = re.compile(r"(\d{1,3})[.)]\s+(\S.*)")
_COMMENT = re.compile(r"\s*(?:#|//|%|;;)(?!\S*[♯#])")
_TIMES = re.compile(r"\s*(?:\(\s*(?:x\s*)?(\d{1,2})\s*(?:x|times)?\s*\)|[x×]\s*(\d{1,2}))\s*$")
SECTION_WORDS = frozenset(
    [
        "sthayi",
        "sthai",
        "asthayi",
        "asthai",
        "antara",
        "sanchari",
        "abhog",
        "mukhda",
        "manjha",
        "pallavi",
        "anupallavi",
        "charanam",
        "charana",
        "muktayi",
        "chittaswaram",
        "ettugada",
        "head",
        "bridge",
        "verse",
        "chorus",
        "refrain",
        "intro",
        "introduction",
        "outro",
        "coda",
        "ending",
        "interlude",
        "tihai",
        "tan",
        "taan",
        "sargam",
        "gat",
        "masitkhani",
        "razakhani",
        "alap",
        "alaap",
        "a",
        "b",
        "c",
        "d",
        "e",
        "f",
        "part",
        "first",
        "second",
        "third",
    ]
)
"""Names of sections that stand in rows of their own without a colon (common practice)."""
MOST_TIMES = 16


class MusicRow(NamedTuple):
    """A row of music: its number in the file, its text and how often it is played."""

    number: int
    text: str
    times: int = 1
    opens: bool = False
    closes: bool = False


class Rows(NamedTuple):
    """The rows of a text: values of its head by name, rows of music with the section that begins
    at each (its index), and rows that are neither."""

    head: dict[str, str]
    music: tuple[MusicRow, ...]
    sections: dict[int, str]
    others: tuple[tuple[int, str], ...]


def rows_of(lines: Sequence[str], is_music: Callable[[str], bool]) -> Rows:
    """Return the rows of a text; ``is_music`` tells whether a row can be read as tones."""
    head: dict[str, str] = {}
    music: list[MusicRow] = []
    sections: dict[int, str] = {}
    others: list[tuple[int, str]] = []
    for number, line in enumerate(lines, start=1):
        row = line.strip()
        if not row or _COMMENT.match(row):
            continue
        played = _played(row)
        if is_music(played.text):
            music.append(played._replace(number=number))
            continue
        named = _SECTION.fullmatch(row)
        rest = _played(named[2]) if named else None
        if named and rest is not None and rest.text and is_music(rest.text):
            sections[len(music)] = named[1].strip()
            music.append(rest._replace(number=number))
        elif found := _headings(row):
            head = found | head
        elif (named and not named[2]) or row.strip(".:[]()").lower() in SECTION_WORDS:
            sections[len(music)] = named[1].strip() if named else row.strip(".:[]()")
        elif not music and not head.get("title") and not named:
            head["title"] = row
        else:
            others.append((number, row))
    return Rows(head, tuple(music), sections, tuple(others))


def _headings(row: str) -> dict[str, str]:
    """Return what a row of headings says; nothing where a part of it is none."""
    said: dict[str, str] = {}
    for part in _NEXT_HEADING.split(row):
        match = _HEADING.fullmatch(part)
        what = _HEADINGS.get(match[1].lower()) if match else None
        if match is None or what is None:
            return {}
        said.setdefault(what, match[2].strip())
    return said


def _played(row: str) -> MusicRow:
    """Return a row without its number, its repeat signs and how often it is played."""
    numbered = _NUMBERED.fullmatch(row)
    text = numbered[2] if numbered else row
    times = 1
    said = _TIMES.search(text)
    if said and 1 <= int(said[1] or said[2]) <= MOST_TIMES:
        times, text = int(said[1] or said[2]), text[: said.start()]
    opens = text.startswith(("|:", "[:", "||:"))
    closes = text.rstrip().endswith((":|", ":||", ":]"))
    if opens:
        text = re.sub(r"^\W{0,2}?:", "|", text)
    if closes:
        text = re.sub(r":[|\]]{1,2}\s*$", "|", text)
    return MusicRow(0, text.strip(), max(times, 2 if closes else 1), opens, closes)
