"""Outlines of complex scripts inside a picture: where they stand, how wide, and what stays."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
import typst
import uharfbuzz
from fontTools.pens.boundsPen import BoundsPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont
from PIL import Image
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.shaped_text import Piece, run_width, runs_of
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.engraving.text_outlines import outline_texts
from cyclechart.write.files.fonts import FAMILIES, folder

SIZE = 405
WORDS = {
    "Devanagari": "क्षमा",
    "Bengali": "রাত্রি",
    "Tamil": "ஸ்ரீ",
    "Telugu": "తెలుగు",
    "Kannada": "ಕನ್ನಡ",
    "Malayalam": "മലയാളം",
    "Gujarati": "ગુજરાતી",
    "Gurmukhi": "ਪੰਜਾਬੀ",
    "Arabic": "نهر",
    "Hebrew": "מנגינה",
    "Thai": "น้ำ",
}


def font_file(script: str) -> Path:
    root = folder()
    assert root is not None
    return root / next(family.file for family in FAMILIES if family.name == f"Noto Sans {script}")


def picture(*texts: str, inside: str = "") -> str:
    """A picture as the engraver draws it, a text a line at x = 2000, with its style sheet."""
    rows = "".join(
        f'<text x="2000" y="{700 * row}" {inside} font-size="0px"><tspan class="rend">'
        f'\n  <tspan font-size="{SIZE}px">{text}</tspan>\n</tspan></text>'
        for row, text in enumerate(texts, start=1)
    )
    return (
        f'<svg id="a" viewBox="0 0 1200 {70 * len(texts) + 70}" '
        'xmlns="http://www.w3.org/2000/svg"><style type="text/css">'
        "#a path {stroke:currentColor}</style>"
        f'<svg color="black" viewBox="0 0 12000 {700 * len(texts) + 700}">{rows}</svg></svg>'
    )


def outlined(svg: str) -> str:
    """A picture with its texts in other scripts as outlines."""
    drawing = Drawing(svg)
    outline_texts(drawing)
    return drawing.svg


def box(svg: str) -> tuple[float, float, float, float]:
    """The bounds of all outlines, by fontTools' own reader of paths."""
    pen = BoundsPen(None)
    for path in re.findall(r'<path style="stroke:none"[^>]* d="([^"]*)"', svg):
        parse_path(path, pen)
    assert pen.bounds is not None
    return pen.bounds


def shaped_apart(script: str, word: str) -> tuple[float, float, float]:
    """By uharfbuzz alone, in the picture's units: the advance, the ink's left and right ends."""
    font = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(font_file(script)))))
    buffer = uharfbuzz.Buffer()
    buffer.add_str(word)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    scale = SIZE / font.face.upem
    at, left, right = 0, 10**6, -(10**6)
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        extents = font.get_glyph_extents(info.codepoint)
        if extents and extents.width:
            start = at + place.x_offset + extents.x_bearing
            left, right = min(left, start), max(right, start + extents.width)
        at += place.x_advance
    return at * scale, left * scale, right * scale


@pytest.mark.parametrize(("script", "word"), WORDS.items(), ids=WORDS)
def test_a_word_is_as_wide_and_stands_where_harfbuzz_says(script: str, word: str) -> None:
    advance, left, right = shaped_apart(script, word)
    (run,) = runs_of([Piece(word, SIZE)])
    assert run.family.name == f"Noto Sans {script}"
    assert run_width(run) == pytest.approx(advance)
    x0, _, x1, _ = box(outlined(picture(word)))
    assert (x0, x1) == pytest.approx((2000 + left, 2000 + right), abs=2)


def test_a_joined_word_is_narrower_than_its_letters() -> None:
    # क्ष is one glyph: by the cmap of the font alone (fontTools) it would be three.
    font = TTFont(font_file("Devanagari"))
    cmap, widths = font.getBestCmap(), font["hmtx"].metrics
    apart = sum(widths[cmap[ord(sign)]][0] for sign in "क्ष") * SIZE / font["head"].unitsPerEm
    (run,) = runs_of([Piece("क्ष", SIZE)])
    assert run_width(run) < 0.8 * apart


@pytest.mark.parametrize(("anchor", "share"), [("start", 0), ("middle", 0.5), ("end", 1)])
def test_a_text_keeps_its_anchor(anchor: str, share: float) -> None:
    advance, left, _ = shaped_apart("Devanagari", "क्षमा")
    x0, *_ = box(outlined(picture("क्षमा", inside=f'text-anchor="{anchor}"')))
    assert x0 == pytest.approx(2000 + left - share * advance, abs=2)


