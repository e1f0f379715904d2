"""Syllables under a staff stand apart, near their notes, and in the picture."""

from __future__ import annotations

from itertools import pairwise

import pytest
from support.boxes import boxes_outside, overlaps
from support.shapes import inks

from cyclechart.write.engraving.drawing import TEXT, Drawing
from cyclechart.write.engraving.letter_widths import text_width
from cyclechart.write.engraving.syllable_spacing import BETWEEN, space_syllables, spaced

PICTURE = """\
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1900 200"><svg viewBox="0 0 19000 2000">
<g class="page-margin" transform="translate(220, 160)"><g class="measure">
<g class="staff"><path d="M0 632 L12000 632" stroke-width="13"/></g>{verses}
</g></g></svg></svg>
"""
VERSE = (
    '<g class="verse"><g class="syl"><text x="{x}" y="{y}" font-size="0px">'
    '<tspan font-size="405px">{text}</tspan></text></g></g>'
)


def drawing_of(*syllables: tuple[int, int, str]) -> Drawing:
    verses = "".join(VERSE.format(x=x, y=y, text=text) for x, y, text in syllables)
    return Drawing(PICTURE.format(verses=verses))


def places(drawing: Drawing) -> list[int]:
    return [int(text.get("x", "0")) for text in drawing.root.iter(TEXT)]


def test_syllables_that_touch_are_moved_apart_and_others_stay() -> None:
    drawing = drawing_of((1000, 1500, "(RG) n"), (1900, 1500, "(G) g"), (4000, 1500, "d"))
    assert overlaps(drawing.svg)
    space_syllables(drawing)
    assert not overlaps(drawing.svg)
    first, second, last = places(drawing)
    assert first < 1000 and second > 1900 and last == 4000
    assert 1000 - first == pytest.approx(second - 1900, abs=1), "both move alike"


def test_rows_are_spaced_by_themselves() -> None:
    drawing = drawing_of((1000, 1500, "(RG) n"), (1000, 1900, "words"))
    space_syllables(drawing)
    assert places(drawing) == [1000, 1000]


def test_a_syllable_that_leaves_the_picture_is_moved_back_with_the_ones_before_it() -> None:
    drawing = drawing_of((17_600, 1500, "(RG) M"), (18_700, 1500, "(RG) D"))
    assert boxes_outside(drawing.svg)
    space_syllables(drawing)
    assert not boxes_outside(drawing.svg) and not overlaps(drawing.svg)
    first, second = places(drawing)
    assert first < 17_600 and second < 18_700


def test_places_are_the_nearest_that_stand_apart() -> None:
    starts, widths = [0.0, 40.0, 300.0, 310.0, 320.0, 900.0], [100.0, 30.0, 60.0, 60.0, 60.0, 9.0]
    found = spaced(starts, widths, 10_000)
    for (start, width), after in zip(zip(found, widths, strict=True), found[1:], strict=False):
        assert after - start >= width + BETWEEN - 1e-9
    assert found[5] == 900
    assert sum(found[:2]) == pytest.approx(sum(starts[:2]))
    assert sum(found[2:5]) == pytest.approx(sum(starts[2:5]))
    assert all(one < other for one, other in pairwise(found))
    assert spaced([100.0], [50.0], 120.0) == [70.0]


@pytest.mark.parametrize(
    "text", ["(RG) n", "G̣", "Ṡ", "dha ge tirakita", "Kyrie e-lei-son, WAVE", "1.\u00a0Moon", "×3/2"]
)
def test_widths_are_those_of_the_page(text: str) -> None:
    # Against typst, with its kerning and ligatures, which are left out.
    known = inks([(text, False, False)])
    assert text_width(text, 1.0) == pytest.approx(known[text, False, False].width, rel=0.06)
