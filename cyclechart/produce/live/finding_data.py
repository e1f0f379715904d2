"""Findings as the text pane shows them: plain texts, with places counted as the browser counts.

A browser counts a text in units of UTF-16, in which letters beyond U+FFFF have two.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from cyclechart.finding import Edit, Finding, Spot
from cyclechart.text.edits import offset_of, with_edits
from cyclechart.text.source import Source
from cyclechart.write.terminal.findings import show_place


class BrowserPlaces:
    """The places of a text in units of UTF-16."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self._long = [at for at, letter in enumerate(source.text) if letter > "\uffff"]

    def units(self, offset: int) -> int:
        """Return a character offset in units."""
        return offset + bisect_left(self._long, offset)

    def span(self, spot: Spot, *, most: int | None = None) -> tuple[int, int] | None:
        """Return the beginning and the end of a place; None for one in another file.

        ``most``: the most characters of it.
        """
        if spot.file != self.source.file:
            return None
        start = offset_of(self.source, spot)
        width = spot.width if most is None else min(spot.width, most)
        return self.units(start), self.units(min(start + width, len(self.source.text)))

    def row_span(self, spot: Spot) -> tuple[int, int] | None:
        """Return a place as far as it lies in its first row."""
        if spot.file != self.source.file:
            return None
        rest = len(self.source.line(spot.line)) - spot.column + 1
        return self.span(spot, most=max(0, rest))


def finding_data(finding: Finding, places: BrowserPlaces | None) -> dict[str, Any]:
    """Return a finding for the page. ``places``: those of the piece's text, None for no text."""
    spot = finding.spot
    taken = finding.liberty is not None
    place = f"{show_place(finding.place)}: " if finding.place else ""
    tries = () if taken else finding.suggestions
    return {
        "severity": "liberty" if taken else finding.severity,
        "rule": finding.rule,
        "file": Path(spot.file).name,
        "line": spot.line,
        "column": spot.column,
        "span": places.row_span(spot) if places else None,
        "message": place + finding.message,
        "taken": finding.liberty or "",
        "tries": [
            {"text": one.text, "edits": edit_data(one.edits, places) if places else []}
            for one in tries
        ],
    }


def edit_data(edits: Sequence[Edit], places: BrowserPlaces) -> list[tuple[int, int, str]]:
    """Return edits as (start, end, text) from the last to the first; [] where they cannot all be
    carried out in this text."""
    try:
        with_edits(places.source, edits)
    except ValueError:
        return []
    spans = [(places.span(one.spot), one.text) for one in dict.fromkeys(edits)]
    found = [(*span, text) for span, text in spans if span is not None]
    if len(found) < len(spans):
        return []
    # Of what is put in at one place the last is put in first: it ends up behind the others.
    return sorted(found, key=lambda one: one[:2])[::-1]


def findings_data(
    findings: Iterable[Finding], sources: dict[str, Source], file: str
) -> list[dict[str, Any]]:
    """Return findings for the page, in order."""
    source = sources.get(file)
    places = BrowserPlaces(source) if source is not None else None
    return [finding_data(one, places) for one in findings]
