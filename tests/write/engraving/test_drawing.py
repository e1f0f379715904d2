"""The tree of a system: written as it was read, and changed only where a fix changes it."""

from __future__ import annotations

import pytest
from lxml import etree
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.engraving.drawing import (
    Drawing,
    Element,
    replace_elements,
    set_first,
    staff_lines,
)
from cyclechart.write.engraving.engraver import PAGE_WIDTH, draw_systems
from cyclechart.write.engraving.engraver_facts import (
    SIGNATURE_FIGURES,
    SIGNATURE_PLUSES,
    STAFF_HEIGHT,
)
from cyclechart.write.engraving.time_signatures import figure_widths
from cyclechart.write.musicxml.document import strain_xml

LINES = 'lines:\n  head: {sargam: "S R | SRG m P | d n | S\' n d || S"}\n'
NAMESPACES = ' xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


@pytest.fixture(scope="module")
def page() -> str:
    """A system as the engraver draws it."""
    sheet = sheet_of(piece_of(LINES, tonic="Eb"))
    document = strain_xml(sheet, sheet.strains[0], first=True)
    return draw_systems(document, (), PAGE_WIDTH, 0.0)[0]


def test_a_drawing_without_a_fix_is_written_as_it_was_read(page: str) -> None:
    written = Drawing(page).svg
    # But for the place of the namespaces within the first tag and for insignificant spaces.
    assert NAMESPACES in page and NAMESPACES in written
    plain = page.replace(NAMESPACES, "").replace(" />", "/>").rstrip()
    assert written.replace(NAMESPACES, "") == plain
    assert Drawing(written).svg == written


def test_the_facts_are_those_of_the_engraver(page: str) -> None:
    drawing = Drawing(page)
    for kind in ("staff", "meterSig", "tuplet", "tupletNum", "page-margin"):
        assert drawing.groups[kind], kind
    lines = staff_lines(drawing.groups["staff"][0])
    assert len(lines) == 5 and lines[-1] - lines[0] == STAFF_HEIGHT
    assert drawing.inner is not None and "E050" in drawing.glyphs


def test_every_figure_of_a_signature_has_a_width() -> None:
    widths = figure_widths()
    assert widths.keys() == SIGNATURE_FIGURES.keys() | SIGNATURE_PLUSES
    assert all(200 < width < 600 for width in widths.values())
    assert widths["E081"] < widths["E080"]  # a 1 is narrower than a 0


def group(content: str) -> Element:
    return etree.fromstring(f'<g id="a" class="b">{content}</g>')


def test_an_attribute_is_set_before_the_others() -> None:
    one = group("")
    set_first(one, "transform", "c")
    assert list(one.attrib.items()) == [("transform", "c"), ("id", "a"), ("class", "b")]


@pytest.mark.parametrize(
    ("new", "content"),
    [([], " <i/> \n "), (["x"], " <i/> <x/>\n "), (["x", "y"], " <i/> <x/><y/>\n ")],
)
def test_elements_are_replaced_and_the_text_around_them_stays(new: list[str], content: str) -> None:
    one = group(" <i/> <u/> <v/>\n ")
    replace_elements(list(one)[1:], [one.makeelement(name, {}) for name in new])
    assert etree.tostring(one).decode() == f'<g id="a" class="b">{content}</g>'


def test_all_elements_of_a_group_can_be_removed() -> None:
    one = group(" <u/>\n ")
    replace_elements(list(one), [])
    assert etree.tostring(one).decode() == '<g id="a" class="b"> \n </g>'
