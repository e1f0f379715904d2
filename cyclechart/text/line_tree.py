"""The text of a line as a tree: cells, section lines, groups at a speed, repeats, slurs.

    line    = { bar | cell | group | repeat | slur } ;     separated by white space
    cell    = element { element } [ "/" integer ] ;
    element = [ "~" ] { mark } [ "{" tone { tone } "}" ] tone [ "~" ] | "-" | "z" ;
    mark    = "!" name "!" | "!" '"' words '"' "!" ;
    group   = "[" line "]" ( "x" ratio | word ) ;
    repeat  = "(" line ")" "*" integer ;   slur = "(" line ")" ;

``words`` are any on one line, but for a double quote before an exclamation mark; a note has one
text. A slur has at least two notes and no slur in it.

Nothing here knows of time: ``timing`` turns the tree into strikes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from cyclechart.text.scripts import Script, Value

MAX_ELEMENTS_IN_CELL = 16
MAX_DIVISOR = 64
MAX_SPEED = 64
MAX_TIMES = 1000
MAX_DEPTH = 8
MAX_TEXT = 60
"""Characters of the words above a note."""

SPEEDS = {
    "dugun": Fraction(2),
    "tigun": Fraction(3),
    "chaugun": Fraction(4),
    "adi": Fraction(3, 2),
    "kuadi": Fraction(5, 4),
    "biadi": Fraction(7, 4),
}
"""The trade's words for a speed. Schools differ on the last three; these are the plain ones."""

ORNAMENTS = ("andolan", "gamak", "mordent", "trill", "plain")
"""``plain``: without the shake that the mode gives the tone."""
ACCENTS = ("accent", "staccato", "tenuto", "fermata")
DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff")
HAIRPINS = ("cresc", "dim")
"""Louder or softer step by step, until the next of these or the next dynamic."""
CUT = "cut"
"""The note is stopped short, and silence follows until the next one."""
MARKS = (*ORNAMENTS, *ACCENTS, *DYNAMICS, *HAIRPINS, CUT)


@dataclass(frozen=True, slots=True)
class Element:
    """One element of a cell. ``at`` and ``width`` are its characters in the passage."""

    kind: Literal["note", "hold", "rest"]
    value: Value | None = None
    grace: tuple[Value, ...] = ()
    marks: tuple[str, ...] = ()
    text: str = field(default="", kw_only=True)
    """Words above it."""
    glide_in: bool = False
    glide_out: bool = False
    at: int = field(default=0, compare=False)
    width: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Cell:
    """Elements that share 1/``parts`` of a beat evenly."""

    elements: tuple[Element, ...]
    parts: int = 1
    at: int = field(default=0, compare=False)
    width: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class SectionMark:
    """A section line; a ``double`` one says that the first beat falls next."""

    double: bool
    at: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Group:
    """Items at ``speed`` times the speed around them; ``word``: the trade's, if one is written."""

    items: tuple[Item, ...]
    speed: Fraction
    at: int = field(default=0, compare=False)
    width: int = field(default=1, compare=False)
    word: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Repeat:
    """Items said ``times`` times."""

    items: tuple[Item, ...]
    times: int
    at: int = field(default=0, compare=False)
    width: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Slur:
    """Items under one slur, from the first note in them to the last."""

    items: tuple[Item, ...]
    at: int = field(default=0, compare=False)
    width: int = field(default=1, compare=False)


Item = Cell | SectionMark | Group | Repeat | Slur


def struck(items: Iterable[Item]) -> Iterator[Element]:
    """Yield the notes of some items as written, those of a repeat once."""
    for item in items:
        if isinstance(item, Cell):
            yield from (element for element in item.elements if element.kind == "note")
        elif not isinstance(item, SectionMark):
            yield from struck(item.items)


def has_slur(items: Iterable[Item]) -> bool:
    """Return whether there is a slur among some items, or in them."""
    return any(
        isinstance(item, Slur) or (isinstance(item, Group | Repeat) and has_slur(item.items))
        for item in items
    )


def write_items(items: Iterable[Item], script: Script) -> str:
    """The tree as text again: ``read_line`` of it gives the same tree."""
    return " ".join(_write(item, script) for item in items)


def _write(item: Item, script: Script) -> str:
    if isinstance(item, SectionMark):
        return "||" if item.double else "|"
    if isinstance(item, Group):
        return f"[{write_items(item.items, script)}]x{item.speed}"
    if isinstance(item, Repeat):
        return f"({write_items(item.items, script)})*{item.times}"
    if isinstance(item, Slur):
        return f"({write_items(item.items, script)})"
    return write_cell(item, script)


def write_cell(cell: Cell, script: Script) -> str:
    """One cell as text; drum syllables and chord symbols are separated by '.'."""
    texts: list[str] = []
    for element in cell.elements:
        text = _write_element(element, script)
        joins = script.name == "strokes" and bool(texts) and texts[-1][-1].isalpha()
        if (joins and text[0].isalpha()) or (script.find is not None and _both_chords(texts, text)):
            texts.append(".")
        texts.append(text)
    return "".join(texts) + (f"/{cell.parts}" if cell.parts != 1 else "")


def _both_chords(texts: list[str], text: str) -> bool:
    """Return whether two chord symbols meet, which might be read as one."""
    return bool(texts) and texts[-1] not in ("-", "z") and text not in ("-", "z")


def _write_element(element: Element, script: Script) -> str:
    if element.kind != "note" or element.value is None:
        return "-" if element.kind == "hold" else "z"
    joint = "." if script.name == "strokes" else ""
    grace = joint.join(script.write(value) for value in element.grace)
    return (
        ("~" if element.glide_in else "")
        + "".join(f"!{mark}!" for mark in element.marks)
        + (f'!"{element.text}"!' if element.text else "")
        + (f"{{{grace}}}" if grace else "")
        + script.write(element.value)
        + ("~" if element.glide_out else "")
    )
