"""How severe a fault of the text is, and in what order findings are told."""

from __future__ import annotations

from support.making import findings_of, with_heading

from cyclechart.finding import Finding
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


DERIVED = """
lines:
  head: {sargam: "S R - D - g - R || R - - - g - - - || S"}
  low: {from: head, move: -7}
"""


def _of(rule: str, text: str) -> list[Finding]:
    heading = {"mode": "bhimpalasi", "cycle": "keherwa"}
    return [one for one in findings_of(with_heading(text, **heading)) if one.rule == rule]


def test_advice_on_a_line_from_another_is_one_finding_that_counts_its_places() -> None:
    every = _of("weak-rest", DERIVED)
    each = [one for one in every if one.place and one.place.within == "head"]
    (one,) = [one for one in every if one.place and one.place.within == "low"]
    assert len(each) > 2
    assert one.message.endswith(f" (and {len(each) - 1} more places)")
    assert one.place is not None
    assert each[0].place is not None
    assert (one.place.cycle, one.place.beat) == (each[0].place.cycle, each[0].place.beat)


def test_a_liberty_covers_its_tone_alone_among_the_places_of_a_line() -> None:
    liberty = "liberties:\n  - {rule: weak-rest, line: low, tone: R, why: so}\n"
    found = [one for one in _of("weak-rest", DERIVED + liberty) if one.place]
    low = {(one.tone, one.liberty) for one in found if one.place and one.place.within == "low"}
    assert low == {("R", "so"), ("D", None)}
    assert not _of("unused-liberty", DERIVED + liberty)


def test_errors_on_a_line_from_another_stay_apart() -> None:
    text = "lines:\n  head: {sargam: S g m P n P m g || S}\n  far: {from: head, mode: marwa}\n"
    found = [one for one in _of("foreign-tone", text) if one.place and one.place.within == "far"]
    assert len(found) > 1
    assert not any("more place" in one.message for one in found)
    assert len({one.tries for one in found}) == 1
