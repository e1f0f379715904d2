"""The page around the music: nothing leaves it, however long the cycle and the texts."""

from __future__ import annotations

import io
from fractions import Fraction

import pytest
from PIL import Image
from pypdf import PdfReader
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.text.display import breakable
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.charts import heading, set_pages, shown_tempo
from cyclechart.write.paper.grid import set_grid
from cyclechart.write.paper.typesetting import PNG_PPI

SIDE, FOOT = 14, 3
"""Millimetres at each side, and at the bottom, that stay white."""


TWO_NOTES = 'lines:\n  head: {sargam: "S || S"}\n'


def pages(**heading: str) -> list[Image.Image]:
    """The pictures of a piece of two notes."""
    sheet = sheet_of(piece_of(TWO_NOTES, **heading))
    drawn = set_pages(sheet, chart_music(sheet), "png")
    return [Image.open(io.BytesIO(page)).convert("L") for page in drawn]


def darkest(page: Image.Image, *box: float) -> int:
    """The darkest point (0 black, 255 white) of a box in millimetres: left, top, right, bottom."""
    left, top, right, bottom = (round(place * PNG_PPI / 25.4) for place in box)
    least, _ = page.crop((left, top, right, bottom)).getextrema()
    assert isinstance(least, int)
    return least


LONG = " ".join(["dhagetirakita"] * 16)
CYCLES = {
    "one section of 60": "{beats: 60}",
    "256": f"{{beats: 256, sections: [{', '.join(['16'] * 16)}]}}",
    "256 in one": "{beats: 256}",
    "long cells": f'{{beats: 16, sections: [4, 4, 4, 4], strokes: "{LONG}"}}',
    "a hundred long cells": f'{{beats: 96, sections: [50, 46], strokes: "{" ".join([LONG] * 6)}"}}',
    "halves": f"{{beats: 37 1/2, sections: [{', '.join(['2 1/2'] * 15)}]}}",
    "a name": f"{{name: {'Delta' * 30}, beats: 21, sections: [10, 11]}}",
}


@pytest.mark.parametrize("cycle", CYCLES.values(), ids=CYCLES)
def test_the_cycle_stays_within_the_margins(cycle: str) -> None:
    for page in pages(cycle=cycle):
        assert darkest(page, 0, 0, SIDE, 297) == 255
        assert darkest(page, 210 - SIDE, 0, 210, 297) == 255


@pytest.mark.parametrize("text", ["The Tidewater Seven and the mill, " * 3, "x" * 300, "ab " * 99])
def test_long_texts_wrap_and_leave_the_mode_its_room(text: str) -> None:
    plain = pages()[0]
    for page in pages(title=text, composer=text):
        assert darkest(page, 0, 0, SIDE, 297) == 255
        assert darkest(page, 210 - SIDE, 0, 210, 297) == 255
        assert darkest(page, 0, 297 - FOOT, 210, 297) == 255
    # The left three fifths of the heading are the mode's: its name stands on one line there.
    wide = pages(composer=text)[0]
    box = (SIDE, 22, 110, 29)
    assert crop(wide, *box) == crop(plain, *box)


def crop(page: Image.Image, *box: float) -> bytes:
    """The dots of a box in millimetres."""
    left, top, right, bottom = (round(place * PNG_PPI / 25.4) for place in box)
    return page.crop((left, top, right, bottom)).tobytes()


def test_a_long_word_can_be_broken_and_a_short_one_is_as_written() -> None:
    assert breakable("Ferry at First Light") == "Ferry at First Light"
    assert breakable("abcdef", 2) == "ab\u200bcd\u200bef"
    # No mark is parted from its letter.
    assert breakable("abe\u0301f", 3) == "abe\u0301\u200bf"


@pytest.mark.parametrize(
    ("tempo", "text"),
    [
        ("92", "92"),
        ("123.45", "123.45"),
        ("92 1/2", "92.5"),
        ("133 1/3", "133 1/3"),
        ("1/16", "1/16"),
    ],
)
def test_a_tempo_is_a_decimal_where_a_short_one_is_exact(tempo: str, text: str) -> None:
    whole, _, part = tempo.rpartition(" ")
    assert shown_tempo(Fraction(whole or 0) + Fraction(part)) == text


def test_a_cycle_of_a_fraction_is_named_in_one_piece() -> None:
    cycle = "{name: Odd, beats: 7 3/4, sections: [4, 3 3/4], stressed: [1]}"
    sheet = sheet_of(piece_of('lines:\n  head: {sargam: "S || S"}\n', cycle=cycle))
    (made,) = heading(sheet)["cycles"]
    assert made["name"] == "Odd, 7\u00a03/4"


@pytest.mark.parametrize("player", ["", "a part"])
def test_version_and_date_stand_in_the_foot_of_every_page(player: str) -> None:
    long = "lines:\n" + "".join(
        f"  line-{n}: {{sargam: S R G m P d n S' n d}}\n" for n in range(24)
    )
    piece = piece_of(long, title="The Tune " * 30, version="12", date="the first of May")
    band = Band(piece)
    sheet = part_sheet(band, piece.players[0]) if player else sheet_of(piece)
    chart = set_pages(sheet, chart_music(sheet), "pdf")[0]
    for pdf in (chart, set_grid(sheet_of(piece), "pdf")[0]):
        read = PdfReader(io.BytesIO(pdf)).pages
        assert len(read) > 1
        for page in read:
            assert "version 12 · the first of May" in page.extract_text()


def test_without_a_version_the_foot_has_none() -> None:
    sheet = sheet_of(piece_of(TWO_NOTES))
    (pdf,) = set_pages(sheet, chart_music(sheet), "pdf")
    assert "version" not in PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
