"""Brackets over notes, in the published MusicXML and in the engraved systems."""

from __future__ import annotations

import html
import re

import pytest
from lxml import etree
from support.making import piece_of
from support.reading_musicxml import parsed, schema

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.musicxml.document import score_xml

TIHAI = "cadence: {sargam: 'P [m G]x2 [R G R]tigun S', gap: 1/2}"
CHAKRADAR = "cadence: {gap: 0, within: 6, cadence: {gap: 0, sargam: P m GR G S, body: (S R G m)*3}}"
NESTED = "sargam: '[S [R G m]x2]x2 [m [R G m]x2]x2 P'"
ONE = "cadence: {sargam: S}"
CASES = [TIHAI, CHAKRADAR, NESTED, ONE]


def sheet(text: str) -> Sheet:
    return sheet_of(piece_of(f"lines:\n  head:\n    {text}\n", cycle="tintal"))


@pytest.mark.parametrize("text", CASES)
def test_every_bracket_that_is_opened_is_closed(text: str) -> None:
    made = sheet(text)
    root = parsed(score_xml(made))
    schema().assertValid(root)
    open_now: dict[str, str] = {}
    seen = 0
    for bracket in root.iter("bracket"):
        number = bracket.get("number", "")
        if bracket.get("type") == "start":
            assert number not in open_now
            open_now[number] = bracket.get("line-type", "")
            seen += 1
        else:
            assert open_now.pop(number) == bracket.get("line-type")
    assert not open_now
    assert seen == len(made.strains[0].brackets)


@pytest.mark.parametrize("text", CASES)
def test_the_engraver_draws_each_bracket_from_its_first_note_to_its_last(text: str) -> None:
    made = sheet(text)
    (strain,) = made.strains
    systems = engrave(made, strain, first=True).systems
    for number, span in enumerate(strain.brackets):
        name = f"b-{strain.letter}-{number}"
        parts = [
            (at, int(line[1]), int(line[2]))
            for at, svg in enumerate(systems)
            for drawn in re.finditer(rf'<g [^>]*{name}[" ].*?</g>', svg, re.DOTALL)
            if (line := re.search(r'd="M(\d+) \d+ L(\d+)', drawn[0]))
        ]
        if span.first == span.last:
            continue
        first, last = place(systems, f"n-A-{span.first}"), place(systems, f"n-A-{span.last}")
        assert (parts[0][0], parts[-1][0]) == (first[0], last[0])
        assert abs(parts[0][1] - first[1]) < 150
        assert parts[-1][2] > last[1]


def place(systems: list[str], name: str) -> tuple[int, int]:
    """The system a note stands in and how far along its head is."""
    for at, svg in enumerate(systems):
        note = svg.find(f'<g id="{name}"')
        if note >= 0:
            head = re.search(r"<use [^>]*translate\((\d+),", svg[note:])
            assert head
            return at, int(head[1])
    raise AssertionError(name)


@pytest.mark.parametrize("text", CASES[:3])
def test_every_label_is_shown_once(text: str) -> None:
    made = sheet(text)
    (strain,) = made.strains
    shown = "".join(engrave(made, strain, first=True).systems)
    texts = [html.unescape(found) for found in re.findall(r'italic">([^<]*)</text>', shown)]
    labels = [span.label for span in strain.brackets if span.label]
    assert len(texts) == len(labels)
    for label in labels:
        assert any(label.startswith(text) for text in texts), label


def test_short_brackets_stand_under_the_long_ones_that_hold_them() -> None:
    made = sheet(NESTED)
    (strain,) = made.strains
    (svg,) = engrave(made, strain, first=True).systems
    heights = {}
    for number, span in enumerate(strain.brackets):
        drawn = re.search(rf'<g id="b-A-{number}" .*?d="M\d+ (\d+) L', svg, re.DOTALL)
        assert drawn
        heights[span] = int(drawn[1])
    for outer in strain.brackets:
        for inner in strain.brackets:
            if outer is not inner and outer.first <= inner.first and inner.last <= outer.last:
                assert heights[outer] < heights[inner]


def test_the_systems_are_whole_xml() -> None:
    made = sheet(TIHAI)
    for svg in engrave(made, made.strains[0], first=True).systems:
        etree.fromstring(svg.encode())
