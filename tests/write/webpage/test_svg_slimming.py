"""Pictures made small for a page: drawn they are the engraver's own, nothing in them is black."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
import typst
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from support.bands import band_of, staves

from cyclechart.write.engraving.systems import engrave
from cyclechart.write.webpage.parts import part_data
from cyclechart.write.webpage.svg_slimming import slim


def test_a_picture_has_no_colours_styles_or_fonts_of_its_own() -> None:
    name = "the-delta-post"
    for player, _ in staves(name):
        part = part_data(band_of(name), player)
        assert part is not None
        for system in part["systems"]:
            assert not re.search(r"white|black|<style|class=|Leipzig|<!--|<desc", system)
            root = etree.fromstring(system)
            assert root.get("viewBox") and root.get("fill") == "currentColor"


def pixels(svg: str) -> NDArray[np.int64]:
    """A picture as it is drawn with no fonts but the typesetter's own."""
    page = b'#set page(width: auto, height: auto, margin: 2pt)\n#image("a.svg", width: 500pt)'
    files = {"main.typ": page, "a.svg": svg.encode()}
    drawn = typst.compile(files, format="png", ppi=144.0, ignore_system_fonts=True)  # type: ignore[call-overload]
    return np.asarray(Image.open(io.BytesIO(drawn)).convert("L")).astype(np.int64)


@pytest.mark.parametrize("name", ["the-delta-post", "7"])
def test_a_small_picture_is_the_engravers_own(name: str) -> None:
    for player, sheet in staves(name):
        for strain in [one for one in sheet.strains if not one.silent][:3]:
            (drawing, *_) = engrave(sheet, strain, first=strain.first).drawings
            whole, small = pixels(drawing.svg), pixels(slim(drawing, "A0"))
            assert whole.shape == small.shape
            # A dashed line that is parted has its dashes elsewhere after its label.
            assert (abs(whole - small) > 96).sum() < 200, (player.name, strain.letter)
