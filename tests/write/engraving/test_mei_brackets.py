"""Brackets and open ties in the engraver's own document."""

from __future__ import annotations

import pytest
from lxml import etree
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.engraving.engraver_facts import MEI, XML_ID
from cyclechart.write.engraving.mei_brackets import add_brackets, bracket_id, needs_brackets

TIHAI = "cadence: {sargam: 'P [m G]x2 [R G R]tigun S', gap: 1/2}"
NESTED = "sargam: '[S [R G m]x2]x2 [m [R G m]x2]x2 P'"
PLAIN = "sargam: S R m P"


def strain_of(text: str) -> Strain:
    return sheet_of(piece_of(f"lines:\n  head:\n    {text}\n", cycle="tintal")).strains[0]


def mei_of(strain: Strain, part: str = "", per_measure: int = 4) -> str:
    """A document with the notes of a strain, a system to every two measures."""
    measures = []
    for start in range(0, len(strain.notes), per_measure):
        notes = "".join(
            f'<note xml:id="{part}n-{strain.letter}-{at}"/>'
            f'<note xml:id="{part}n-{strain.letter}-{at}-1"/>'
            for at in range(start, min(start + per_measure, len(strain.notes)))
        )
        turn = "<sb/>" if start and start // per_measure % 2 == 0 else ""
        staff = f'<staff n="{part[1:-1] or 1}">{notes}</staff>'
        measures.append(f'{turn}<measure n="{start // per_measure}">{staff}</measure>')
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<mei xmlns="http://www.music-encoding.org/ns/mei">'
        f"<section>{''.join(measures)}</section></mei>"
    )


def brackets(mei: str) -> list[etree._Element]:
    return list(etree.fromstring(mei).iter(f"{MEI}bracketSpan"))


def test_a_strain_without_spans_needs_no_brackets() -> None:
    assert needs_brackets(strain_of(TIHAI)) and needs_brackets(strain_of(NESTED))
    assert not needs_brackets(strain_of(PLAIN))


@pytest.mark.parametrize("text", [TIHAI, NESTED])
def test_a_bracket_goes_from_its_first_note_to_the_last_of_its_last(text: str) -> None:
    strain = strain_of(text)
    found = {one.get(XML_ID): one for one in brackets(add_brackets(mei_of(strain), [strain]))}
    assert len(found) == len(strain.brackets)
    for number, span in enumerate(strain.brackets):
        bracket = found[bracket_id(strain, number, 0)]
        assert bracket.get("startid") == f"#n-{strain.letter}-{span.first}"
        assert bracket.get("endid") == f"#n-{strain.letter}-{span.last}-1"
        assert bracket.get("lform") == ("solid" if span.kind == "statement" else "dashed")


def test_a_bracket_stands_in_the_first_measure_of_the_system_that_it_begins_in() -> None:
    strain = strain_of(NESTED)
    for bracket in brackets(add_brackets(mei_of(strain, per_measure=2), [strain])):
        measure = bracket.getparent()
        assert measure is not None
        first = int(bracket.get("startid", "").rpartition("-")[2])
        assert int(measure.get("n", "")) == first // 2 // 2 * 2


@pytest.mark.parametrize("text", [TIHAI, NESTED])
def test_short_brackets_stand_before_long_ones_and_statements_last(text: str) -> None:
    strain = strain_of(text)
    spans = {
        bracket_id(strain, number, 0): (span.kind == "statement", span.last - span.first)
        for number, span in enumerate(strain.brackets)
    }
    whole = brackets(add_brackets(mei_of(strain, per_measure=100), [strain]))
    order = [spans[one.get(XML_ID, "")] for one in whole]
    assert len(order) > 1 and order == sorted(order)


def test_the_brackets_of_a_score_are_those_of_their_parts() -> None:
    strain = strain_of(NESTED)
    upper, lower = mei_of(strain, "p1-"), mei_of(strain, "p2-")
    both = upper.replace("</section></mei>", lower[lower.index("<measure") :])
    found = brackets(add_brackets(both, [strain, strain]))
    assert len(found) == 2 * len(strain.brackets)
    for bracket in found:
        part = bracket.get("staff")
        for key in (XML_ID, "startid", "endid"):
            assert bracket.get(key, "").removeprefix("#").startswith(f"p{part}-")
