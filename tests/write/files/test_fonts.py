"""The fonts that a page needs: with them it shows every text correctly."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path

import pypdfium2
import pytest
import typst

from cyclechart.catalog.svara_scripts import SVARA_SCRIPTS
from cyclechart.text.display import as_read, breakable, shown
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.text_outlines import outline_texts
from cyclechart.write.files import fonts
from cyclechart.write.files.fonts import (
    FAMILIES,
    OWN,
    SIGNS,
    TEXT,
    face,
    families_for,
    family_names,
    folder,
    font_paths,
    font_warnings,
    needs_more,
    without_font,
)

HOSTILE = {
    "markup": '*bold* _x_ #read("/etc/hostname") $x^2$ `raw` @ref = head // c',
    "web": "<script>alert(1)</script> &amp; \"q\" 's' \\ \\n",
    "long": "x" * 300,
    "marks": "Z" + "\u0301\u0323" * 15 + "ab",
    "override": "safe\u202egnp.exe\u202c",
    "rows": "one\ntwo\tthree\u2028four",
    "controls": "a\x00b\x07c\x1bd\x7fe",
    "surrogate": "a\ud800b",
    "private": "a\ue000b",
    "signs": "Sa ♭ ♯ ♮ ṡ ḥ × · ½ Ω Ж ☉",
    "empty": "",
}

PAGE = """
#let data = json(bytes(sys.inputs.data))
#set document(title: data.plain, date: none)
#set page(width: 180mm, height: auto, margin: 5mm)
#set text(font: data.fonts, size: 11pt)
#data.text
"""


def compiled(text: str, kind: str = "pdf") -> bytes:
    data = {
        "text": breakable(shown(text)),
        "plain": as_read(shown(text)),
        "fonts": family_names([shown(text)]),
    }
    made: bytes = typst.compile(
        {"main.typ": PAGE.encode()},
        format=kind,
        font_paths=font_paths([shown(text)]),
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        ignore_system_fonts=True,
        timestamp=0,
    )
    return made


def read_back(pdf: bytes) -> tuple[str, str]:
    """The title and the text of a PDF's page as PDFium reads them, without spaces."""
    document = pypdfium2.PdfDocument(pdf)
    text = document[0].get_textpage().get_text_range()
    return document.get_metadata_value("Title"), bare(text)


def bare(text: str) -> str:
    return re.sub(r"[\s\u200b\ufffe\u0002]", "", unicodedata.normalize("NFC", text))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_a_page_shows_every_text_as_text(text: str) -> None:
    title, body = read_back(compiled(text))
    assert title == as_read(shown(text))
    assert body == bare(shown(text))


@pytest.mark.parametrize(
    "text",
    [
        "👩‍" * 60,
        "श्री क्षमा मैं",
        "শুভ রাত্রি",
        "نهر الليل 12 abc",
        "מנגינה 45",
        "👩‍👧 🇮🇳 ❤️",
        "漢字",
    ],
)
def test_a_title_in_any_script_is_the_title(text: str) -> None:
    title, _ = read_back(compiled(text))
    assert title == text
    assert compiled(text) == compiled(text)


def is_letter_or_sign(sign: str) -> bool:
    return unicodedata.category(sign)[0] in "LNPS"


def unknown_to_typst(signs: list[str]) -> list[str]:
    """Those that typst draws with the box of an unknown one, each asked on a page of its own."""
    source = (
        "#set page(width: 40pt, height: 40pt)\n"
        "#let data = json(bytes(sys.inputs.data))\n"
        "#set text(font: data.fonts)\n"
        "#for sign in data.signs { page(sign) }"
    )
    data = {"fonts": family_names(signs), "signs": ["漢", *signs]}
    pages = typst.compile(
        {"main.typ": source.encode()},
        format="svg",
        font_paths=font_paths(signs),
        sys_inputs={"data": json.dumps(data)},
        ignore_system_fonts=True,
    )
    drawn = [set(re.findall(rb'<path[^>]* d="([^"]*)"', page)) for page in pages]
    page, box = re.findall(rb'<path[^>]* d="([^"]*)"', pages[0])
    return [sign for sign, paths in zip(signs, drawn[1:], strict=True) if box in paths - {page}]


def test_typst_itself_has_what_is_said_to_be_its_own() -> None:
    own = re.compile(f"[{OWN}]")
    signs = [sign for sign in map(chr, range(0x21, 0x1FB00)) if own.match(sign)]
    signs = list(filter(is_letter_or_sign, signs))
    assert unknown_to_typst(signs) == []


def test_latin_needs_nothing_more() -> None:
    text = "Ferry at First Light ṡ ḥ ♭♯♮ × · é Ω Ж"
    assert not needs_more(text)
    assert font_paths([text]) == []
    assert family_names([text]) == [TEXT, SIGNS]


def test_families_come_in_one_order() -> None:
    assert family_names(["x 🎷", "தமிழ் नदी"]) == family_names(["नदी தமிழ் 🎷"]) == [
        TEXT, "Noto Sans Devanagari", "Noto Sans Tamil", SIGNS, "Noto Emoji", "Noto Sans Symbols",
        "Noto Sans",
    ]  # fmt: skip


def test_the_names_are_those_that_typst_finds() -> None:
    found = typst.Fonts(include_system_fonts=False, font_paths=font_paths(["नदी"])).families()
    assert {TEXT, SIGNS, *(family.name for family in FAMILIES)} <= set(found)


