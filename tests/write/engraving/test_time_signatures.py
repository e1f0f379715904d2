"""Time signatures: their rows apart on one line, sums with air between, nothing else moved."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from support.boxes import Box, boxes, boxes_outside
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.engraving.time_signatures import APART, fix_time_signatures

LINES = '<g id="s" class="staff">{}'
LINE = '<path d="M0 {0} L5732 {0}" stroke-width="13" />'
ONE = LINES.format(LINE.format(1000))
FIVE = LINES.format("".join(LINE.format(640 + 180 * n) for n in range(5)))
SIGNATURE = '<g id="t" class="meterSig">{}</g><g class="layer">{}</g></g>'


def figure(code: str, x: int, y: int, size: str = "0.72, 0.72") -> str:
    return f'<use xlink:href="#E08{code}-x" transform="translate({x}, {y}) scale({size})" />'


def drawing(svg: str) -> Drawing:
    return Drawing(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
        f"{svg}</svg>"
    )


def fixed(svg: str) -> str:
    one = drawing(svg)
    fix_time_signatures(one)
    return one.svg


def test_the_rows_part_on_one_line_and_no_other_figure_moves() -> None:
    # The number of a multiple rest is drawn with the same figures.
    rest = '<g class="multiRest">' + figure("7", 2000, 500) + "</g>"
    drawn = ONE + SIGNATURE.format(figure("7", 500, 820) + figure("4", 510, 1180), rest)
    assert (
        fixed(drawn)
        == drawing(
            ONE
            + SIGNATURE.format(figure("7", 500, 820 - APART) + figure("4", 510, 1180 + APART), rest)
        ).svg
    )


def test_a_plain_signature_on_five_lines_stays() -> None:
    drawn = FIVE + SIGNATURE.format(figure("7", 500, 820) + figure("4", 510, 1180), "")
    assert fixed(drawn) == drawing(drawn).svg


def test_a_picture_without_a_signature_stays() -> None:
    drawn = ONE + figure("7", 500, 820) + "</g>"
    assert fixed(drawn) == drawing(drawn).svg


def test_a_number_of_two_figures_stays_one() -> None:
    # 7 + 1/16: the 1 is 336/1000 of the size wide, so that 6 stands 242 after it.
    number = figure("1", 1000, 1180) + figure("6", 1242, 1180)
    drawn = FIVE + SIGNATURE.format(figure("C", 700, 1000) + number, "")
    one, six = (
        int(x) for x in re.findall(r"E08[16]-x\" transform=\"translate\((\d+)", fixed(drawn))
    )
    assert six - one == pytest.approx(242 * 0.86, abs=1)


SECTIONS = ["4, 4, 4, 3", "2, 2, 2, 2, 2, 2", "3, 3, 3 1/2, 2", "2, 2, 2, 1 3/4", "5, 12, 3"]


def signature(sections: str, player: str) -> tuple[list[Box], str]:
    """The figures of a drum part's time signature, and the picture they stand in."""
    text = (
        f"players:\n  flute: {{plays: melody}}\n  {player}: {{plays: theka}}\n"
        "lines:\n  head: {sargam: S}\nform:\n  - {solo: flute, cycles: 2}\n"
    )
    cycle = f"{{beats: {_sum(sections)}, sections: [{sections}], stressed: [1]}}"
    band = Band(piece_of(text, cycle=cycle))
    sheet = part_sheet(band, band.piece.players[1])
    svg = engrave(sheet, sheet.strains[0], first=True).systems[0]
    return [box for box in boxes(svg) if box.kind == "time"], svg


def _sum(sections: str) -> str:
    from cyclechart.theory.exact import parse_exact, show_exact

    return show_exact(sum(map(parse_exact, sections.split(", ")), parse_exact("0")))


@pytest.mark.parametrize("sections", SECTIONS)
@pytest.mark.parametrize("player", ["tabla", "drum-kit"])
def test_figures_keep_apart(sections: str, player: str) -> None:
    found, svg = signature(sections, player)
    assert not boxes_outside(svg)
    middle = (min(box.y0 for box in found) + max(box.y1 for box in found)) / 2
    space = 18
    upper = sorted((b for b in found if b.y1 < middle + space / 4), key=lambda box: box.x0)
    lower = [b for b in found if b.y0 > middle - space / 4]
    assert upper and lower
    if player == "tabla":
        assert min(b.y0 for b in lower) - max(b.y1 for b in upper) > 0.4 * space
    for one, other in pairwise(upper):
        assert other.x0 - one.x1 > 0.1 * space
