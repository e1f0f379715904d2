"""What is offered about findings."""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.making import with_heading

from cyclechart.editor.analysis import Analysis
from cyclechart.editor.code_actions import Action, actions
from cyclechart.finding import Edit, Finding, Place, Spot, Suggestion
from cyclechart.text.edits import with_edits

PIECE = with_heading("lines:\n  head: {sargam: S R | G m P | d N | S' n d}\n")
WHERE = PIECE.index("N |")


def analysed(*suggestions: Suggestion, rule: str = "foreign-tone", **more: object) -> Analysis:
    """A piece with one finding, on its N."""
    analysis = Analysis("x.yaml", PIECE, None)
    spot = analysis.source.spot(WHERE)
    place = Place("head", 1, Fraction(7))
    finding = Finding(rule, "error", spot, "wrong", suggestions, place, "N", **more)  # type: ignore[arg-type]
    vars(analysis)["findings"] = [finding]
    return analysis


def at_n(analysis: Analysis) -> list[Action]:
    return list(actions(analysis, WHERE, WHERE))


def test_every_suggestion_with_edits_is_an_action() -> None:
    spot = Analysis("x.yaml", PIECE, None).source.spot(WHERE)
    found = at_n(
        analysed(
            Suggestion("ask your teacher"),
            Suggestion("write n for N", (Edit(spot, "n"),)),
            Suggestion("write P for N\nand so on", (Edit(spot, "P"),)),
            Suggestion("elsewhere", (Edit(Spot("y.yaml", 1, 1), ""),)),
        )
    )
    assert [(one.title, one.plain) for one in found] == [
        ("write n for N", True),
        ("write P for N", False),
        ("take it as a liberty: foreign-tone of N", False),
    ]
    new = with_edits(Analysis("x.yaml", PIECE, None).source, found[0].edits)
    assert new == PIECE.replace("N", "n")


def test_nothing_is_offered_elsewhere_or_where_it_is_a_liberty_already() -> None:
    assert list(actions(analysed(), 0, 0)) == []
    assert list(actions(analysed(), WHERE + 2, WHERE + 9)) == []
    assert at_n(analysed(liberty="the joke of the tune")) == []


@pytest.mark.parametrize("rule", ["unreadable", "unused-liberty", "unknown-key"])
def test_what_no_liberty_covers_is_not_offered_as_one(rule: str) -> None:
    assert at_n(analysed(rule=rule)) == []
