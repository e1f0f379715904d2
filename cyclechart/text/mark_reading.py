"""Reading what stands before a note of a line: decorations and the words above it; slurs."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from typing import NamedTuple

from cyclechart.finding import Finding, Spot, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.line_tree import HAIRPINS, MARKS, MAX_TEXT, Slur, has_slur, struck
from cyclechart.text.near_names import nearest_names
from cyclechart.text.passage_edits import instead
from cyclechart.text.source import PlacedText

WORDS = r'!"(?:[^"\n]|"(?!!))*"!'
"""The pattern of words above a note, with their quotes."""

_EXAMPLE = '!"on cue"!S'
_MARK = re.compile(r"!([A-Za-z]{1,20})!")
_WORDS = re.compile(WORDS)
_CONTROLS = frozenset(("Cc", "Cs", "Zl", "Zp"))


def has_open_words(cell: str) -> bool:
    """Return whether words begin in a cell and do not end there."""
    return '!"' in cell and '!"' in _WORDS.sub("", cell)


class Marks(NamedTuple):
    """The decorations and the words before a note; ``end`` is where they end in the cell."""

    names: tuple[str, ...]
    text: str
    end: int


def marks_at(
    body: str, at: int, start: int, passage: PlacedText, allowed: Collection[str] = MARKS
) -> Marks | Finding:
    """Return the marks at an index of a cell that begins at ``start``, or what is wrong in them.

    ``allowed``: the decorations that a note of the script can have.
    """
    first = at
    names: list[str] = []
    text = ""
    while at < len(body) and body[at] == "!":
        words = _WORDS.match(body, at)
        if words is not None:
            said = words[0][2:-2]
            fault = _words_fault(said, start + at, len(words[0]), text, passage)
            if fault is not None:
                return fault
            text, at = said, words.end()
            continue
        mark = _MARK.match(body, at)
        if not mark or mark[1] not in allowed:
            return _bad_mark(body, at, start, mark, passage, allowed)
        names.append(mark[1])
        at = mark.end()
    if names and set(HAIRPINS) <= set(names):
        spot = passage.spot(start + first, at - first)
        what = "a note cannot grow louder and softer at once"
        return reading_rules.bad_cell(spot, what, ["keep one of the two"])
    return Marks(tuple(names), text, at)


def no_note(written: str, sign: str, at: int, passage: PlacedText) -> Finding:
    """Return the finding on what is ``written`` before a hold or a rest and needs a note."""
    before = "a held note (-)" if sign == "-" else "a rest (z)"
    what = f"'{clip(written)}' must stand before a note, not before {before}"
    return reading_rules.bad_cell(passage.spot(at), what, ["put it before a note"])


def no_tone(spot: Spot, before: str, after: str) -> Finding:
    """Return the finding on a cell that ends where a tone is due, between two characters."""
    if before == "!" and after in ("(", "["):
        what = f"what is between ! ! stands before a note: after the '{after}'"
        return reading_rules.bad_cell(spot, what, [f"{after}!accent!S"])
    return reading_rules.bad_cell(spot, f"a tone is missing after '{before}'")


def slur_fault(slur: Slur, passage: PlacedText) -> Finding | None:
    """Return what is wrong with what stands under a slur."""
    spot = passage.spot(slur.at, slur.width)
    notes = list(struck(slur.items))
    if has_slur(slur.items):
        what = "a slur cannot be inside another slur"
        return reading_rules.bad_cell(spot, what, ["(P m) (G R)"])
    if any(not isinstance(note.value, int) for note in notes):
        what = "a slur joins tones; strokes have none"
        return reading_rules.bad_cell(spot, what, ["for a repeat: ( )*3"])
    if len(notes) < 2:
        count = "one note" if notes else "no note"
        what = f"a slur goes from one note to another; there is {count} in this one"
        return reading_rules.bad_cell(spot, what, ["(P m G)", "for a repeat: ( )*3"])
    return None


def _words_fault(
    text: str, at: int, width: int, before: str, passage: PlacedText
) -> Finding | None:
    """Return why words cannot stand above a note that has the words ``before`` already."""
    spot = passage.spot(at, width)
    if not text.strip():
        return reading_rules.bad_cell(spot, "there are no words between the quotes", [_EXAMPLE])
    if any(unicodedata.category(sign) in _CONTROLS for sign in text):
        what = "words above a note cannot have control characters"
        return reading_rules.bad_cell(spot, what, [_EXAMPLE])
    if len(text) > MAX_TEXT:
        what = f"words above a note have at most {MAX_TEXT} characters, not {len(text)}"
        return reading_rules.too_long(spot, what, ["put the rest above a later note"])
    if before:
        what = "a note has one text above it"
        return reading_rules.bad_cell(spot, what, ["put both into one pair of quotes"])
    return None


def _bad_mark(
    body: str,
    at: int,
    start: int,
    mark: re.Match[str] | None,
    passage: PlacedText,
    allowed: Collection[str],
) -> Finding:
    if mark is not None:
        spot = passage.spot(start + at, len(mark[0]))
        close = nearest_names(mark[1], allowed, 2)
        tries: list[str | Suggestion] = [
            instead(passage, start + at, len(mark[0]), f"!{name}!") for name in close
        ]
        tries = tries or ["one of: " + ", ".join(allowed)]
        what = f"there is no decoration '{mark[1]}'"
        if mark[1] in MARKS:
            what = f"a drum cannot have !{mark[1]}!"
        return reading_rules.bad_cell(spot, what, tries)
    what, tries = "a decoration needs a '!' on each side", ["!accent!S"]
    if body.startswith('!"', at):
        what = "words above a note need quotes and a '!' on each side, all on one line"
        tries = [_EXAMPLE]
    return reading_rules.unclosed(passage.spot(start + at), what, tries)
