"""Texts in other spellings become the sargam that they say, and nothing else is taken for one."""

from __future__ import annotations

import random
import time

import pytest
from support import other_spellings as writers
from support.catalogue import MODE_NAMES, mode
from support.line_texts import read_text
from support.other_spellings import Writer, random_cells, written

from cyclechart.catalog.spellings.forms import only_form
from cyclechart.catalog.spellings.model import Known, Respelled
from cyclechart.catalog.spellings.recognise import LONGEST, all_spellings, respelled
from cyclechart.theory.spelling import Tonic

D = Tonic("D")
PROOF = {
    # Without a sign our own sargam reads a line as it stands; te ra me re are of no one spelling.
    "marked": {1, 3, 6, 8, 10},
    "syllables": {0, 4, 5, 7, 9, 11},
}
"""The tones of which one at least proves a spelling."""
MODES = [mode(name) for name in MODE_NAMES]

SPELLED: list[tuple[str, Writer, dict[str, str]]] = [
    ("names", writers.named, {"hold": "–"}),
    ("names", writers.in_words, {"hold": "-"}),
    ("marked", writers.printed, {"hold": "—"}),
    ("devanagari", writers.devanagari, {"hold": "ऽ"}),
    ("bengali", writers.bengali, {}),
    ("tamil", writers.tamil, {}),
    ("sixteen", writers.sixteen, {"hold": "_"}),
    ("syllables", writers.syllables, {}),
    ("sol-fa", writers.curwen, {}),
    ("numbers", writers.numbers, {"rest": "0"}),
    ("letters", writers.scientific, {}),
]


def _known(name: str) -> Known:
    return Known(mode(name), D)


def _whole(text: str, known: Known) -> Respelled:
    found = respelled(text, known)
    assert found is not None, text
    assert found.unread == ()
    return found


@pytest.mark.parametrize(
    ("spelling", "writer", "signs"), SPELLED, ids=lambda one: getattr(one, "__name__", str(one))
)
def test_a_thousand_lines_come_back_the_same(
    spelling: str, writer: Writer, signs: dict[str, str]
) -> None:
    chance = random.Random(f"lines in {spelling}")
    kept = 0
    for number in range(1000):
        of_mode = chance.choice(MODES)
        cells = random_cells(sorted(of_mode.tones | {0}), chance, octaves=1 + number % 2)
        text = written(cells, writer, **signs)
        found = respelled(text, Known(of_mode, D))
        plain = written(cells, writers.sargam)
        read, wrong = read_text(plain)
        assert wrong == []
        if found is None:
            tones = {one % 12 for cell in cells for one in cell if isinstance(one, int)}
            assert len(tones) < 2 or not tones & PROOF[spelling]
            continue
        again, wrong = read_text(found.text)
        assert wrong == []
        if found.spelling.name == spelling:
            kept += 1
            assert again == read, (of_mode.name, text, found.text, plain)
    assert kept > 800


def test_small_letters_are_read_against_the_mode() -> None:
    chance = random.Random("small letters")
    single = [one for one in MODES if all(only_form(one, degree) for degree in "RGMDN")]
    assert len(single) > 40
    for _ in range(1000):
        of_mode = chance.choice(single)
        cells = [*random_cells(sorted(of_mode.tones), chance), [7]]
        text = written(cells, lambda pitch: writers.sargam(pitch).lower())
        found = _whole(text, Known(of_mode, D))
        assert found.spelling.name == "small"
        assert read_text(found.text)[0] == read_text(written(cells, writers.sargam))[0]


