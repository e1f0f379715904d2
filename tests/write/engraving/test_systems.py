"""Engraved systems and set pages: how cycles are dealt out, that texts stay texts, same bytes."""

from __future__ import annotations

import html
import re
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import pytest
from support.making import DEMO_BOOK, FEW_PIECE_SEEDS, load_text, piece_of, random_piece
from support.reading_musicxml import Element, check_measure, check_ties, measure_beats, parsed

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.piece.load import load
from cyclechart.write.engraving.engraver import MARGIN, PAGE_WIDTH
from cyclechart.write.engraving.section_cuts import cut_at, struck_beats
from cyclechart.write.engraving.system_breaks import deal
from cyclechart.write.engraving.systems import Engraved, engrave
from cyclechart.write.musicxml.document import score_xml, strain_xml
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.charts import changed_drones, heading, set_pages

ROOM = (PAGE_WIDTH - MARGIN) * 10
DEMO = [pytest.param(path, id=path.stem) for path in DEMO_BOOK]


def cycles(count: int, sections: int = 4, landing: int = 0) -> list[Measure]:
    """So many cycles of sections of four beats, and sections of a landing after them."""
    made = []
    for number in range(count * sections + landing):
        at = Fraction(4 * number)
        cycle, section = divmod(number, sections)
        closes = section == sections - 1
        made.append(
            Measure(
                start=at,
                length=Fraction(4),
                cycle=cycle + 1,
                beat=Fraction(4 * section + 1),
                sign="",
                opens=not section,
                closes=closes,
                whole=True,
            )
        )
    return made


def test_systems_break_at_first_beats() -> None:
    breaks, fill = deal(cycles(6), [1000] * 24, 0)
    assert breaks == [12]  # a line of 18,820 holds four cycles of 4,000: three and three, not 4 + 2
    assert fill <= 1


def test_a_cycle_too_wide_for_a_line_breaks_at_its_sections() -> None:
    breaks, fill = deal(cycles(2), [8000] * 8, 0)
    assert breaks == [2, 4, 6]
    assert fill <= 1


def test_a_section_too_wide_for_a_line_says_by_how_much() -> None:
    _, fill = deal(cycles(1), [2 * ROOM, 100, 100, 100], 0)
    assert fill == 2


def test_a_landing_stays_with_its_cycle() -> None:
    measures = cycles(4, landing=1)
    # Four cycles fill the line: a short landing is taken with them, the strain drawn a little
    # smaller; a long one stands with two of them.
    assert deal(measures, [1120] * 17, 0)[0] == []
    assert deal(measures, [1120] * 16 + [4000], 0)[0] == [8]
    assert deal(cycles(1, landing=1), [4300] * 4 + [3000], 0)[0] == []


def test_a_pickup_stands_with_the_cycle_it_leads_into() -> None:
    pickup = Measure(
        start=Fraction(-3),
        length=Fraction(3),
        cycle=0,
        beat=Fraction(14),
        sign="",
        opens=False,
        closes=True,
        whole=False,
    )
    assert deal([pickup, *cycles(2)], [9000, *[2000] * 8], 0)[0] == [5]


def sheet_from(path: Path) -> Sheet:
    piece = load(path).piece
    assert piece is not None
    return sheet_of(piece)


@lru_cache
def demo_drawn(path: Path) -> list[tuple[Strain, Engraved]]:
    """The strains of a piece of the demo book, each as it is engraved."""
    sheet = sheet_from(path)
    return [(strain, engrave(sheet, strain, first=True)) for strain in sheet.strains]


@pytest.mark.parametrize("path", DEMO)
def test_every_note_of_the_demo_is_drawn_once_and_none_is_drawn_small(path: Path) -> None:
    for strain, drawn in demo_drawn(path):
        assert drawn.size >= 0.85
        text = "".join(drawn.systems)
        for number in range(len(strain.notes)):
            assert len(re.findall(rf'id="n-{strain.letter}-{number}"', text)) == 1


