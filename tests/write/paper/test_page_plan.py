"""Charts planned for their pages, and the pages as they are set."""

from __future__ import annotations

import io
import re
from functools import lru_cache

import pytest
from pypdf import PdfReader
from support.bands import band_of
from support.making import load_text, piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.files.paper_sizes import A4, PAPERS, Paper
from cyclechart.write.paper.chart_music import ChartMusic, chart_music
from cyclechart.write.paper.charts import page_data, set_pages
from cyclechart.write.paper.page_plan import SIZES, PageWish
from cyclechart.write.paper.typesetting import query

STAFF = 6.8
"""The height of a staff of common size on A4, in mm."""

FORM = "form:\n" + "".join(f"  - {{play: {n}}}\n" for n in "abcdefghijkl")
BODY = "S R G m | P d n S' | n d P m | G R S z || S G R m | G P m d | P n d S' | n d P z"


def long_sheet(steps: int, form: str = "") -> Sheet:
    """A flute's part of so many steps, each a line of two cycles of its own."""
    names = "abcdefghijklmnopqrst"[:steps]
    turned = {name: " ".join([*BODY.split()[2 * n :], *BODY.split()[: 2 * n]]) for n, name in
              enumerate(names)}  # fmt: skip
    lines = "".join(f'  {name}: {{lands: free, sargam: "{text.strip("| ")}"}}\n'
                    for name, text in turned.items())  # fmt: skip
    steps_text = form or "form:\n" + "".join(f"  - play: {name}\n" for name in names)
    piece = piece_of(
        f"players:\n  flute: {{plays: melody}}\nlines:\n{lines}{steps_text}", cycle="tintal"
    )
    return part_sheet(Band(piece), piece.players[0])


@lru_cache(maxsize=64)
def music_of(steps: int, pages: int = 0, heading: str = "full") -> tuple[Sheet, ChartMusic]:
    sheet = long_sheet(steps)
    return sheet, chart_music(sheet, A4, PageWish(pages, heading))


def page_texts(sheet: Sheet, music: ChartMusic, paper: Paper = A4) -> list[str]:
    pdf = set_pages(sheet, music, "pdf", paper)[0]
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def count_of(steps: int, pages: int = 0, heading: str = "full") -> int:
    return len(page_texts(*music_of(steps, pages, heading)))


def test_a_wish_for_pages_is_met_by_smaller_music_within_the_limit() -> None:
    usual = count_of(8)
    assert usual == 2
    _, music = music_of(8, pages=1)
    assert music.plan.size < 1
    assert music.plan.size >= SIZES[-1]
    assert STAFF * SIZES[-1] >= 5.4, "the least staff that is drawn, in mm"


def test_a_wish_for_more_pages_spreads_the_rows() -> None:
    assert count_of(8, pages=3) == 3
    texts = page_texts(*music_of(8, pages=3))
    assert all(re.search(r"\b[a-h]\b", text) for text in texts), "no page without a step"


def test_a_short_heading_leaves_more_room() -> None:
    sheet, music = music_of(8, heading="short")
    texts = page_texts(sheet, music)
    assert "claps" not in texts[0]
    assert "in all" not in texts[0]
    assert sheet.title in texts[0]
    assert "claps" in page_texts(*music_of(8))[0]


def test_a_page_asked_for_begins_with_its_step() -> None:
    form = "form:\n  - play: a\n  - play: b\n    break: page\n  - play: c\n"
    sheet = long_sheet(3, form)
    texts = page_texts(sheet, chart_music(sheet))
    assert len(texts) == 2
    assert re.match(r"\s*B\s+b\b", texts[1]), texts[1][:40]


