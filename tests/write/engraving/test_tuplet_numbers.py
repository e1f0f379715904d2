"""Tuplet numbers off the staff, and nothing else moved."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.tuplet_numbers import CLEARANCE, fix_tuplet_numbers

STAFF = '<g id="s" class="staff"><path d="M0 1311 L5732 1311" stroke-width="13" />{}</g>'
NUMBER = (
    '<g id="t" class="tupletNum"> <use xlink:href="#E883-x" transform="translate(100, {})'
    ' scale(0.72, 0.72)" /></g>'
)


def drawing(*parts: str) -> Drawing:
    return Drawing(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
        f"{''.join(parts)}</svg>"
    )


def unfixed(*parts: str) -> str:
    return drawing(*parts).svg


def fixed(*parts: str) -> str:
    one = drawing(*parts)
    fix_tuplet_numbers(one)
    return one.svg


def test_a_number_on_the_staff_is_taken_above_it() -> None:
    assert fixed(STAFF.format(NUMBER.format(1345))) == unfixed(
        STAFF.format(NUMBER.format(1311 - CLEARANCE))
    )


def test_a_number_above_or_below_stays() -> None:
    for foot in (1200, 2400):
        svg = STAFF.format(NUMBER.format(foot))
        assert fixed(svg) == unfixed(svg)


def test_each_staff_of_a_score_is_its_own() -> None:
    lower = STAFF.replace("1311", "4000")
    svg = STAFF.format("") + lower.format(NUMBER.format(4100))
    assert f"translate(100, {4000 - CLEARANCE})" in fixed(svg)


def test_a_number_of_two_figures_stays_together() -> None:
    figures = NUMBER.replace("</g>", "").format(1345) + (
        '<use xlink:href="#E881-x" transform="translate(240, 1345) scale(0.72, 0.72)" /></g>'
    )
    assert fixed(STAFF.format(figures)).count(f", {1311 - CLEARANCE}) scale") == 2