def widths_used(svg: str) -> tuple[int, int]:
    """Where the last staff line ends, and how wide the picture is."""
    ends = [int(end) for end in re.findall(r'<path d="M\d+ \d+ L(\d+) \d+"', svg)]
    box = re.search(r'class="definition-scale"[^>]*viewBox="0 0 (\d+) \d+"', svg)
    assert box
    return max(ends), int(box[1])


@pytest.mark.parametrize("path", DEMO)
def test_nothing_of_a_staff_is_cut_off(path: Path) -> None:
    for _, drawn in demo_drawn(path):
        for svg in drawn.systems:
            end, width = widths_used(svg)
            assert end <= width


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS[::4])
def test_random_pieces_are_engraved_whole(seed: int) -> None:
    piece = load_text(random_piece(seed)).piece
    assert piece is not None
    sheet = sheet_of(piece)
    for strain in sheet.strains:
        drawn = engrave(sheet, strain, first=True)
        text = "".join(drawn.systems)
        found = set(re.findall(rf'id="n-{strain.letter}-(\d+)"', text))
        assert len(found) == len(strain.notes)
    assert set_pages(sheet, chart_music(sheet), "pdf")[0].startswith(b"%PDF")


def drawn(sheet: Sheet) -> dict[str, list[str]]:
    def systems(strain: Strain) -> list[str]:
        return engrave(sheet, strain, first=True).systems

    return {strain.letter: systems(strain) for strain in sheet.strains}


MARKUP = (
    '#read("/etc/hostname")',
    "<script>alert(1)</script> &amp; &",
    "$ x^2 $ *bold* _under_ @ref [link] \\ `raw` // no comment",
    "x" * 300,
    "नदी की नाव 🛶 سفينة",
)


@pytest.mark.parametrize("title", MARKUP, ids=["call", "html", "signs", "long", "scripts"])
def test_a_title_is_text_whatever_it_holds(title: str) -> None:
    quoted = title.replace("\\", "\\\\").replace('"', '\\"')
    piece = piece_of(
        f'title: "{quoted}"\ncomposer: "{quoted}"\n'
        "lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"
    )
    sheet = sheet_of(piece)
    assert sheet.title == " ".join(title.split())
    assert set_pages(sheet, chart_music(sheet), "pdf")[0].startswith(b"%PDF")


@pytest.mark.parametrize("word", ["नदी", "سفينة", "川", "🛶", "e\u0301", "&amp;<b>"])
def test_sung_words_of_any_script_are_engraved(word: str) -> None:
    text = f"lines:\n  head:\n    sargam: S R | G m P\n    words: '{word} {word}- {word}'\n"
    sheet = sheet_of(piece_of(text))
    systems = drawn(sheet)
    said = html.unescape(re.sub("<[^>]*>", "", "".join(systems["A"])))
    assert said.count(word) == 3
    assert set_pages(sheet, chart_music(sheet), "pdf")[0].startswith(b"%PDF")


def test_the_same_sheet_gives_the_same_bytes() -> None:
    sheet = sheet_from(DEMO_BOOK[0])
    for kind in ("pdf", "png"):
        one, other = (set_pages(sheet, chart_music(sheet), kind) for _ in range(2))
        assert one == other


def test_the_drone_is_named_in_headings_and_not_over_the_staff() -> None:
    text = (
        "tonic: Bb\nlines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"
        "form:\n  - play: head\n  - {play: head, tonic: C}\n  - play: head\n"
    )
    sheet = sheet_of(piece_of(text))
    (svg,) = engrave(sheet, sheet.strains[0], first=True).systems
    assert 'class="harm"' not in svg
    assert heading(sheet)["drone"] == "drone B♭ F"
    assert list(changed_drones(sheet)) == [(1, "drone C G")]


