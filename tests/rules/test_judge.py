"""How severe a fault of the text is, and in what order findings are told."""

from __future__ import annotations

from support.making import findings_of, with_heading

from cyclechart.rules.judge import in_order, severity_of


def test_a_lost_comment_is_a_warning_and_an_unknown_tone_an_error() -> None:
    assert severity_of("lost-to-comment") == severity_of("one-tone-phrase") == "warning"
    assert severity_of("unknown-tone") == "error"


def test_findings_are_told_once_each_from_the_top_of_the_file() -> None:
    lines = "lines:\n  head: {sargam: S R X m}\n  tail: {sargam: S Q G m}\n"
    found = findings_of(with_heading(lines))
    places = [(one.spot.line, one.spot.column) for one in found if one.spot]
    assert len(places) > 1
    assert places == sorted(places)
    assert in_order([*found[::-1], *found]) == found
