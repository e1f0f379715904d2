"""The texts over the music: paths that wrap well, signs of pitch that stand upright in italics."""

from __future__ import annotations

import ctypes
import io
import re
from dataclasses import replace

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from pypdf import PdfReader
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.files.paper_sizes import PAPERS
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.charts import set_pages

TWO_SA = (
    "lines:\n  head: {lands: free, sargam: S R G P}\nform:\n  - play: head\n"
    "  - {play: head, tonic: F#}\n  - {play: head, tonic: Bb}\n"
)


def _sheet(mode: str) -> Sheet:
    return sheet_of(piece_of(TWO_SA, mode=mode))


def _fonts(pdf: bytes, signs: str) -> list[tuple[str, str]]:
    """Each of these signs on the first page, with the name of its font."""
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage()
    found = []
    for at in range(text.count_chars()):
        sign = chr(pdfium.FPDFText_GetUnicode(text.raw, at))
        if sign in signs:
            buffer, flags = ctypes.create_string_buffer(200), ctypes.c_int()
            pdfium.FPDFText_GetFontInfo(text.raw, at, buffer, 200, flags)
            found.append((sign, buffer.value.decode()))
    return found


def test_a_sharp_or_flat_is_upright_in_italics() -> None:
    sheet = replace(_sheet("yaman"), title="A", composer="")
    (pdf, *_) = set_pages(sheet, chart_music(sheet), "pdf")
    signs = _fonts(pdf, "♯♭♮")
    assert {sign for sign, _ in signs} >= {"♯", "♭"}
    assert not [font for _, font in signs if "Italic" in font]
    # The text around them is italic as before.
    assert any("Italic" in font for _, font in _fonts(pdf, "="))


@pytest.mark.parametrize("mode", ["gaud-sarang", "jaijaiwanti", "yaman", "chhayanat"])
@pytest.mark.parametrize("paper", PAPERS)
def test_no_tone_of_a_path_stands_alone_on_a_line(mode: str, paper: str) -> None:
    sheet = _sheet(mode)
    (pdf, *_) = set_pages(sheet, chart_music(sheet, PAPERS[paper]), "pdf", PAPERS[paper])
    rows = PdfReader(io.BytesIO(pdf)).pages[0].extract_text().splitlines()
    first = next(at for at, row in enumerate(rows) if re.match(r"\s*up\b", row))
    last = next(at for at, row in enumerate(rows) if "tuning" in row)
    for row in rows[first : max(last, first + 1)]:
        path = [word for word in re.split(r"\s+", row) if word not in ("", "up", "down")]
        assert len(path) > 2, rows[first : last + 1]