def test_a_grace_stroke_inside_a_beamed_cell_leaves_the_chart_whole() -> None:
    text = '"dha dha.{kat}dha dha | dha dha | dha dha || dha"'
    sheet = sheet_of(piece_of(f"lines:\n  head: {{strokes: {text}}}\n"))
    (svg,) = engrave(sheet, sheet.strains[0], first=True).systems
    said = ["".join(re.findall(r"<tspan[^>]*>([^<>]+)</tspan>", syllable))
            for syllable in re.findall(r'class="syl".*?</g>', svg, re.DOTALL)]  # fmt: skip
    assert said == ["dha", "dha", "(kat) dha", *["dha"] * 6]
    assert svg.count('class="beam"') == 1
    assert "<polygon" in svg


def long_line() -> Sheet:
    """One cycle of 29 beats without inner sections, four notes a beat, and its landing."""
    cells = " ".join(["SRgm", "P-{n}dP", "m-gR", "[SRg mP]x2", "- R"] * 5)
    text = f'lines:\n  head: {{sargam: "{cells} S R G m || S"}}\n'
    return sheet_of(piece_of(text, cycle="{beats: 29, sections: [29]}"))


def test_a_long_undivided_section_is_cut_on_the_page_and_not_drawn_small() -> None:
    sheet = long_line()
    made = engrave(sheet, sheet.strains[0], first=True)
    assert made.size >= 0.75
    assert len(made.systems) > 3
    assert all(svg.count('class="measure"') == 1 for svg in made.systems)
    published = parsed(score_xml(sheet)).findall("part/measure")
    assert len(published) == 2


def test_a_cut_section_has_the_same_notes_without_a_line_where_it_goes_on() -> None:
    sheet = long_line()
    strain = sheet.strains[0]
    cut = cut_at(strain, struck_beats(strain, {0}))
    assert len(cut.measures) > 15
    whole, pieces = (parsed(strain_xml(sheet, given, first=True)) for given in (strain, cut))

    def spelled(root: Element) -> list[tuple[str | None, ...]]:
        paths = ("duration", "type", "dot", "beam", "lyric/text")
        return [tuple(note.findtext(path) for path in paths) for note in root.iter("note")]

    assert spelled(whole)[:-2] == spelled(pieces)[:-2]
    measures = pieces.findall("part/measure")
    divisions = int(str(pieces.findtext(".//divisions")))
    lengths = [measure_beats(measure, divisions) for measure in measures]
    assert lengths == [measure.length for measure in cut.measures]
    for measure in measures:
        check_measure(measure)
    check_ties(pieces)
    styles = [measure.findtext("barline/bar-style") for measure in measures]
    inner = len(cut.measures) - 2
    assert styles == [*["none"] * inner, None, "light-heavy"]


def test_a_section_is_not_cut_where_a_note_is_held() -> None:
    text = "lines:\n  head:\n    sargam: S R - GmP -d - [m G R]x3/2 S || S\n"
    sheet = sheet_of(piece_of(text, cycle="{beats: 9, sections: [9]}"))
    assert struck_beats(sheet.strains[0], {0}) == {1, 3, 6, 8}


def test_a_long_rest_is_cut_after_whole_rests() -> None:
    text = 'lines:\n  head: {sargam: "S || S"}\n'
    piece = piece_of(text.replace("S ||", f"S {'z ' * 28}||"), cycle="{beats: 29, sections: [29]}")
    sheet = sheet_of(piece)
    assert struck_beats(sheet.strains[0], {0}) == {1, 5, 9, 13, 17, 21, 25}


def test_a_section_is_not_cut_within_a_rest_of_a_tuplet() -> None:
    text = "lines:\n  head: {sargam: '[m z R]x3/2 S R || S'}\n"
    sheet = sheet_of(piece_of(text, cycle="{beats: 4, sections: [4]}"))
    assert struck_beats(sheet.strains[0], {0}) == {2, 3}


def test_a_cycle_over_several_systems_is_dealt_out_evenly() -> None:
    breaks, fill = deal(cycles(1, sections=8), [4000] * 8, 0)
    assert breaks == [4]
    assert fill <= 1
