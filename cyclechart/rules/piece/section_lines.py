"""The rule over section lines: do they stand where the sections of the cycle begin?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.line import Line
from cyclechart.piece.line_text_edits import section_line_removed, section_lines_moved
from cyclechart.piece.model import Piece
from cyclechart.rules.rule import Rule, in_each_cycle, place_of, rule
from cyclechart.text.timing import SectionLine
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact


@rule("error")
def section_line_astray(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A | is not where a section of the cycle begins, or a || is not before a first beat.

    Of several that are off by the same amount only the first is reported: look for the missing or
    extra beat before it.

    wrong:  (charukeshi, jhaptal)  sargam: S R G | m P | d n S' | n d
    right:  (charukeshi, jhaptal)  sargam: S R | G m P | d n | S' n d
    """

    def find(line: Line, cycle: Cycle) -> Iterator[Finding]:
        reported: Fraction | None = None
        for bar in line.section_lines:
            if stands(cycle, line, bar):
                continue
            position = line.begins - 1 + bar.offset
            nearest = cycle.nearest_start(position, bar.double)
            off = nearest - position
            if off == reported:
                continue
            reported = off
            place = place_of(piece, line, bar.offset, cycle)
            beat = show_exact(cycle.place(position)[1])
            there = show_exact(cycle.place(nearest)[1])
            sign, what = ("||", "cycle") if bar.double else ("|", "section")
            message = (
                f"'{sign}' stands before beat {beat}, where no {what} begins; "
                f"the nearest {what} begins on beat {there}"
            )
            yield this.found(bar.spot, message, _mended(piece, line, cycle, bar, off), place=place)

    return in_each_cycle(piece, find)


def _mended(piece: Piece, line: Line, cycle: Cycle, bar: SectionLine, off: Fraction) -> Suggestion:
    """Return the try for a section line that is off by so much in one of the line's cycles."""
    moved = replace(bar, offset=bar.offset + off)
    cycles = piece.cycles_of(line.name)
    if all(stands(cycle, line, moved) for cycle in cycles):
        side = "later" if off > 0 else "earlier"
        words = (
            f"move it {show_beats(abs(off))} {side}, or look for a missing or extra beat before it"
        )
        alike = _off_alike(line, cycle, bar, off)
        return Suggestion(words, section_lines_moved(piece, line, alike, off))
    sections = "first beat" if bar.double else "section"
    words = (
        f"leave it out: no {sections} begins there in all cycles that '{line.name}' is played in"
    )
    return Suggestion(words, section_line_removed(piece, line, bar))


def _off_alike(line: Line, cycle: Cycle, first: SectionLine, off: Fraction) -> list[SectionLine]:
    """Return a section line and those after it that are off by as much, up to one by another."""
    alike = []
    for bar in line.section_lines[line.section_lines.index(first) :]:
        if stands(cycle, line, bar):
            continue
        position = line.begins - 1 + bar.offset
        if cycle.nearest_start(position, bar.double) - position != off:
            break
        alike.append(bar)
    return alike


def stands(cycle: Cycle, line: Line, bar: SectionLine) -> bool:
    """Return whether a section line stands where a section (or for ``||`` the cycle) begins."""
    position = (line.begins - 1 + bar.offset) % cycle.beats
    return position in ((0,) if bar.double else cycle.starts)