def test_the_page_shows_the_ink_where_the_outline_is() -> None:
    svg = outlined(picture("क्षमा"))
    source = '#set page(width: 120mm, height: auto, margin: 0mm)\n#image("a.svg", width: 100%)'
    made = typst.compile(
        {"main.typ": source.encode(), "a.svg": svg.encode()}, format="png", ppi=254.0,
        ignore_system_fonts=True,
    )  # fmt: skip
    page = Image.open(io.BytesIO(made)).convert("L").point(lambda dot: 255 - dot)
    # 12000 units are 1200 dots.
    found = page.getbbox()
    assert found is not None
    x0, y0, x1, y1 = (value / 10 for value in box(svg))
    assert found == pytest.approx((x0, y0, x1, y1), abs=1.5)


def test_other_texts_are_untouched() -> None:
    svg = picture("tide ṡ ♭♯♮ ×·", "Ω Ж", "&amp; &lt;b>", "漢", "\ue551")
    assert outlined(svg) == Drawing(svg).svg
    mixed = outlined(picture("tide", "नदी"))
    assert '<tspan font-size="405px">tide</tspan>' in mixed
    assert mixed.count("<title>") == 1
    assert outlined(mixed) == mixed


def test_the_text_stands_beside_its_outline() -> None:
    root = ElementTree.fromstring(outlined(picture("नदी &lt;b&gt; &quot;x&quot; &amp;")))
    group = next(part for part in root.iter() if part.get("class") == "outlined")
    assert group.get("aria-label") == 'नदी <b> "x" &'
    assert group[0].text == 'नदी <b> "x" &'


def test_a_character_reference_is_its_character() -> None:
    assert box(outlined(picture("&#x928;&#2342;&#x940;"))) == box(outlined(picture("नदी")))


def test_numbers_and_latin_run_rightward_within_leftward_writing() -> None:
    pieces = runs_of([Piece("نهر 12", SIZE)])
    assert [(run.text, run.level) for run in pieces] == [("نهر ", 1), ("12", 2)]


def test_bold_is_wider_and_a_mark_stays_with_its_letter() -> None:
    (plain,) = runs_of([Piece("क्षमा", SIZE)])
    (bold,) = runs_of([Piece("क्षमा", SIZE, 700)])
    assert run_width(bold) > run_width(plain)
    assert [run.text for run in runs_of([Piece("🏽👩‍👧❤️ 1", SIZE)])] == ["🏽👩‍👧❤️ ", "1"]


@pytest.mark.parametrize(
    ("sign", "follows"),
    [
        # Unicode Technical Standard 51: the tones of skin are U+1F3FB to U+1F3FF; a flag is written
        # in tags, U+E0020 to U+E007E, and ends in the cancel tag U+E007F.
        ("\U0001f3fb", True),
        ("\U0001f3ff", True),
        ("\U000e0020", True),
        ("\U000e007f", True),
        ("\U000e001f", False),
        ("\U000e0080", False),
    ],
)
def test_what_varies_an_emoji_is_drawn_with_it(sign: str, follows: bool) -> None:
    first, second = runs_of([Piece(f"🏴{sign}x", SIZE)])
    assert first.text + second.text == f"🏴{sign}x"
    assert (first.text == f"🏴{sign}") == follows


def test_sung_words_of_a_piece_are_outlined() -> None:
    sheet = sheet_of(
        piece_of('lines:\n  head: {lands: free, sargam: S R G m, words: "जा-गो tide नदी"}\n')
    )
    (svg,) = engrave(sheet, sheet.strains[0], first=True).systems
    drawn = outlined(svg)
    assert re.findall('aria-label="([^"]*)"', drawn) == ["जा", "गो", "नदी"]
    assert ">tide</tspan>" in drawn
    assert outlined(svg) == drawn


def test_nothing_is_imported_where_nothing_is_to_do() -> None:
    source = (
        "import sys; from cyclechart.write.engraving.drawing import Drawing\n"
        "from cyclechart.write.engraving.text_outlines import outline_texts\n"
        f"outline_texts(Drawing({picture('tide ♭')!r}))\n"
        "assert 'uharfbuzz' not in sys.modules and 'fontTools.pens' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", source], check=True)
