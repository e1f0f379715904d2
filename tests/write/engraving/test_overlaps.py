"""Nothing on an engraved system stands on anything else; and the measuring of it is right."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import pytest
import typst
from PIL import Image, ImageChops
from support.boxes import TEXTS, Box, Overlap, boxes, boxes_outside, overlaps
from support.chart_systems import systems_by_letter
from support.making import DEMO_BOOK, load_text, piece_of, random_piece

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.write.engraving.engraver import draw_endless
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.musicxml.document import strain_xml
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.charts import set_pages

SEEDS = (22, 37, 39, 40, 43, 44, 46, 47, 48, 49, 52, 55, 57, 58, 59, 65, 73)
"""Random pieces: some 240 systems. In thirteen of them the engraver alone sets something upon
something else: every pair of kinds that it does so with in 27 such pieces."""

SQUEEZED = 0.85
"""Of what its measures want: a system drawn narrower is hard to read."""

BEARING = 5.0
"""A text is measured with the white that its first and last letters bring along."""


def drawn(sheet: Sheet) -> dict[str, list[str]]:
    return {s.letter: engrave(sheet, s, first=True).systems for s in sheet.strains}


@lru_cache(maxsize=len(DEMO_BOOK))
def parts_drawn(path: Path) -> list[tuple[str, Sheet, dict[str, list[str]]]]:
    """The parts of a piece: each player, the sheet and its systems, which two tests measure."""
    piece = load(path).piece
    assert piece is not None
    band = Band(piece)
    found = []
    for player in piece.players:
        sheet = part_sheet(band, player)
        found.append((player.name, sheet, systems_by_letter(sheet)))
    return found


def sheet_from(path: Path) -> Sheet:
    piece = load(path).piece
    assert piece is not None
    return sheet_of(piece)


def collisions(sheet: Sheet) -> list[tuple[str, int, Overlap | Box]]:
    """What overlaps or leaves the picture, with the strain and the number of the system."""
    return collisions_in(drawn(sheet))


def collisions_in(drawn: dict[str, list[str]]) -> list[tuple[str, int, Overlap | Box]]:
    return [
        (letter, number, fault)
        for letter, systems in drawn.items()
        for number, svg in enumerate(systems)
        for fault in [*overlaps(svg), *boxes_outside(svg)]
    ]


@pytest.mark.parametrize("path", [pytest.param(path, id=path.stem) for path in DEMO_BOOK])
def test_nothing_of_the_demo_book_overlaps(path: Path) -> None:
    assert collisions(sheet_from(path)) == []


@pytest.mark.parametrize("path", [pytest.param(path, id=path.stem) for path in DEMO_BOOK])
def test_nothing_of_the_parts_of_the_demo_book_overlaps(path: Path) -> None:
    for player, _, systems in parts_drawn(path):
        assert collisions_in(systems) == [], player


def measure_widths(svg: str) -> list[int]:
    """How wide each measure's staff is drawn; the first without the clef and what stands by it."""
    widths = []
    for held in re.split(r'class="measure"', svg)[1:]:
        line = re.search(r'class="staff">\s*<path d="M(\d+) \d+ L(\d+) ', held)
        first = re.search(r'class="(?:note|rest|mRest|graceGrp)".*?translate\((\d+),', held, re.S)
        assert line
        start = int(line[1])
        widths.append(int(line[2]) - start)
        if len(widths) == 1 and first:
            widths[0] -= int(first[1]) - start
    return widths


@pytest.mark.parametrize("path", [pytest.param(path, id=path.stem) for path in DEMO_BOOK])
def test_no_system_of_the_parts_of_the_demo_book_is_squeezed(path: Path) -> None:
    for player, sheet, drawings in parts_drawn(path):
        for strain in sheet.strains:
            if strain.silent:
                continue
            plain = strain_xml(sheet, strain, first=strain.first)
            line = draw_endless(plain)
            natural = measure_widths(line)
            systems = [measure_widths(system) for system in drawings[strain.letter]]
            assert sum(map(len, systems)) == len(natural), "none is cut within a section"
            for widths in systems:
                wanted, natural = sum(natural[: len(widths)]), natural[len(widths) :]
                assert sum(widths) >= SQUEEZED * wanted, (player, strain.letter)


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_of_random_pieces_overlaps(seed: int) -> None:
    piece = load_text(random_piece(seed)).piece
    assert piece is not None
    sheet = sheet_of(piece)
    systems = drawn(sheet)
    assert collisions_in(systems) == []
    for strain in sheet.strains:
        found = re.findall(rf'id="n-{strain.letter}-(\d+)"', "".join(systems[strain.letter]))
        assert len(set(found)) == len(strain.notes), "all of it is drawn"