@pytest.mark.parametrize(
    ("text", "of_mode", "sargam"),
    [
        ("Sa Re Ga Ma | Pa - Dha Ni ||", None, "S R G m | P - D N ||"),
        ("sa re ga ma pa", "bhairavi", "S r g m P"),
        ("SA RE GA MA", None, "S R G m"),
        ("Sa re ga Ma Pa dha ni", "bhairavi", "S r g m P d n"),
        ("Sa Re ga ma Ma Pa", None, "S R g m M P"),
        ("Sa komal Re Ga tivra Ma Pa", None, "S r G M P"),
        ("Sa Komal-Re Ga Teevra Ma", None, "S r G M"),
        ("S Rb G M# P Db N S'", None, "S r G M P d N S'"),
        ("Sa Re Ga Ma' Pa", None, "S R G M P"),
        ("Sa Re Ga Ma' Pa", "bilawal-thaat", "S R G m' P"),
        ("Sa' Re' Ma' Ga'", None, "S' R' m' G'"),
        ("s r g m p d n s'", "bilawal-thaat", "S R G m P D N S'"),
        ("s r g m p", "kalyan-thaat", "S R G M P"),
        (".Ni Sa Re Sa.", None, "N, S R S'"),
        ("Sa – – S Re", None, "S - - - R"),
        ("sa ri2 ga3 ma1 , ; pa", None, "S R G m - - - P"),
        ("सा रे ग म", "bhairavi", "S r g m"),
        ("सा रे ग म प ध नि सां", None, "S R G m P D N S'"),
        ("ऩि सा", None, "N, S"),
        ("సా రి గా మ", "mayamalavagowla", "S r G m"),
        ("d :r | m :f.s | l :-", None, "S R | G mP | D -"),
        ("do re mi fa sol la si", None, "S R G m P D N"),
        ("C4 D4 E4 C5", None, "n, S R n"),
        ("[Sa Re Ga]x3/2 (Pa Ma)*3 !accent!Sa {Re}Ga ~Ma~ Pa/2", None,
         "[S R G]x3/2 (P m)*3 !accent!S {R}G ~m~ P/2"),
        ('Sa !"on cue é – ’"!Re # Ga\nGa', None, 'S !"on cue é – ’"!R # Ga\nG'),
        ("Sa Re ? Ga Ma Pa", None, "S R ? G m P"),
        ("Sa, Re, Ga, Ma, Pa", None, "S, R, G, m, P"),
        ("Ni, Dha, Pa, Sa", None, "N, D, P, S"),
    ],
)  # fmt: skip
def test_the_sargam_of_a_text(text: str, of_mode: str | None, sargam: str) -> None:
    found = respelled(text, Known(None if of_mode is None else mode(of_mode), D))
    assert found is not None
    assert found.text == sargam


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("sa re ga", "R G as Bhairavi has them"),
        ("Sa re ga", "a small initial is the lower tone"),
    ],
)
def test_the_reason_is_given(text: str, reason: str) -> None:
    assert reason in _whole(text, _known("bhairavi")).reasons


def test_what_the_mode_decides_is_offered_plain_too() -> None:
    found = _whole("sa re ga ma", _known("bhairavi"))
    assert [one.text for one in found.others] == ["S R G m"]


def test_commas_that_may_part_the_tones_are_offered_as_such() -> None:
    found = _whole("Sa, Re, Ga, Ma, Pa", Known())
    assert [one.text for one in found.others] == ["S R G m P"]


@pytest.mark.parametrize(
    "text",
    ["S r g m p", "S R X m", "S R G p", "what a lovely day", "", "|", "- - -", "S' R' Q"],
)
def test_other_texts_are_in_no_spelling(text: str) -> None:
    assert respelled(text, Known(mode("bilawal-thaat"), D)) is None


def test_the_phrases_of_the_catalogue_are_in_no_spelling_of_names() -> None:
    wrong = []
    named = [one for one in all_spellings() if one.name not in ("sol-fa", "letters")]
    for found in MODES:
        for phrase in (*found.phrases, found.ascent, found.descent):
            text = " ".join(writers.sargam(pitch) for pitch in phrase)
            taken = respelled(text, Known(found, D), named)
            wrong += [(text, taken.spelling.name)] if taken else []
    assert wrong == []


@pytest.mark.parametrize(
    "text",
    [
        "Sa " * 3300,
        "sa" * 5000,
        "komal " * 1600,
        "." * 9900,
        "s" + "\u0331" * 9900,
        "सा" * 4900,
        "ஸ₁" * 4900,
        "((" * 4900,
        "((" * 4900 + "Sa",
        "!" * 9900,
        "Sa Re Q " * 1200,
        "b#" * 4900,
        "Sa " * (LONGEST + 1),
    ],
    ids=lambda text: str(text)[:6],
)
def test_hostile_texts_are_quick(text: str) -> None:
    start = time.process_time()
    respelled(text, Known(mode("bhairavi"), D))
    assert time.process_time() - start < 1
