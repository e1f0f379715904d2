"""What stands upon something is lifted off it, and what is clear is left as it is."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from support.boxes import boxes, boxes_outside, overlaps
from support.making import load_text, random_piece

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.engraving.clearance import AIR, GAP, needed_lift
from cyclechart.write.engraving.collisions import fix_collisions, fix_score_collisions
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.svg_boxes import system_boxes
from cyclechart.write.engraving.svg_shapes import Shape
from cyclechart.write.engraving.systems import engrave

FRAME = (
    '<svg viewBox="0 0 1900 200" xmlns="http://www.w3.org/2000/svg" '
    'xmlns:xlink="http://www.w3.org/1999/xlink"><defs><g id="E883-x">'
    '<path transform="scale(1,-1)" d="M0 0 C0 400 300 400 300 0 z" /></g></defs>'
    '<svg class="definition-scale" viewBox="0 0 19000 2000">'
    '<g class="page-margin" transform="translate(180, 160)"><g class="measure">'
    '<g class="staff"><path d="M0 1000 L9000 1000" stroke-width="13" />'
    '<path d="M0 1720 L9000 1720" stroke-width="13" /></g>%s</g></g></svg></svg>'
)
TIE = (
    '<g class="tie"><path d="M500,{0} C900,{1} 1300,{1} 1700,{0} '
    'C1300,{1} 900,{1} 500,{0}" stroke-width="9" /></g>'
)
PEN = 'stroke-width="18" fill="none"'


def number(x: int, foot: int, name: str = "n") -> str:
    return (
        f'<g id="{name}" class="tupletNum">'
        f'<use xlink:href="#E883-x" transform="translate({x}, {foot}) scale(0.5, 0.5)" /></g>'
    )


def bracket(*lines: str, name: str = "b") -> str:
    drawn = "".join(f'<polyline {PEN} points="{points}" />' for points in lines)
    return f'<g id="{name}" class="tupletBracket">{drawn}</g>'


def words(x: int, foot: int, name: str = "w") -> str:
    return (
        f'<g id="{name}" class="harm"><text x="{x}" y="{foot}" font-size="0px">'
        '<tspan font-size="400px">Eb5</tspan></text></g>'
    )


def picture(*parts: str) -> str:
    return FRAME % "".join(parts)


def fixed(svg: str) -> str:
    """A picture with nothing on its tuplets and brackets."""
    drawing = Drawing(svg)
    fix_collisions(drawing)
    return drawing.svg


def tuplet(*parts: str) -> str:
    return f'<g id="t" class="tuplet">{"".join(parts)}</g>'


def lifts(svg: str) -> dict[str, int]:
    """How far each group is lifted, by its name."""
    found = re.findall(r'<g transform="translate\(0, (-?\d+)\)" id="(\w+)"', svg)
    return {name: -int(up) for up, name in found}


OPEN = ("200,900 200,800 950,800", "2000,900 2000,800 1250,800")

FREE = {
    "no tuplet": (TIE.format(900, 700), words(900, 850)),
    "a number above a tie": (tuplet(number(1000, 700)), TIE.format(900, 750)),
    "a number in the arch of a tie": (tuplet(number(1000, 970)), TIE.format(900, 700)),
    "a number in its bracket": (tuplet(number(1025, 890), bracket(*OPEN)),),
    "words above a bracket": (tuplet(number(1025, 890), bracket(*OPEN)), words(300, 700)),
}


@pytest.mark.parametrize("parts", FREE.values(), ids=FREE)
def test_what_is_clear_is_left_as_it_is(parts: tuple[str, ...]) -> None:
    svg = picture(*parts)
    assert fixed(svg) == Drawing(svg).svg


def test_a_number_is_lifted_off_a_tie_and_no_further() -> None:
    svg = picture(tuplet(number(1000, 900)), TIE.format(950, 800))
    up = lifts(fixed(svg))["n"]
    # The arch is highest, 838, in its middle; drawn with a pen of 9.
    assert 900 - up == pytest.approx(838 - GAP, abs=10)


def test_a_bracket_and_its_number_are_lifted_together() -> None:
    accidental = '<g class="accid"><path d="M300 780 L300 1000" stroke-width="20" /></g>'
    found = lifts(fixed(picture(tuplet(number(1025, 890), bracket(*OPEN)), accidental)))
    assert found["n"] == found["b"] > 0


def test_an_inner_tuplet_pushes_the_outer_one_and_the_words_above() -> None:
    inner = tuplet(number(1025, 890, "i"), bracket(*OPEN, name="j"))
    outer = bracket("100,790 100,700 950,700", "2600,790 2600,700 1250,700")
    notes = '<g class="notehead"><path d="M300 720 L300 1000" stroke-width="20" /></g>'
    svg = picture(tuplet(outer, inner), notes, words(300, 640))
    found = lifts(fixed(svg))
    assert found["j"] > 0 and found["b"] > 0 and found["w"] > 0
    places = {
        group.kind + str(one.depth): min(shape.y0 for shape in group.shapes)
        for one in system_boxes(Drawing(svg)).tuplets
        for group in one.groups
    }
    assert places["tupletBracket0"] - found["b"] < places["tupletBracket1"] - found["j"]


def test_a_row_of_chords_is_kept_in_line() -> None:
    low = tuplet(number(1000, 900))
    chords = words(950, 740) + words(4000, 740, "v")
    found = lifts(fixed(picture(low, TIE.format(950, 800), chords)))
    assert found["w"] == found["v"] > 0


def gap(svg: str) -> tuple[list[str], Shape]:
    (one,) = system_boxes(Drawing(svg)).tuplets
    assert one.number and one.bracket
    return [line.get("points", "") for line in one.bracket.polylines], one.number.shapes[0]


@pytest.mark.parametrize(
    "lines",
    [
        ("200,900 200,800 2000,800 2000,900",),
        ("200,900 200,800 1100,800", "2000,900 2000,800 1100,800"),
        ("2000,900 2000,800 950,800", "200,900 200,800 1250,800"),
        ("200,900 200,800 1100,850", "2000,1000 2000,900 1100,850"),
    ],
    ids=["whole", "narrow gap", "halves over one another", "slanted"],
)
def test_a_bracket_is_opened_for_its_number(lines: tuple[str, ...]) -> None:
    svg = fixed(picture(tuplet(number(1025, 900), bracket(*lines))))
    (left, right), figure = gap(svg)
    assert left.startswith("200,") and right.startswith("2000,")
    ends = [int(half.split()[-1].split(",")[0]) for half in (left, right)]
    assert ends[0] < figure.x0 < figure.x1 < ends[1]
    assert ends[1] - ends[0] < 300


def test_a_bracket_hardly_wider_than_its_number_is_not_drawn() -> None:
    svg = fixed(picture(tuplet(number(1025, 890), bracket("1000,900 1000,800 1200,800 1200,900"))))
    assert "polyline" not in svg and "tupletNum" in svg


def test_the_picture_grows_for_what_leaves_it() -> None:
    svg = picture(tuplet(number(1000, 60)), TIE.format(100, -100))
    high = fixed(svg)
    assert boxes_outside(high) == [] and overlaps(high) == []
    grown = int(re.findall(r'viewBox="0 0 \d+ (\d+)"', high)[0]) - 200
    assert grown > 0
    assert f'viewBox="0 0 19000 {2000 + 10 * grown}"' in high
    assert f'"translate(180, {160 + 10 * grown})"' in high


def test_lifting_skips_what_would_leave_no_room() -> None:
    figure = Shape(0, 500, 100, 600)
    low, high = Shape(0, 550, 100, 700), Shape(0, 300, 100, 440)
    assert needed_lift([figure], [low]) == 600 - 550 + GAP
    # Between the two there is no room: it goes on above both.
    assert needed_lift([figure], [low, high]) == 600 - 300 + GAP
    aside = Shape(100 + AIR, 500, 300, 600)
    assert needed_lift([figure], [aside]) == 0


def test_a_label_over_its_bracket_is_taken_off_the_line() -> None:
    spoken = (
        '<g id="b" class="bracketSpan"><path d="M300 150 L700 150" stroke-width="18" />'
        '<text x="500" y="280" text-anchor="middle" font-size="340px">3.1</text></g>'
    )
    svg = fixed(picture(spoken))
    assert '<text transform="translate(0, -' in svg
    assert overlaps(picture(spoken)) and not overlaps(svg) and not boxes_outside(svg)


def two_staves(syllable: str, foot: int, label: str) -> str:
    """A syllable under a staff, on a line at ``foot``, and a bracket over the next, at 2200."""
    lower = "".join(f'<path d="M0 {y} L9000 {y}" stroke-width="13" />' for y in (3000, 3720))
    note = (
        '<g class="notehead"><rect x="1400" y="1400" width="200" height="180" /></g>'
        f'<g class="verse"><g class="syl"><text x="1400" y="{foot}" font-size="0px">'
        f'<tspan font-size="405px">{syllable}</tspan></text></g></g>'
    )
    bracket = f'<path d="M300 2200 L3300 2200" stroke-width="18" />{label}'
    svg = picture(f'<g class="staff">{lower}</g><g class="bracketSpan">{bracket}</g>')
    before, after = svg.split('<g class="staff"><path d="M0 3000')
    return f'{before.removesuffix("</g>")}{note}</g><g class="staff"><path d="M0 3000{after}'


LABEL = (
    '<rect x="1300" y="2140" width="900" height="120" fill="white" style="stroke:none" />'
    '<text x="1800" y="2313" text-anchor="middle" font-size="340px">×5/4</text>'
)


@pytest.mark.parametrize(
    ("syllable", "foot", "label", "meets"),
    [
        ("dha", 2150, LABEL, True),
        ("dha", 2000, LABEL, False),
        ("S", 2060, LABEL, False),
        ("S\u0323", 2060, LABEL, True),
        ("dha", 2150, "", False),
    ],
    ids=["upon it", "over it", "without a dot", "its dot upon it", "no label"],
)
def test_a_label_over_a_staff_needs_room_under_the_syllables_of_the_one_above(
    syllable: str, foot: int, label: str, meets: bool
) -> None:
    svg = two_staves(syllable, foot, label)
    touching = [one for one in overlaps(svg, 0.0) if {one.kind, one.other} == {"label", "syllable"}]
    assert bool(touching) == meets
    needed = fix_score_collisions(Drawing(svg))
    assert (needed > 3000 - 1720) == meets
    assert needed == 0 or meets


def test_our_measures_are_those_of_the_drawing() -> None:
    """Of the tuplets of a system as it is engraved; what is lifted is left to test_overlaps."""
    piece = load_text(random_piece(36)).piece
    assert piece is not None
    sheet = sheet_of(piece)
    for svg in engrave(sheet, sheet.strains[0], first=True).systems:
        drawn = [box for box in boxes(svg) if box.kind == "tuplet number"]
        lifted_by = [
            float(up or 0)
            for up in re.findall(
                r'<g (?:transform="translate\(0, -(\d+)\)" )?id="\w+" class="tupletNum"', svg
            )
        ]
        tuplets = [one.number for one in system_boxes(Drawing(svg)).tuplets if one.number]
        ours = [
            shape.raised(up)
            for group, up in zip(tuplets, lifted_by, strict=True)
            for shape in group.shapes
        ]
        x, y = map(int, re.findall(r'"page-margin" transform="translate\((\d+), (\d+)', svg)[0])
        assert len(ours) == len(drawn)
        for shape, box in zip(
            sorted(ours, key=lambda one: one.x0), sorted(drawn, key=lambda one: one.x0), strict=True
        ):
            assert (shape.x0 + x) / 10 == pytest.approx(box.x0, abs=0.1)
            assert (shape.y1 + y) / 10 == pytest.approx(box.y1, abs=0.1)


def test_the_same_picture_is_lifted_alike() -> None:
    svg = picture(tuplet(number(1000, 900)), TIE.format(950, 800))
    assert all(one == other for one, other in pairwise(fixed(svg) for _ in range(3)))
