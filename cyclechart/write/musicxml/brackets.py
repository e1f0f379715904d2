"""Brackets over notes, with their labels: the statements of a cadence, groups at a speed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from cyclechart.arrange.sheet.brackets import Bracket
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub

LEVELS = 16
"""The most brackets that may be open at once: MusicXML numbers them from 1."""


class BracketWriter:
    """Opens and closes the brackets of a strain as its notes are written to MusicXML."""

    def __init__(self, spans: Iterable[Bracket]) -> None:
        self.starts: defaultdict[int, list[Bracket]] = defaultdict(list)
        self.ends: defaultdict[int, list[Bracket]] = defaultdict(list)
        self.numbers: dict[Bracket, int] = {}
        for span in spans:
            self.starts[span.first].append(span)
            self.ends[span.last].append(span)

    def open(self, measure: Element, index: int) -> None:
        """Add the starts of brackets before the first written value of a note."""
        for span in self.starts.get(index, ()):
            if span.label:
                words = _direction(measure, "words")
                words.set("font-style", "italic")
                words.text = span.label
            taken = set(self.numbers.values())
            number = next(n for n in range(1, LEVELS + 1) if n not in taken)
            self.numbers[span] = number
            _bracket(measure, "start", number, span)

    def close(self, measure: Element, index: int) -> None:
        """Add the ends of brackets after the last written value of a note."""
        for span in self.ends.get(index, ()):
            _bracket(measure, "stop", self.numbers.pop(span), span)


def _direction(measure: Element, kind: str) -> Element:
    direction = _sub(measure, "direction", placement="above")
    return _sub(_sub(direction, "direction-type"), kind)


def _bracket(measure: Element, kind: str, number: int, span: Bracket) -> None:
    bracket = _direction(measure, "bracket")
    bracket.set("type", kind)
    bracket.set("number", str(number))
    bracket.set("line-end", "down")
    bracket.set("line-type", "solid" if span.kind == "statement" else "dashed")
