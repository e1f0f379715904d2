"""Texts over the end of a staff stay in the picture."""

from __future__ import annotations

import pytest
from support.boxes import boxes_outside
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.write.engraving.drawing import TEXT, USE, Drawing
from cyclechart.write.engraving.svg_shapes import text_shape
from cyclechart.write.engraving.text_margins import keep_texts_inside
from cyclechart.write.paper.chart_music import chart_music

PICTURE = """\
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1900 200"><svg viewBox="0 0 19000 2000">
<g class="page-margin" transform="translate(220, 160)"><g class="measure">
<g class="staff"><path d="M0 632 L12000 632" stroke-width="13"/></g>
<g class="dir"><text x="{x}" y="300" font-size="0px"><tspan font-size="405px">{word}</tspan></text>
</g></g></g></svg></svg>
"""


def moved(x: int, word: str = "refrain (B)") -> tuple[float, float]:
    drawing = Drawing(PICTURE.format(x=x, word=word))
    before = next(drawing.root.iter(TEXT)).get("x")
    keep_texts_inside(drawing)
    text = next(drawing.root.iter(TEXT))
    shape = text_shape(text)
    assert shape is not None and before is not None
    return float(text.get("x", "0")) - float(before), shape.x1 + 220


def test_a_text_that_leaves_the_picture_is_moved_back_to_its_edge() -> None:
    by, right = moved(18_500)
    assert by < 0
    assert 18_900 < right <= 19_000


def test_a_text_inside_stays_where_it_is() -> None:
    assert moved(9_000)[0] == 0


def test_the_words_of_a_jump_end_with_their_measure() -> None:
    for word in ("To Coda", "D.S. al Coda", "Fine"):
        _, right = moved(9_000, word)
        assert right == pytest.approx(12_220, abs=2)


@pytest.mark.parametrize("kind", ["dynam", "fermata", "mordent", "trill", "turn"])
def test_a_sign_that_leaves_the_picture_is_moved_back_to_its_edge(kind: str) -> None:
    glyph = (
        '<defs><g id="E522-x"><path transform="scale(1,-1)" d="M0 -200L900 -200L900 500Z"/></g>'
        "</defs><svg viewBox"
    )
    use = (
        f'<g class="{kind}"><use xlink:href="#E522-x" transform="translate({{x}}, 900) '
        'scale(0.72, 0.72)"/></g></g></g></svg></svg>'
    )

    def place(x: int) -> str:
        picture = PICTURE.format(x=0, word="words").replace("<svg viewBox", glyph, 1)
        picture = picture.replace(
            "<svg xmlns", '<svg xmlns:xlink="http://www.w3.org/1999/xlink" xmlns'
        )
        picture = picture.replace("</g></g></svg></svg>", use.format(x=x))
        drawing = Drawing(picture)
        keep_texts_inside(drawing)
        assert boxes_outside(drawing.svg) == []
        return str(next(drawing.root.iter(USE)).get("transform"))

    assert place(9_000) == "translate(9000, 900) scale(0.72, 0.72)"
    assert place(18_600) == "translate(18112, 900) scale(0.72, 0.72)"


def test_to_coda_over_a_last_note_stays_in_the_picture() -> None:
    text = (
        "cycle: rupak\nplayers:\n  flute: {plays: melody}\n  tabla: {plays: theka}\nlines:\n"
        "  head: {sargam: S R G m P d n | S' n d P m G R | S R G m P d n | S - - z z z z}\n"
        "  out: {sargam: S' n d P m G R | S}\n  mid: {sargam: S G R m G P m | S n d P m G R}\n"
        "form:\n  - {play: head, times: 2}\n  - play: mid\n  - play: head\n  - play: out\n"
    )
    band = Band(piece_of(text))
    music = chart_music(part_sheet(band, band.piece.players[0]))
    drawn = [svg for systems in music.systems for svg in systems]
    assert any("Coda" in svg for svg in drawn)
    assert [box for svg in drawn for box in boxes_outside(svg)] == []
