"""The rules of leaning where a case file cannot say it: faulty texts, lines made of others."""

from __future__ import annotations

from support.making import findings_of, with_heading

LEANING = {"weak-rest", "vadi-faint", "own-phrase-missing"}


def told(text: str) -> list[tuple[str, int]]:
    """Rule and line of each finding of leaning, the heading's lines not counted."""
    whole = with_heading(text, cycle="keherwa")
    above = whole.count("\n") - text.count("\n")
    return [(f.rule, f.spot.line - above) for f in findings_of(whole) if f.rule in LEANING]


def test_of_a_line_that_could_not_be_read_whole_nothing_is_said() -> None:
    text = "mode: bhimpalasi\nlines:\n  head: {{lands: free, sargam: (P g P {} P g)*5}}\n"
    assert {rule for rule, _ in told(text.format("R"))} == LEANING
    assert told(text.format("Q")) == []


def test_a_part_of_a_chain_ends_no_breath_of_its_own() -> None:
    parts = "mode: bhimpalasi\nlines:\n  one: {sargam: S m g R}\n  two: {sargam: S m S m}\n"
    assert ("weak-rest", 3) in told(parts)
    assert ("weak-rest", 3) not in told(f"{parts}  whole: {{chain: [one, two]}}\n")


def test_a_liberty_covers_a_weak_rest() -> None:
    text = (
        "mode: bhimpalasi\nlines:\n  head: {lands: free, sargam: S m g R}\n"
        "liberties:\n  - {rule: weak-rest, line: head, tone: R, why: left open for the drums}\n"
    )
    found = [f for f in findings_of(with_heading(text)) if "rest" in f.rule or "unused" in f.rule]
    assert [(f.rule, f.liberty) for f in found] == [("weak-rest", "left open for the drums")]