def test_every_file_is_there() -> None:
    root = folder()
    assert root is not None
    assert all((root / family.file).is_file() for family in FAMILIES)


def test_what_no_font_has_is_told() -> None:
    assert without_font(["नदी 🎷 ♭ ☉\u200d", "漢字 a\ue000"]) == ["字", "漢", "\ue000"]
    (sentence,) = font_warnings(["".join(map(chr, range(0x4E00, 0x4E0C)))])
    assert "and 4 more" in sentence
    assert list(font_warnings(["नदी"])) == []


def outlined(svg: str) -> str:
    """A picture with its texts in other scripts drawn as outlines."""
    drawing = Drawing(svg)
    outline_texts(drawing)
    return drawing.svg


@pytest.fixture
def fonts_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[str], None]]:
    """Have the fonts, apart from those whose file's name begins so, in another folder."""

    def forget() -> None:
        for cached in (fonts.folder, fonts.face, fonts._characters):
            cached.cache_clear()

    def without(name: str) -> None:
        root = folder()
        assert root is not None
        (tmp_path / "bundle").mkdir()
        (tmp_path / "bundle" / "__init__.py").touch()
        for family in FAMILIES:
            if not family.file.startswith(name):
                (tmp_path / "bundle" / family.file).symlink_to(root / family.file)
        monkeypatch.syspath_prepend(str(tmp_path))
        monkeypatch.setattr(fonts, "PACKAGE", "bundle")
        forget()

    yield without
    monkeypatch.undo()
    forget()


TEXTS = "".join(
    f'<text x="0" y="0" font-size="0px"><tspan font-size="405px">{text}</tspan></text>'
    for text in ("नदी", "தமிழ்", "Low Tide")
)
NADI = Drawing(f'<svg xmlns="http://www.w3.org/2000/svg">{TEXTS}</svg>').svg


def test_a_font_that_is_missing_is_named(fonts_without: Callable[[str], None]) -> None:
    fonts_without("NotoSansDevanagari")
    assert without_font(["नदी தமிழ்"]) == ["द", "न"]
    told = list(font_warnings(["नदी தமிழ் 漢"]))
    assert len(told) == 2 and "漢" in told[0] and "boxes" in told[0]
    assert "द न as written" in told[1] and "Noto Sans Devanagari. Install" in told[1]
    assert "cyclechart[scripts]" in told[1] and "Tamil" not in told[1]
    assert "Noto Sans Devanagari" not in family_names(["नदी தமிழ்"])
    assert compiled("नदी") and read_back(compiled("Low Tide"))[1] == "LowTide"
    made = outlined(NADI)
    assert made.count('class="outlined"') == 1 and "नदी" in made


def test_without_the_plain_font_words_in_a_picture_stay_text(
    fonts_without: Callable[[str], None],
) -> None:
    fonts_without("NotoSans[")
    assert outlined(NADI) == NADI
    assert compiled("नदी") and not list(font_warnings(["नदी"]))


@pytest.mark.parametrize("name", ["PACKAGE", "SHAPER"])
def test_without_the_extra_latin_is_as_it_is_and_the_rest_is_told(
    fonts_without: Callable[[str], None], monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    latin = compiled("Ferry at First Light ♭")
    fonts_without("nothing")
    monkeypatch.setattr(fonts, name, "no_such_package")
    fonts.folder.cache_clear()
    assert compiled("Ferry at First Light ♭") == latin
    assert list(font_warnings(["Ferry ♭"])) == []
    (sentence,) = font_warnings(["नदी", "தமிழ்"])
    assert "Noto Sans Devanagari, Noto Sans Tamil." in sentence
    assert outlined(NADI) == NADI and compiled("नदी")


def test_typst_draws_every_character_that_is_not_told_as_lacking() -> None:
    every = list(filter(is_letter_or_sign, map(chr, range(0x21, 0x1FB00))))
    lacking = set(without_font(every))
    signs = [sign for sign in every if needs_more(sign) and sign not in lacking]
    assert len(signs) > 5000
    assert unknown_to_typst(signs) == []
    # And what is told is so; the fillers of Korean are blank and seem drawn.
    told = sorted(lacking - set("\u115f\u1160\u3164\uffa0"))[::20]
    assert unknown_to_typst(told) == told


@pytest.mark.parametrize("script", SVARA_SCRIPTS)
@pytest.mark.parametrize("title", ["", "ਨਦੀ", "નદી", "नदी"])
def test_the_names_of_svaras_are_set_from_one_font(script: str, title: str) -> None:
    """Typst sets a letter with its line from the first font that has either of the two, and leaves
    out what that font lacks: the font of the letters goes before all that have the line."""
    svaras = SVARA_SCRIPTS[script]
    names = svaras.twelve or svaras.seven
    families = [f for name in family_names([title, *names])[1:] for f in FAMILIES if f.name == name]
    for name in names:
        first = next(f for f in families if any(ord(sign) in face(f).unicodes for sign in name))
        assert all(ord(sign) in face(first).unicodes for sign in name), (name, first.name)


def test_lines_of_svaras_alone_ask_for_no_devanagari() -> None:
    assert [family.name for family in families_for(["ਗ॒ ਨੀ॒"])] == ["Noto Sans Gurmukhi", "Noto Sans"]
