"""The engraver is one for the process: threads that draw at once draw what each draws alone."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.engraving.engraver import EngravingError, draw_endless
from cyclechart.write.musicxml.document import strain_xml


def _document(tones: str) -> bytes:
    sheet = sheet_of(piece_of(f"lines:\n  head: {{sargam: {tones}}}\n"))
    return strain_xml(sheet, sheet.strains[0], first=True)


def _drawing(document: bytes, wide: bool) -> str:
    """A picture without the ids, which the engraver counts on."""
    return re.sub(r'(?<=id=")[^"]*|(?<=#)[^"]*', "", draw_endless(document, wide_names=wide))


def test_threads_draw_what_each_draws_alone() -> None:
    documents = [_document("S R G m P d n S' n d"), _document("P - m G R S - - - -")] * 12
    wide = [number % 3 == 0 for number in range(len(documents))]
    alone = [_drawing(one, w) for one, w in zip(documents, wide, strict=True)]
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(_drawing, documents, wide)) == alone


def test_the_engraver_draws_on_after_what_it_refused() -> None:
    document = _document("S R G m P d n S' n d")
    before = draw_endless(document)
    with pytest.raises(EngravingError):
        draw_endless(b"no music")
    assert draw_endless(document) == before
