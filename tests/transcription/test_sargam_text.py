"""Plain texts of sargam as tunes: rows, heads, sections, repeats, in any spelling."""

from __future__ import annotations

import random
import time
from contextlib import suppress
from fractions import Fraction as F

import pytest
from support import other_spellings as writers
from support.catalogue import MODE_NAMES, mode
from support.line_texts import timed_text
from support.other_spellings import random_cells, written

from cyclechart.transcription.refusal import CannotRead
from cyclechart.transcription.sargam_rows import rows_of
from cyclechart.transcription.sargam_text import is_sargam_text, text_tune
from cyclechart.transcription.tune import Tune

TEXT = """Lanterns on the Levee
Raag: Bhimpalasi
Taal: Teentaal
Sa = D
Tempo: 96

# the slow part
Sthayi:
Ni ga Ma Pa | Ni Dha Pa Ma | ga Ma Pa ga | Ma ga Re Sa
this is how the words go
.ni Sa ga Ma | Pa - - - | Ma Pa ga Ma | ga Re Sa - (x2)

Antara: Pa ga Ma Pa | Ni - Sa' - | Ni Sa' ga' Re' | Sa' Ni Dha Pa
"""


def _pitches(tune: Tune) -> list[int]:
    return [note.pitch for note in tune.voices[0].notes]


def test_a_text_with_a_head_and_sections() -> None:
    tune, said = text_tune(TEXT)
    assert (tune.title, tune.mode, tune.cycle, tune.tonic) == (
        "Lanterns on the Levee", "Bhimpalasi", "Teentaal", "D",
    )  # fmt: skip
    assert tune.from_sa
    assert [bar.section for bar in tune.bars] == ["Sthayi", "", "Antara"]
    assert [bar.length for bar in tune.bars] == [16, 16, 16]
    assert [bar.closes_repeat for bar in tune.bars] == [0, 2, 0]
    assert tune.meters[0].beats == 16
    assert tune.tempos[0].units == 96
    # A small initial is the lower tone; Ma has one form in Bhimpalasi.
    assert _pitches(tune)[:8] == [11, 3, 5, 7, 11, 9, 7, 5]
    assert [loss.place for loss in tune.losses] == ["line 10"]
    assert said == ("spelling: the names Sa Re Ga Ma; a small initial is the lower tone",)


def test_notes_are_held_over_the_end_of_a_row() -> None:
    tune, _ = text_tune("S R G m\n- - P D\n")
    assert [(note.start, note.length) for note in tune.voices[0].notes][3] == (3, 3)


def test_a_first_beat_in_a_row_makes_what_is_before_it_a_pickup() -> None:
    rows = "Taal: jhaptal\nP m | G R || S R | G m P | D N | S' N D\nP m G R S - - -\n"
    tune, _ = text_tune(rows)
    assert [bar.length for bar in tune.bars] == [4, 10, 8]


def test_repeat_signs() -> None:
    tune, _ = text_tune("|: S R G m :|\nP D N S'\n")
    assert [(bar.opens_repeat, bar.closes_repeat) for bar in tune.bars] == [(True, 2), (False, 0)]


def test_capitals_are_read_against_the_mode_that_is_named() -> None:
    assert _pitches(text_tune("Raag: Bhairavi\nS R G M P D N")[0]) == [0, 1, 3, 5, 7, 8, 10]
    assert _pitches(text_tune("Raag: Yaman\nS R G M P D N")[0]) == [0, 2, 4, 6, 7, 9, 11]
    assert _pitches(text_tune("S R G M P D N")[0]) == [0, 2, 4, 6, 7, 9, 11]
    assert _pitches(text_tune("S R G M P D N", mode="bhairavi")[0]) == [0, 1, 3, 5, 7, 8, 10]


SPELLED = [
    (writers.named, "–"), (writers.printed, "—"), (writers.devanagari, "ऽ"), (writers.tamil, "-"),
    (writers.sixteen, "_"), (writers.syllables, "-"), (writers.numbers, "-"), (writers.sargam, "-"),
]  # fmt: skip


@pytest.mark.parametrize(("writer", "hold"), SPELLED)
def test_texts_in_every_spelling_come_back_the_same(writer: writers.Writer, hold: str) -> None:
    chance = random.Random(hold + writer.__name__)
    for _ in range(25):
        of_mode = mode(chance.choice(MODE_NAMES))
        rows = [
            [[0], *random_cells(sorted(of_mode.tones | {0, 1, 8}), chance), [0, 8, 7]]
            for _ in range(4)
        ]
        text = "\n".join(written(row, writer, hold=hold) for row in rows)
        tune, _ = text_tune(f"A Title of Some Words\n\nSthayi:\n{text}\n")
        plain, _ = timed_text("\n".join(written(row, writers.sargam) for row in rows))
        assert [(note.start, note.length, note.pitch) for note in tune.voices[0].notes] == [
            (strike.start, strike.length, strike.value) for strike in plain.strikes
        ]
        assert tune.bars[-1].end == plain.length
        edges = [F(0), *(bar.end for bar in tune.bars)]
        assert [bar.start for bar in tune.bars] == edges[:-1]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Dear friend,\nhow are you?\nYours",
        "a\nb\nc",
        "{}[]()",
        "0 1 0 1",
        "x" * 5000,
        "\n" * 99,
    ],
)
def test_texts_without_tones_are_refused(text: str) -> None:
    assert not is_sargam_text(text)
    with pytest.raises(CannotRead):
        text_tune(text)


def test_texts_of_sargam_are_told_from_others() -> None:
    assert is_sargam_text(TEXT)
    assert is_sargam_text("S R G m\n")
    assert is_sargam_text("सा रे ग म\n")


@pytest.mark.parametrize(
    "text", ["Sa Re Ga\n" * 1900, "S" * 199_000, "( S " * 900, "Sa: " * 4000, "S\n" * 1900]
)
def test_hostile_texts_end_soon(text: str) -> None:
    start = time.process_time()
    with suppress(CannotRead):
        text_tune(text)
    assert time.process_time() - start < 3


@pytest.mark.parametrize("between", ["  ", " ", "\t", ", ", " | "])
def test_headings_may_share_a_row(between: str) -> None:
    head = rows_of(
        [f"Raga: Yaman{between}Tala: Teental", "S R G m"], lambda row: row[0] == "S"
    ).head
    assert head == {"mode": "Yaman", "cycle": "Teental"}


@pytest.mark.parametrize(
    ("text", "beats", "lengths"),
    [
        ("S R G m | P D N S' || S' N D P | m G R S || S - - -", 8, [8, 8, 4]),
        ("S R G m | P D N S' | S' N D P", 4, [4, 4, 4]),
        ("g m | P n P m | g R S - | n S g m | P", 4, [2, 4, 4, 4, 1]),
        ("S R G m P | m G R S - | S\nS R G m P | m G R S - | S - - -", 5, None),
    ],
)
def test_section_lines_that_are_evenly_apart_are_bars(
    text: str, beats: int, lengths: list[int] | None
) -> None:
    tune, _ = text_tune(text)
    assert tune.meters[0].beats == beats
    assert lengths is None or [bar.length for bar in tune.bars] == lengths
    assert not tune.losses


def test_section_lines_that_are_not_evenly_apart_are_said_to_be_lost() -> None:
    tune, _ = text_tune("g m | P n | P m g | R S -")
    assert tune.meters == ()
    assert "the | are left out" in tune.losses[0].what
    assert not text_tune("g m P n P m g R S -")[0].losses
