"""Hostile and unusual texts on the whole page: shown as text, inside the margins, never run."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from PIL import Image
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.theory.spelling import Tonic
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.charts import set_pages
from cyclechart.write.paper.mode_page import mode_page
from cyclechart.write.paper.typesetting import PNG_PPI

SIDE, FOOT = 14, 3
"""Millimetres at each side, and at the bottom, that stay white."""

HOSTILE = {
    "markup": '*b* _x_ #read("/etc/hostname") $x^2$ <script>alert(1)</script> &amp; \\ @r = h // c',
    "letters": "x" * 300,
    "capitals": "W" * 300,
    "no letters": "!" * 300,
    "no-break spaces": "ab\u00a0" * 100,
    "wide ligatures": "\ufdfd" * 40,
    "wide dashes": "\u2e3b" * 60,
    "emoji": "🎷 👩‍👩‍👧‍👦 🇮🇳🇩🇪 👍🏽 ❤️ 1️⃣" * 5,
    "joined without end": "👩‍" * 150,
    "flags": "🇮🇳" * 120,
    "Arabic": "نهر الليل 12 (3/4) abc",
    "Hebrew": 'מנגינה 45: "שלום" end',
    "Arabic without spaces": "نهرالليل" * 40,
    "Devanagari without spaces": "क्षमाजागोमोहन" * 25,
    "marks": "Z" + "\u0301\u0323" * 15 + "algo " + "e" + "\u0302" * 30,
    "marks everywhere": "a\u0301" * 300,
    "override": "safe\u202egnp.exe\u202c \u2066x\u2069 a\u200bb\u200cc\ufeffd",
    "rows": "one\ntwo\r\nthree\tfour\u2028five\u0085six",
    "controls": "a\x00b\x07c\x1bd\x7fe\x9bf",
    "surrogate": "a\ud800b",
    "private": "a\ue000b",
    "no font": "河口之歌 강",
}


def with_text(text: str) -> Sheet:
    """A sheet whose every text is this one."""
    sheet = sheet_of(
        piece_of(
            "lines:\n  head:\n    sargam: |\n      S R | G m P | d - | P m G ||\n"
            "      S - - - - - - - - -\nform:\n  - play: head\n  - play: head\n"
        )
    )
    strain = sheet.strains[0]
    notes = tuple(replace(note, word="".join(text.split())[:12]) for note in strain.notes)
    road = tuple(replace(step, name=text, detail=text, changes=(text,)) for step in sheet.road)
    return replace(
        sheet,
        title=text,
        composer=text,
        strains=(replace(strain, name=text, remark=text, notes=notes),),
        road=road,
        liberties=(text, text),
        cycles=(replace(sheet.cycles[0], name=text),),
    )


def assert_within_margins(pages: list[bytes]) -> None:
    for data in pages:
        page = Image.open(io.BytesIO(data)).convert("L")
        for box in ((0, 0, SIDE, 297), (210 - SIDE, 0, 210, 297), (0, 297 - FOOT, 210, 297)):
            left, top, right, bottom = (round(place * PNG_PPI / 25.4) for place in box)
            assert page.crop((left, top, right, bottom)).getextrema()[0] == 255


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_no_text_leaves_the_page_of_a_chart(text: str) -> None:
    sheet = with_text(text)
    assert_within_margins(set_pages(sheet, chart_music(sheet), "png"))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_no_text_leaves_the_card_of_a_mode(text: str) -> None:
    mode = with_text("x").mode
    own = replace(mode, name=text, note=text, source=text, family=text, aka=(text,), hour=text)
    assert_within_margins(mode_page(own, Tonic("D"), "png"))
