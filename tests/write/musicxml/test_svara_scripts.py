"""Svara names in the scripts of India: in MusicXML, on pages, with a font for every sign."""

from __future__ import annotations

from fractions import Fraction
from unicodedata import name, normalize

import pytest
from support.making import piece_of
from support.reading_musicxml import Element, parsed, texts

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_in_score, part_sheet
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.catalog.svara_scripts import SVARA_SCRIPTS, letters_of
from cyclechart.produce.piece_charts import part_charts, with_look
from cyclechart.write.files.fonts import family_of, without_font
from cyclechart.write.files.paper_sizes import A4, Look
from cyclechart.write.musicxml.document import part_xml
from cyclechart.write.paper.large_print import paper_for

LINE = "S r R g G m M P || d D n N S' R' G' - || G, m, P, d, n, N, r, R, || S - - - - - - -"
TEXT = "players: {{flute: {{octave: 1, reads: {{{reads}}}}}}}\nlines:\n  head: {{sargam: {line}}}\n"


def sheet(reads: str, line: str = f'"{LINE}"') -> Sheet:
    piece = piece_of(TEXT.format(reads=reads, line=line), cycle="keherwa")
    return part_sheet(Band(piece), piece.players[0])


def names(reads: str, look: Look | None = None) -> list[str]:
    root: Element = parsed(part_xml(with_look(sheet(reads), look or Look())))
    return texts(root, ".//lyric[@number='1']/text")


def test_devanagari_has_lines_for_the_forms_and_dots_for_the_octaves() -> None:
    # Bhatkhande's notation (from memory).
    found = names("script: devanagari")
    assert found[:12] == ["सा", "रे॒", "रे", "ग॒", "ग", "म", "म॑", "प", "ध॒", "ध", "नि॒", "नि"]
    assert found[12:15] == ["सां", "रें", "गं"]
    below = [normalize("NFC", text) for text in found[15:23]]
    assert below == [normalize("NFC", t) for t in ["ग़", "म़", "प़", "ध़॒", "ऩि॒", "ऩि", "ऱे॒", "ऱे"]]


def test_the_scripts_of_the_south_have_the_figures_of_the_sixteen_names() -> None:
    plain = names("names: solfa16")
    for script in ("telugu", "kannada", "tamil", "malayalam"):
        svaras = dict(zip("SRGMPDN", SVARA_SCRIPTS[script].seven, strict=True))
        found = names(f"script: {script}")
        bare = [text.translate(str.maketrans("", "", "\u0307\u0323")) for text in plain]
        bare = [normalize("NFD", t).replace("\u0307", "").replace("\u0323", "") for t in plain]
        assert found == [svaras[text[0]] + text[1:] for text in bare]


def test_bengali_has_letters_of_its_own() -> None:
    assert " ".join(names("script: bengali")[:12]) == "স ঋ র জ্ঞ গ ম হ্ম প দ ধ ণ ন"


@pytest.mark.parametrize("script", SVARA_SCRIPTS)
def test_every_sign_is_of_its_script_and_has_a_font(script: str) -> None:
    letters = letters_of(script)
    for sign in set(letters) - {"\u0951", "\u0952"}:
        assert name(sign).startswith(script.upper()), name(sign)
    assert not without_font([letters])
    fonts = {family_of(sign) for sign in letters if sign not in "\u0951\u0952"}
    assert len(fonts) == 1


@pytest.mark.parametrize("script", SVARA_SCRIPTS)
def test_no_name_is_a_box_or_a_dotted_circle(script: str) -> None:
    from cyclechart.write.engraving.shaped_text import Piece, font_at, runs_of, shaped

    svaras = SVARA_SCRIPTS[script]
    for text in svaras.twelve or svaras.seven:
        for octave in (-1, 0, 1):
            (run, *more) = runs_of([Piece(svaras.dotted(text, octave), 100.0)])
            assert not more
            circle = font_at(run.family, 400).get_nominal_glyph(0x25CC)
            glyphs = [glyph.number for glyph in shaped(run)]
            assert 0 not in glyphs
            assert circle is None or circle not in glyphs


def test_a_players_names_go_before_the_commands() -> None:
    assert names("names: degrees", Look(names="letters"))[:3] == ["1", "♭2", "2"]
    assert names("names: none", Look(names="letters")) == []
    assert names("script: gujarati", Look(names="letters"))[0] == "સા"
    assert names("script: gujarati", Look(names="solfa16"))[1] == "રે1"
    assert names("print: large", Look(names="letters"))[0] == "D"


def test_in_a_score_all_have_the_names_of_the_score() -> None:
    piece = piece_of(TEXT.format(reads="script: tamil, names: sargam", line="S R G m P d n d"))
    one = part_in_score(Band(piece), piece.players[0])
    assert (one.script, one.named("letters").names) == ("", "letters")


def test_large_print() -> None:
    plain, large = sheet(""), sheet("print: large")
    assert paper_for(plain, A4) is A4
    bigger = paper_for(large, A4)
    assert Fraction(A4.line, bigger.line) > Fraction(13, 10)
    assert bigger.text > A4.text
    assert (bigger.width, bigger.height) == (A4.width, A4.height)


@pytest.mark.parametrize(
    ("reads", "first", "clef", "chromatic"),
    [
        ("transposes: Bb", ("E", "5"), "G", "-2"),
        ("transposes: concert", ("D", "5"), "G", None),
        ("clef: bass", ("D", "5"), "F", None),
        ("clef: alto, transposes: F", ("A", "3"), "C", "5"),
    ],
)
def test_clef_and_key_are_written_and_what_sounds_stays(
    reads: str, first: tuple[str, str], clef: str, chromatic: str | None
) -> None:
    root = parsed(part_xml(sheet(reads)))
    note = root.find(".//note[pitch]")
    assert note is not None
    assert (note.findtext("pitch/step"), note.findtext("pitch/octave")) == first
    assert root.findtext(".//clef/sign") == clef
    assert root.findtext(".//transpose/chromatic") == chromatic


def test_part_charts_have_the_readers_script() -> None:
    piece = piece_of(TEXT.format(reads="script: tamil", line="S R G m P d n d"))
    ((_, one),) = part_charts(Band(piece), Look())
    assert one.script == "tamil"
