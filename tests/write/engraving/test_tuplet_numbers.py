"""Tuplet numbers off the staff, and nothing else moved."""

from __future__ import annotations

from cyclechart.write.engraving.tuplet_numbers import CLEAR, cleared

STAFF = '<g id="s" class="staff"><path d="M0 1311 L5732 1311" stroke-width="13" />{}</g>'
NUMBER = (
    '<g id="t" class="tupletNum"> <use xlink:href="#E883-x" transform="translate(100, {})'
    ' scale(0.72, 0.72)" /></g>'
)


def test_a_number_on_the_staff_is_taken_above_it() -> None:
    assert cleared(STAFF.format(NUMBER.format(1345))) == STAFF.format(NUMBER.format(1311 - CLEAR))


def test_a_number_above_or_below_stays() -> None:
    for foot in (1200, 2400):
        svg = STAFF.format(NUMBER.format(foot))
        assert cleared(svg) == svg


def test_each_staff_of_a_score_is_its_own() -> None:
    lower = STAFF.replace("1311", "4000")
    svg = STAFF.format("") + lower.format(NUMBER.format(4100))
    assert f"translate(100, {4000 - CLEAR})" in cleared(svg)