def test_the_ground_of_a_label_has_no_rim() -> None:
    text = 'lines:\n  head: {sargam: "[S R m P]x3/2 d n | S n d P m | g R S | S S || S"}\n'
    sheet = sheet_of(piece_of(text))
    grounds = re.findall(r'<rect [^>]*fill="white"[^>]*>', "".join(drawn(sheet)["A"]))
    assert grounds
    # The engraver's own style sheet gives every rect a stroke, which an attribute does not undo.
    assert all(re.search(r'style="[^"]*stroke: ?none', ground) for ground in grounds)


# That the measuring sees what is there.

FRAME = (
    '<svg id="x" viewBox="0 0 1900 200" xmlns="http://www.w3.org/2000/svg" '
    'xmlns:xlink="http://www.w3.org/1999/xlink"><defs><g id="E883-x">'
    '<path transform="scale(1,-1)" d="M0 0 C0 400 300 400 300 0 z" /></g></defs>'
    '<style type="text/css">@font-face {src: url(data:none)}'
    "#x g.dir, #x g.mNum {font-style:italic;}#x g.tempo {font-weight:bold;}"
    "#x path, #x polygon, #x polyline, #x ellipse {stroke:currentColor}</style>"
    '<svg class="definition-scale" viewBox="0 0 19000 2000">'
    '<g class="measure" transform="translate(100, 50)">%s</g></svg></svg>'
)


def svg_of(*parts: str) -> str:
    return FRAME % "".join(parts)


def text(kind: str, said: str, x: int, y: int, extra: str = "") -> str:
    return (
        f'<g><g class="{kind}"><text x="{x}" y="{y}" font-size="0px" {extra}>\n'
        ' <tspan class="text">\n'
        f'  <tspan font-size="400px">{said}</tspan>\n </tspan>\n</text></g></g>'
    )


def number(x: int, y: int) -> str:
    return (
        '<g class="tupletNum"><use xlink:href="#E883-x" '
        f'transform="translate({x}, {y}) scale(0.5, 0.5)" /></g>'
    )


def staff(y: int) -> str:
    lines = (
        f'<path d="M0 {y + 180 * n} L9000 {y + 180 * n}" stroke-width="13" />' for n in range(5)
    )
    return f'<g class="staff">{"".join(lines)}</g>'


def line(kind: str, points: str) -> str:
    return f'<g class="{kind}"><polyline stroke-width="18" fill="none" points="{points}" /></g>'


CIRCLE = '<g class="dir"><ellipse cx="1100" cy="880" rx="250" ry="250" stroke-width="20" />%s</g>'

FREE = {
    "neighbours": (text("verse", "dha", 500, 1000), text("verse", "na", 1200, 1000)),
    "a clap in its circle": (CIRCLE % text("rend", "0", 1000, 1000),),
    "a number in the gap of its bracket": (
        line("tupletBracket", "500,1000 500,900 1000,900"),
        number(1050, 950),
        line("tupletBracket", "2000,1000 2000,900 1250,900"),
    ),
    "a number over a beam that rises past it": (
        '<g class="beam"><polygon points="0,1900 6000,700 6000,800 0,2000" /></g>',
        number(700, 1650),
    ),
    "a label on its bracket": (
        line("bracketSpan", "500,1000 500,900 3000,900"),
        '<rect x="1500" y="750" width="500" height="300" fill="white" stroke="none" />'
        '<text x="1750" y="1010" text-anchor="middle" font-size="340px">3.1</text>',
    ),
    "a syllable under the staff": (staff(500), text("verse", "d\u0307", 500, 1650)),
}