def test_short_strains_stand_side_by_side_unless_a_system_is_asked_for() -> None:
    text = (
        "players:\n  flute: {plays: melody}\n  drum-kit: {plays: theka}\n"
        'lines:\n  head: {sargam: "S R G m | P d n | S"}\n'
        "form:\n  - {groove: 4}\n  - {groove: 6, tempo: 100}\n  - {groove: 8}\n"
    )
    heading = "title: T\ncomposer: C\ntonic: C\nmode: charukeshi\ncycle: rupak\ntempo: 90\n"
    rows = {}
    for name, form in (("pair", text), ("apart", text.replace("8}", "8, break: system}"))):
        piece = load_text(heading + form).piece
        assert piece is not None
        kit = part_sheet(Band(piece), piece.players[1])
        rows[name] = [[cell.strain for cell in r.cells] for r in chart_music(kit).plan.rows]
    # The first shows the strokes of the cycle, and is no short strain.
    assert rows == {"pair": [[0], [1, 2]], "apart": [[0], [1], [2]]}


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_nothing_is_lost_between_pages(paper: Paper) -> None:
    band = band_of("silt-and-lanterns")
    for player in band.piece.players:
        sheet = part_sheet(band, player)
        texts = page_texts(sheet, chart_music(sheet, paper), paper)
        for strain in sheet.strains:
            if strain.shown_letter:
                assert sum(f"{strain.shown_letter}" in text for text in texts), strain.letter
        assert texts
        assert "V.S." not in texts[-1]


def test_the_rows_of_what_is_played_from_the_sign_have_their_headings_on_one_line() -> None:
    # Two short rows may stand side by side; with the cycles that they name there is less room.
    piece = piece_of(
        "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n"
        "lines:\n  head: {sargam: S R G m P d n S' n d P m G R}\n"
        "  long-interlude: {sargam: P m G R S R G m P d n S' n d}\nform:\n"
        "  - play: {flute: head, alto-sax: long-interlude}\n  - play: long-interlude\n"
        "  - {solo: flute, cycles: 4}\n  - play: {flute: head, alto-sax: long-interlude}\n"
        "  - play: long-interlude\n",
        cycle="rupak",
    )
    sheet = part_sheet(Band(piece), piece.players[0])
    music = chart_music(sheet)
    replayed = {at for at, strain in enumerate(sheet.strains) if "D.S." in strain.staff_text}
    assert [sheet.strains[at].name for at in replayed] == [
        "head (with long-interlude)", "long-interlude",
    ]  # fmt: skip
    shared = [[cell.strain for cell in row.cells] for row in music.plan.rows]
    assert all(row == [at] for at in replayed for row in shared if at in row)
    text = "\n".join(page_texts(sheet, music))
    assert re.search(r"head \(with long-interlude\).*D\.S\. al \w+ \(cycles \d+–\d+\)", text)


@pytest.mark.parametrize("times", [2, 1])
def test_a_heading_stands_alone_where_the_first_repeat_has_no_room_under_it(times: int) -> None:
    # A turn within a repeat has to be turned back: rather is a page left partly empty (common
    # practice in parts; from memory).
    tablet = PAPERS["tablet"]
    lines = "".join(f'  {name}: {{lands: free, sargam: "{BODY}"}}\n' for name in "bcdefgh")
    long = " || ".join(
        BODY.replace("S R G m", start) for start in ("S R G m", "G m P d", "P d n P")
    )
    piece = piece_of(
        f"players:\n  flute: {{plays: melody}}\nlines:\n{lines}"
        f'  a: {{lands: free, sargam: "{long}"}}\n'
        f"form:\n  - {{play: a, times: {times}}}\n"
        + "".join(f"  - play: {name}\n" for name in "bcdefgh"),
        cycle="tintal",
    )
    sheet = part_sheet(Band(piece), piece.players[0])
    music = chart_music(sheet, tablet)
    layout = query(*page_data(sheet, music, tablet), "<page-layout>")
    of_a = [row for row in music.plan.rows if row.cells[0].strain == 0]
    assert all(row.turn.cuts == (times > 1) for row in of_a[1:])
    under, whole = layout["rooms"]
    assert layout["heights"][0] < under < sum(layout["heights"][: len(of_a)]) < whole
    pages = page_texts(sheet, music, tablet)
    if times == 1:
        assert not layout["lone"] and layout["starts"][1] < len(of_a)
        assert len(pages) == len(layout["starts"])
        return
    assert layout["lone"] and layout["starts"][1] >= len(of_a)
    assert len(pages) == len(layout["starts"]) + 1
    assert "in all" in pages[0] and "V.S." not in pages[0]
    assert re.match(r"\s*A\s+a\b", pages[1]), pages[1][:40]
