"""Engraved systems, how measures are dealt out to them, and boxes of shapes as golden text."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from lxml import etree
from support.chart_systems import engrave_score
from support.dense import dense_band, dense_part
from support.goldens import check_golden
from support.making import piece_of
from write.engraving.test_text_outlines import picture as text_picture

from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.clearance import columns
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.section_cuts import struck_beats, struck_within_beats
from cyclechart.write.engraving.shaped_text import Piece, run_width, runs_of, shaped
from cyclechart.write.engraving.svg_boxes import system_boxes
from cyclechart.write.engraving.svg_shapes import Shape, element_shapes, text_shape
from cyclechart.write.engraving.system_breaks import deal
from cyclechart.write.engraving.systems import Engraved, engrave
from cyclechart.write.engraving.text_outlines import outline_texts

_NUMBERS, _NUMBER = re.compile(r"-?\d+\.\d+"), re.compile(r"-?\d+(?:\.\d+)?")


def drawing_as_text(root: etree._Element, depth: int = 0) -> Iterator[str]:
    """Each element of a drawing: its tag, class and text, its numbers rounded."""
    for one in root:
        if not isinstance(one.tag, str):
            continue
        tag = one.tag.rpartition("}")[2]
        if tag in ("defs", "style", "desc"):
            continue
        fields = {key.rpartition("}")[2]: value for key, value in one.attrib.items()}
        glyph = fields.pop("href", "").partition("-")[0]
        name = fields.pop("id", "") if "note" in fields.get("class", "").split() else ""
        fields.pop("id", None)
        said = " ".join(f"{key}={_rounded(value)}" for key, value in fields.items())
        text = (one.text or "").strip()
        yield " ".join(filter(None, [" " * depth + tag, glyph, name, said, text]))
        yield from drawing_as_text(one, depth + 1)


def _rounded(text: str) -> str:
    return _NUMBERS.sub(lambda found: f"{float(found[0]):.1f}", text)


def systems_as_text(made: Engraved) -> str:
    """Every system, a line an element."""
    lines = [f"size {made.size:.4f}"]
    for one in made.drawings:
        lines += [f"system {one.root.get('viewBox')}", *drawing_as_text(one.root)]
    return "\n".join(lines) + "\n"


def strain_of(sheet: Sheet, name: str) -> Strain:
    """The strain of a name."""
    return next(strain for strain in sheet.strains if strain.name == name)


def test_the_systems_of_a_strain_are_the_golden_ones() -> None:
    sheet = dense_part("alto-sax")
    made = engrave(sheet, strain_of(sheet, "quick"), first=True)
    check_golden("systems.txt", systems_as_text(made))


def test_the_systems_of_what_collides_are_the_golden_ones() -> None:
    piece = piece_of(
        "lines:\n  head: {sargam: \"[S S' S]x3/2 n' {R'}d' | [n d P]x3/2 !accent!S' "
        "| [S' R' G' m']x4/3 n | [G' R' S' n d]x5/4 S'/4 S'/4 S'/4 S'/4 || S\"}\n"
    )
    sheet = sheet_of(piece)
    check_golden("collisions.txt", systems_as_text(engrave(sheet, sheet.strains[0], first=True)))


def test_a_system_of_a_score_is_the_golden_one() -> None:
    sheets = [
        sheet
        for sheet in score_sheets(dense_band())
        if sheet.reader and sheet.reader.player in ("flute", "tabla")
    ]
    text = systems_as_text(engrave_score(sheets, len(sheets[0].strains) - 1, first=False))
    check_golden("score-system.txt", text)


def test_systems_of_any_width_are_the_golden_ones() -> None:
    lines = []
    for player in ("violin", "tabla"):
        sheet = dense_part(player)
        for strain in sheet.strains:
            for line in (420, 800, 1900):
                if strain.silent:
                    continue
                made = engrave(sheet, strain, first=strain.first, line=line)
                lines.append(f"{player} {strain.letter} {line} wide: size {made.size:.4f}")
                lines.append(f"  {[(str(one.start), str(one.length)) for one in made.measures]}")
                for one in made.drawings:
                    kinds = Counter(g.get("class") for g in one.root.iter("{*}g"))
                    kept = {k: kinds[k] for k in ("measure", "note", "rest", "clef", "tuplet")}
                    lines.append(f"  {one.root.get('viewBox')} {kept}")
            every = set(range(len(strain.measures)))
            for places in (struck_beats, struck_within_beats):
                for wide in (every, every - {0}):
                    lines.append(f"  {[str(at) for at in sorted(places(strain, wide))]}")
    check_golden("widths.txt", "\n".join(lines) + "\n")


def _measures(dice: random.Random) -> list[Measure]:
    made: list[Measure] = []
    at = Fraction(-2) if dice.random() < 0.3 else Fraction(0)
    if at < 0:
        made.append(_measure(at, opens=False, closes=True))
    for _ in range(dice.randint(1, 6)):
        count = dice.randint(1, 4)
        for section in range(count):
            last = section == count - 1
            made.append(_measure(Fraction(len(made)), opens=section == 0, closes=last))
    if dice.random() < 0.5:
        made.append(_measure(Fraction(len(made)), opens=True, closes=False))
    return made


def _measure(start: Fraction, *, opens: bool, closes: bool) -> Measure:
    return Measure(
        start=start,
        length=Fraction(1),
        cycle=1,
        beat=Fraction(1),
        sign="",
        opens=opens,
        closes=closes,
        whole=True,
    )


def test_measures_are_dealt_out_as_the_golden_text_has_it() -> None:
    dice = random.Random(5)
    lines = []
    for _ in range(150):
        measures = _measures(dice)
        most = dice.choice([3000, 6000, 12000, 21000])
        widths = [dice.randint(most // 3, most) for _ in measures]
        lead, line = dice.choice([0, 700]), dice.choice([1000, 1900])
        breaks, fullest = deal(measures, widths, lead, line)
        shape = "".join("(" * one.opens + "." + ")" * one.closes for one in measures)
        lines.append(f"{shape} {widths} {lead} {line}: {breaks} {fullest:.4f}")
    check_golden("deals.txt", "\n".join(lines) + "\n")


SHAPES = """\
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">
<path d="M10 20 L400 20" stroke-width="13"/>
<path d="M10 20 L400 260 L10 20" stroke-width="10"/>
<path d="M0,0 C100,300 200,300 400,100 C300,50 200,20 0,0" stroke-width="8"/>
<polyline points="0,0 500,100 900,-50" stroke-width="18"/>
<polyline points="7,9 7,90 80,90"/>
<polygon points="0,0 300,60 300,90 0,30" stroke-width="4"/>
<polygon points="0,0 300,0 300,90 0,90"/>
<rect x="5" y="6" width="70" height="80" stroke-width="2"/>
<ellipse cx="50" cy="60" rx="7" ry="8" stroke-width="2"/>
<circle r="5"/>
<text x="100" y="50" font-size="0px"><tspan font-size="400px">going  </tspan></text>
<text x="100" y="50" font-size="300px" text-anchor="middle">Ab é</text>
<text x="100" y="50" font-size="300px" text-anchor="end">two
 lines<tspan font-size="100px">small</tspan>tail</text>