COLLIDING = {
    "syllable, syllable": (text("verse", "dhina", 500, 1000), text("verse", "na", 1200, 1000)),
    "sign, words": (CIRCLE % text("rend", "0", 1000, 1000), text("dir", "gam.", 1250, 1000)),
    "harmony, tuplet number": (text("harm", "Eb5", 500, 1000), number(900, 900)),
    "tuplet number, tuplet bracket": (
        line("tupletBracket", "500,1000 500,900 3000,900"),
        number(1050, 950),
    ),
    "tuplet number, beam": (
        '<g class="beam"><polygon points="0,1900 6000,700 6000,800 0,2000" /></g>',
        number(700, 1800),
    ),
    "label, bracket": (
        line("bracketSpan", "500,1000 500,900 3000,900"),
        '<text x="1750" y="1010" text-anchor="middle" font-size="340px">3.1</text>',
    ),
    "syllable, staff": (staff(500), text("verse", "d\u0307", 500, 1450)),
    "harmony, stem": (
        text("harm", "Eb5", 500, 1000),
        '<g class="stem"><path d="M700 700 L700 1400" stroke-width="18" /></g>',
    ),
    "tuplet number, tie": (
        number(1000, 950),
        '<g class="tie"><path d="M500,1100 C900,700 1300,700 1700,1100 '
        'C1300,730 900,730 500,1100" /></g>',
    ),
    "mark, words": (
        text("dir", "gam.", 1000, 1000),
        text("tempo", "92", 1300, 1000, 'text-anchor="end"'),
    ),
}


@pytest.mark.parametrize("parts", FREE.values(), ids=FREE)
def test_what_stands_free_is_left_in_peace(parts: tuple[str, ...]) -> None:
    assert overlaps(svg_of(*parts)) == []


@pytest.mark.parametrize("kinds", COLLIDING)
def test_what_collides_is_found(kinds: str) -> None:
    (found,) = overlaps(svg_of(*COLLIDING[kinds]))
    assert f"{found.kind}, {found.other}" == kinds


def test_a_text_that_leaves_the_picture_is_found() -> None:
    assert [box.text for box in boxes_outside(svg_of(text("verse", "dha", 18700, 1000)))] == ["dha"]
    assert boxes_outside(svg_of(text("verse", "dha", 18100, 1000))) == []


def one_system() -> str:
    text = 'lines:\n  head: {sargam: "S R | SRG m P | d n | S\' n d || S"}\n'
    sheet = sheet_of(piece_of(text, tonic="Eb"))
    (svg,) = engrave(sheet, sheet.strains[0], first=True).systems
    return svg


def test_a_syllable_moved_upon_its_neighbour_is_found() -> None:
    svg = one_system()
    assert overlaps(svg) == []
    at, following = [match[1] for match in re.finditer(r'class="syl">\s*<text x="(\d+)"', svg)][:2]
    (found,) = overlaps(svg.replace(f'<text x="{following}"', f'<text x="{int(at) + 100}"'))
    assert (found.kind, found.text, found.other, found.other_text) in {
        ("syllable", "R", "syllable", "S"),
        ("syllable", "S", "syllable", "R"),
    }


PAGE = (
    "#set page(width: 1900pt, height: auto, margin: 0pt)\n"
    '#set text(font: ("Libertinus Serif", "New Computer Modern Math"))\n'
    '#image("a.svg", width: 100%)'
)


