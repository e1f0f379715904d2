"""Signs as charts print them and as editors replace them are read at their own places."""

from __future__ import annotations

import random
import unicodedata

import pytest
from support import other_spellings as writers
from support.line_texts import passage, read_text
from support.other_spellings import random_cells, written

from cyclechart.text.line_tree import Cell
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import DEGREES_SCRIPT, SARGAM_SCRIPT, SOLFA16_SCRIPT
from cyclechart.text.sign_names import named
from cyclechart.text.typographic_signs import with_plain_signs


@pytest.mark.parametrize(
    ("written_as", "key", "plain"),
    [
        ("\u1e60 \u1e58 \u0120 \u1e40 \u1e56 \u1e0c \u1e46 \u1e5a", "sargam",
         "S' R' G' M' P' D, N, R,"),
        ("S\u0307 n\u0323 S\u0308 P\u0324 S\u0308\u0307", "sargam", "S' n, S'' P,, S'''"),
        ("S\u2019 R\u2032 G\u2033 \u2013 \u2014 \u2212", "sargam", "S' R' G'' - - -"),
        ("S \u2016 R \u0964 G \u0965", "sargam", "S || R | G ||"),
        ("S\u200b R\u200d", "sargam", "S R"),
        ("S R\u2082 \u1e58\u2082", "solfa16", "S R2 R2'"),
        ("1\u0307 7\u0323", "degrees", "1' 7,"),
        ("B\u0307\u266d C\u2019", "letters", "B\u266d' C'"),
        ('!\u201cout \u2013 now\u201d!S !"it\u2019s"!R # \u2013 \u2019', "sargam",
         '!"out \u2013 now"!S !"it\u2019s"!R # \u2013 \u2019'),
        ("सा रे", "sargam", "सा रे"),
    ],
)  # fmt: skip
def test_signs_are_read_as_typed_ones(written_as: str, key: str, plain: str) -> None:
    assert with_plain_signs(passage(written_as), key).text == plain


def test_every_character_stands_where_its_sign_is() -> None:
    text = "\u1e60R\u0307g \u2014 \u2033"
    read = with_plain_signs(passage(text), "sargam")
    assert read.text == "S'R'g - ''"
    assert [read.spot(at).column for at in range(len(read.text))] == [1, 1, 2, 2, 4, 5, 6, 7, 8, 8]
    assert read.spot(0, 2).width == 1  # S and its dot are one character
    assert read.spot(2, 2).width == 2  # R and its dot are two
    assert read.spot(4, 1).width == 1


def test_a_thousand_lines_as_our_charts_print_them_are_read_in_place() -> None:
    chance = random.Random("as our charts print")
    for _ in range(1000):
        tones = sorted({0, *chance.sample(range(12), 6)})
        cells = random_cells(tones, chance, octaves=2)
        text = written(cells, writers.charted, hold=chance.choice("–—-"))
        again, wrong = read_line(with_plain_signs(passage(text), "sargam"), SARGAM_SCRIPT)
        assert wrong == []
        assert again == read_text(written(cells, writers.sargam))[0]


def test_plain_texts_are_the_same_passage() -> None:
    for text in ("S R g' m, - z", "no signs at all", ""):
        one = passage(text)
        assert with_plain_signs(one, "sargam") is one


def test_numbers_and_southern_names_with_dots() -> None:
    for pitch in range(-12, 24):
        text = writers.numbers(pitch)
        items, wrong = read_line(with_plain_signs(passage(text), "degrees"), DEGREES_SCRIPT)
        assert wrong == []
        assert isinstance(items[0], Cell)
        assert [element.value for element in items[0].elements] == [pitch]
    text = unicodedata.normalize("NFC", "R\u03072")
    items, wrong = read_line(with_plain_signs(passage(text), "solfa16"), SOLFA16_SCRIPT)
    assert wrong == []


@pytest.mark.parametrize(
    ("sign", "said"),
    [
        ("x", "'x'"),
        ("\u2019", "'\u2019' (U+2019, a typographic apostrophe)"),
        ("\u2013", "'\u2013' (U+2013, an en dash)"),
        ("\u0307", "' \u0307' (U+0307, combining dot above)"),
    ],
)
def test_a_sign_is_named_so_that_it_differs_on_the_screen(sign: str, said: str) -> None:
    assert named(sign) == said