<text x="100" y="50"> </text>
</svg>"""


def shape_as_text(shape: Shape) -> str:
    """Its box and its lines."""
    box = " ".join(f"{side:.1f}" for side in shape[:4])
    lines = [tuple(round(side, 1) for point in line for side in point) for line in shape.lines]
    return f"  {box} {lines or ''}".rstrip()


def test_the_boxes_of_shapes_are_the_golden_ones() -> None:
    lines = []
    for element in etree.fromstring(SHAPES):
        lines.append(f"{element.tag.rpartition('}')[2]} {' '.join(element.attrib.values())}")
        box = text_shape(element) if element.tag.endswith("text") else None
        shapes = [box] if box else list(element_shapes(element, {}))
        lines += [shape_as_text(shape) for shape in shapes]
        for shape in shapes:
            lines.append(f"  raised {shape_as_text(shape.raised(7))}")
            for x0, x1 in ((-50, 5), (20, 90), (250, 350), (390, 900)):
                span = shape.within(x0, x1)
                lines.append(f"  from {x0} to {x1}: {span and [round(y, 1) for y in span]}")
        lines += [f"  column {shape_as_text(one)}" for one in columns(shapes)]
    check_golden("shapes.txt", "\n".join(lines) + "\n")


def test_the_boxes_of_a_system_are_the_golden_ones() -> None:
    sheet = dense_part("alto-sax")
    lines = []
    for name in ("quick", "head"):
        (*_, drawing) = engrave(sheet, strain_of(sheet, name), first=False).drawings
        boxes = system_boxes(drawing)
        lines.append(f"{name}: top {boxes.top:.0f}, {len(boxes.fixed)} fixed")
        lines += [shape_as_text(shape) for shape in boxes.fixed]
        for tuplet in boxes.tuplets:
            lines.append(f" tuplet {tuplet.depth}")
            lines += [shape_as_text(shape) for group in tuplet.groups for shape in group.shapes]
        for group in boxes.floating:
            lines.append(f" {group.kind} {group.order} foot {group.foot:.0f} {group.label_in_line}")
            lines += [shape_as_text(shape) for shape in group.shapes]
    check_golden("boxes.txt", "\n".join(lines) + "\n")


def test_texts_of_other_scripts_are_drawn_as_the_golden_text_has_it() -> None:
    lines = []
    texts = ("क्षमा और", "نهر abc", "plain", "a👍🏽b")
    for inside in ("", 'text-anchor="middle" font-weight="bold"', 'text-anchor="end"'):
        drawing = Drawing(text_picture(*texts, inside=inside))
        outline_texts(drawing)
        for line in drawing_as_text(drawing.root):
            path = line.split(" d=")
            points = (
                [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", path[-1])] if path[1:] else []
            )
            lines.append(path[0] + (f" d={path[1][:60]} {sum(points):.0f}" if points else ""))
    for run in runs_of([Piece("नदी ab نهر", 400), Piece("bold 12", 300, 700), Piece("🇮🇳।", 300)]):
        lines.append(f"{run.text!r} {run.family.name} {run.size} {run.weight} {run.level}")
        lines.append(f"  {run_width(run):.1f} {[(g.advance, g.dx, g.dy) for g in shaped(run)]}")
    check_golden("outlines.txt", "\n".join(lines) + "\n")
