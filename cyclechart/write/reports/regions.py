"""Places of a file from where to where, as reports name them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.text.edits import offset_of
from cyclechart.text.source import Source


class Region(NamedTuple):
    """A part of a file: lines and columns from 1, in characters; its end is not in it."""

    line: int
    column: int
    end_line: int
    end_column: int


def region_of(spot: Spot, sources: Mapping[str, Source]) -> Region:
    """Return the region of a place; within its line where the text of its file is not known."""
    source = sources.get(spot.file)
    if source is not None and spot.width:
        end = offset_of(source, spot) + spot.width
        last = source.spot(end)
        if end <= len(source.text):
            return Region(spot.line, spot.column, last.line, last.column)
    return Region(spot.line, spot.column, spot.line, spot.column + spot.width)
