"""Estimates of the heights of what stands on a page, in mm, from the lengths of its texts.

The template measures the true heights; these choose the size of the music before it is drawn.
"""

from __future__ import annotations

from math import ceil

from cyclechart.arrange.roles.theka_rows import is_counted
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.files.paper_sizes import Paper
from cyclechart.write.paper.reading_notes import reading_notes

GAP, SYSTEM_GAP = 2.6, 1.2
"""The least distances before the first system of a strain and before the others."""

NAME, REMARK, TONES, STAFF_TEXT = 2.3, 1.75, 1.75, 1.6
"""The mean width of a letter of a strain's name, of its remark, of a soloist's tones, and of a text
in place of a staff."""

LETTER_BOX = 9.0
"""The width of a rehearsal letter with the space after it."""

LINE_WIDTH = 180.0
"""The width of a line on A4, for which letters are measured."""

_HEADING, _TONES, _CHANGE, _REST = 6.4, 4.6, 4.0, 6.4
_TITLE, _ROWS, _CYCLE_ROW, _ROAD_LINE = 12.0, 18.5, 5.2, 8.6
_SHORT_ROWS = 12.0
_KIT_KEY, _NOTES = 21.0, 5.0
_RESTS = 32.0
"""The width of cycles of rest in a row without a staff."""


def heading_lines(strain: Strain, share: float) -> int:
    """Return the number of lines of a strain's heading over a share of the line."""
    right = max(_RESTS, len(strain.staff_text) * STAFF_TEXT) if strain.silent else 0.0
    room = max(LINE_WIDTH * share - LETTER_BOX - right, LETTER_BOX)
    return max(
        1,
        ceil(
            (len(strain.name) * NAME + (len(strain.remark) + len(strain.note)) * REMARK + 3.0)
            / room
        ),
    )


def strain_height(strain: Strain, system: int, tall: float, share: float, paper: Paper) -> float:
    """Return the height of a system ``tall`` mm high with what stands over it; ``system``: its
    number, -1 for a strain without a staff."""
    text = paper.text
    if system < 0:
        return _REST * text * heading_lines(strain, share) + _CHANGE * bool(strain.next_change)
    if system:
        return tall
    over = _HEADING * text * heading_lines(strain, share)
    if strain.tones:
        over += _TONES * text * ceil(len(strain.tones) * TONES / LINE_WIDTH)
    return over + tall + _CHANGE * bool(strain.next_change)


def heading_height(sheet: Sheet, paper: Paper, kind: str) -> float:
    """Return the height of the heading of a chart; ``kind``: ``full`` or ``short``."""
    width = paper.width - 2 * paper.side
    text = paper.text
    title = _TITLE * text * max(1, ceil(len(sheet.title) / 42 * text))
    kit = sheet.reader is not None and sheet.reader.staff == "kit"
    keys = _KIT_KEY * kit + _NOTES * bool(reading_notes(sheet))
    if kind == "short":
        return title + _SHORT_ROWS * text + keys
    tables = 0.0
    across = 0.0
    for cycle in sheet.cycles:
        wide = float(cycle.beats) * 6.5 * text + 28.0
        rows = ceil(wide / width)
        high = (3 + is_counted(cycle)) * _CYCLE_ROW * text * rows
        if rows > 1 or across + wide > width or not across:
            tables, across = tables + high, wide
        else:
            across += wide
    boxes = sum(
        (len(box.name) + len(box.detail) + len(box.changes_text) + 4) * 1.5 * text + 7.0
        for box in sheet.road
    )
    road = ceil(boxes / (width * 0.92)) * _ROAD_LINE * text if sheet.road else 0.0
    return title + _ROWS * text + tables + road + keys
