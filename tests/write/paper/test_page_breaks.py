"""Where a page may turn: what a turn cuts, and whether there is a rest to turn in."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from support.making import load_text, piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.paper.page_breaks import (
    CUT,
    HURRIED,
    WITHIN,
    break_between,
    break_within,
    cadence_spans,
)

TEMPO = Fraction(60)
LINES = (
    "lines:\n  head: {sargam: S R G m | P d n S' | n d P m | G R S z}\n"
    "  busy: {sargam: S R G m | P d n S' | n d P m | G R S R}\n"
)


def strains_of(form: str) -> list[Strain]:
    text = f"players:\n  flute: {{plays: melody}}\n{LINES}form:\n{form}"
    piece = piece_of(text, cycle="tintal")
    return list(part_sheet(Band(piece), piece.players[0]).strains)


def test_a_turn_within_a_repeat_cuts_it_and_one_before_it_does_not() -> None:
    (strain,) = strains_of("  - play: head\n    times: 2\n")
    measures = strain.measures
    assert measures[0].forward
    assert all(break_within(strain, at, TEMPO).cuts for at in range(1, len(measures)))
    plain = replace(strain, measures=tuple(replace(m, forward=False, times=0) for m in measures))
    assert not any(break_within(plain, at, TEMPO).cuts for at in range(1, len(measures)))


def test_a_turn_between_two_endings_cuts_them() -> None:
    (strain,) = strains_of("  - play: head\n")
    first, second = (replace(m, ending=(n,)) for n, m in enumerate(strain.measures[2:4], start=1))
    ended = replace(strain, measures=(*strain.measures[:2], replace(first, times=2), second))
    assert break_within(ended, 3, TEMPO).cuts


def test_a_turn_within_the_statements_of_a_cadence_cuts_it() -> None:
    piece = piece_of("lines:\n  out:\n    cadence: {sargam: S R G m P}\n")
    (strain,) = sheet_of(piece).strains
    ((start, end),) = cadence_spans(strain)
    assert end > start
    for at, measure in enumerate(strain.measures[1:], start=1):
        assert break_within(strain, at, TEMPO).cuts == (start < measure.start <= end)


@pytest.mark.parametrize(("tempo", "hurried"), [(30, False), (120, True)])
def test_a_turn_needs_two_seconds_of_rest(tempo: int, hurried: bool) -> None:
    # One beat of rest at the end: two seconds at 30 a minute, half a second at 120.
    one, two = strains_of("  - play: head\n  - play: busy\n")
    found = break_between(one, two, Fraction(tempo))
    assert found.hurried == hurried
    assert found.cost == HURRIED * hurried


def test_what_a_turn_costs() -> None:
    (strain,) = strains_of("  - play: head\n    times: 2\n")
    assert break_within(strain, 1, TEMPO).cost == CUT + WITHIN + HURRIED
    assert CUT > 10 > WITHIN + HURRIED  # a page costs 10: rather a page more than a repeat cut


def test_a_step_may_ask_for_a_page() -> None:
    one, two = strains_of("  - play: head\n  - play: busy\n    break: page\n")
    assert break_between(one, two, TEMPO).asked
    assert not break_between(two, one, TEMPO).asked


def test_a_break_is_page_or_system() -> None:
    text = f"{LINES}form:\n  - play: head\n    break: line\n"
    heading = "title: T\ntonic: C\nmode: charukeshi\ncycle: tintal\ntempo: 90\n"
    found = load_text(heading + text).findings
    assert [(f.rule, f.message) for f in found] == [
        ("wrong-value", "break must be page or system, not 'line'")
    ]