@pytest.mark.parametrize(
    "part",
    [
        text("verse", "dhagetirakita", 500, 1000),
        text("verse", "S\u0307", 500, 1000),
        text("verse", "M\u0323", 500, 1000),
        text("verse", "r\u0332", 500, 1000),
        text("dir", "gam.", 500, 1000),
        text("tempo", "quick", 2500, 1000, 'text-anchor="end"'),
        text("mNum", "128", 2500, 1000, 'text-anchor="middle"'),
        number(700, 900),
        line("tupletBracket", "500,1000 500,900 3000,900"),
        '<g class="tie"><path d="M500,1100 C900,700 1300,700 1700,1100 '
        'C1300,730 900,730 500,1100" stroke-width="9" /></g>',
    ],
    ids=["syllable", "dot above", "dot below", "line below", "italic", "bold", "middle", "glyph",
         "bracket", "tie"],
)  # fmt: skip
def test_a_box_is_where_the_page_has_ink(part: str) -> None:
    svg = svg_of(part)
    files = {"main.typ": PAGE.encode(), "a.svg": svg.encode()}
    png = typst.compile(files, format="png", ppi=144.0, ignore_system_fonts=True)  # type: ignore[call-overload]
    picture = Image.open(io.BytesIO(png)).convert("L")
    ink = ImageChops.invert(picture).point(lambda value: 255 * (value > 60)).getbbox()
    assert ink is not None
    measured = boxes(svg)
    mine = (
        min(b.x0 for b in measured), min(b.y0 for b in measured),
        max(b.x1 for b in measured), max(b.y1 for b in measured),
    )  # fmt: skip
    slack = BEARING if "<text" in part else 1
    for place, (seen, said) in enumerate(zip(ink, mine, strict=True)):
        assert abs(seen / 2 - said) <= (1.2 if place % 2 else slack), (ink, mine)


def letters(pdf: bytes, page: int = 0) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """The letters of a page of a PDF and their boxes in points from its top left corner."""
    pdfium = pytest.importorskip("pypdfium2")
    sheet = pdfium.PdfDocument(pdf)[page]
    high, said = sheet.get_height(), sheet.get_textpage()
    for at in range(said.count_chars()):
        letter = said.get_text_range(at, 1)
        if letter.strip():
            x0, y0, x1, y1 = said.get_charbox(at)
            yield letter, (x0, high - y1, x1, high - y0)


@pytest.mark.parametrize("name", ["silt-and-lanterns", "the-delta-post", "salt-road"])
def test_texts_are_measured_as_the_finished_pdf_has_them(name: str) -> None:
    sheet = sheet_from(next(path for path in DEMO_BOOK if path.stem == name))
    systems = systems_by_letter(sheet)
    found = list(letters(set_pages(sheet, chart_music(sheet), "pdf")[0]))
    texts = [box for box in boxes(systems["A"][0]) if box.text and box.kind in TEXTS]
    texts = [box for box in texts if box.kind not in ("tuplet number", "ornament", "dynamics")]
    wanted = "".join(unicodedata.normalize("NFD", re.sub(r"\s", "", box.text)) for box in texts)
    at = "".join(letter for letter, _ in found).find(wanted)
    assert at >= 0, (wanted, "".join(letter for letter, _ in found))
    # A system is 180 mm wide and begins 15 mm from the edge; how far down, its first text says.
    width = re.search(r'viewBox="0 0 (\d+)', systems["A"][0])
    assert width
    point = 180 / 25.4 * 72 / int(width[1])
    left, top = 15 / 25.4 * 72, None
    for box in texts:
        size = len(unicodedata.normalize("NFD", re.sub(r"\s", "", box.text)))
        placed = [place for _, place in found[at : at + size]]
        at += size
        x0, x1 = ((f(p[i] for p in placed) - left) / point for f, i in ((min, 0), (max, 2)))
        y0, y1 = (f(p[i] for p in placed) / point for f, i in ((min, 1), (max, 3)))
        top = y0 - box.y0 if top is None else top
        assert abs(x0 - box.x0) <= BEARING and abs(x1 - box.x1) <= BEARING, (box, x0, x1)
        hovers = 3 if box.text == "×" else 0
        assert abs(y0 - top - box.y0) <= 1, (box, y0 - top)
        assert -1 <= box.y1 - (y1 - top) <= 1 + hovers, (box, y1 - top)


def test_the_dashes_of_a_change_of_tempo_pass_over_the_signs_of_the_next_system() -> None:
    piece = piece_of(
        "players: {guitar: {plays: voicings}, drum-kit: {plays: theka}}\ncycle: keherwa\n"
        "lines: {head: {sargam: S R G m P m G R}}\nform: [{groove: 8, tempo: {to: 160}}]\n"
    )
    sheet = part_sheet(Band(piece), piece.players[0])
    systems = systems_by_letter(sheet)["A"]
    assert any("spanning" in svg for svg in systems)
    for svg in systems:
        assert not overlaps(svg)
