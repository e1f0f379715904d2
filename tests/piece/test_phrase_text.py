"""A phrase written as text reads back to the same notes."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.line_texts import passage
from support.making import piece_of
from support.tree_strategies import trees

from cyclechart.piece.line_text import script_named
from cyclechart.piece.model import Line
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_edits import backwards, faster
from cyclechart.piece.phrase_text import sections_of, text_of
from cyclechart.text.line_tree import write_items
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.timing import Timed, time_line
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic

CYCLES = (
    Cycle(name="ten", beats=Fraction(10), sections=tuple(map(Fraction, (2, 3, 2, 3))), stressed=()),
    Cycle(
        name="eleven and a half",
        beats=Fraction(23, 2),
        sections=(Fraction(4), Fraction(4), Fraction(7, 2)),
        stressed=(),
    ),
)


def read(text: str, key: str = "sargam") -> Timed:
    items, wrong = read_line(passage(text), script_named(key, Tonic("D")))
    timed, late = time_line(items, passage(text))
    assert not wrong, text
    assert not late, text
    return timed


def line_of(text: str, key: str = "sargam") -> Line:
    return piece_of(f'lines:\n  head: {{lands: free, {key}: "{text}"}}\n').lines["head"]


def facts(phrase: Phrase) -> list[tuple[object, ...]]:
    def value(note: Note) -> object:
        return note.syllable if note.pitch is None else note.pitch

    return [
        (one.start, one.length, value(one), one.grace, one.marks, one.glides)
        for one in phrase.notes
    ]


def read_facts(timed: Timed) -> list[tuple[object, ...]]:
    return [
        (one.start, one.length, one.value, one.grace, one.marks, one.glides)
        for one in timed.strikes
    ]


def _phrase(text: str) -> Phrase | None:
    items, wrong = read_line(passage(text), SARGAM_SCRIPT)
    timed, late = time_line(items, passage(text))
    if wrong or late or not timed.length or len(timed.strikes) > 200:
        return None
    where = passage(text).spot(0)
    notes = tuple(
        Note(
            one.start, one.length, where, int(one.value), grace=one.grace, marks=one.marks,
            glides=one.glides,
        )
        for one in timed.strikes
    )  # fmt: skip
    return Phrase(
        kind="melody", notes=notes, section_lines=(), speeds=timed.speeds, length=timed.length
    )


@given(
    trees(),
    st.sampled_from([None, *CYCLES]),
    st.fractions(min_value=1, max_value=9, max_denominator=6),
    st.sampled_from([Fraction(1), Fraction(2), Fraction(3, 2), Fraction(5, 7)]),
    st.booleans(),
)
def test_any_line_reads_back(
    tree: tuple[object, ...], cycle: Cycle | None, begins: Fraction, speed: Fraction, turn: bool
) -> None:
    phrase = _phrase(write_items(tree, SARGAM_SCRIPT))  # type: ignore[arg-type]
    if phrase is None:
        return
    phrase = faster(backwards(phrase) if turn else phrase, speed)
    sections = [] if cycle is None else sections_of(cycle, begins, phrase.length)
    timed = read(text_of(phrase, SARGAM_SCRIPT, sections))
    assert read_facts(timed) == facts(phrase)
    assert timed.length == phrase.length
    inside = {bar.offset for bar in timed.section_lines}
    assert inside <= {at for at, _ in sections}


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("S R - GR | m - z z", "S R - GR | m - z z"),
        ("S~P {G}R !trill!m - SRGmP", "S~P {G}R !trill!m - | SRGmP"),
        ("[S R G m P d]x3/2", "[S R G m P d]x3/2"),
        ("(S R)*2 P/2", "S R S R | P/2"),
        ("z S -z z", "z S -z z"),
    ],
)
def test_it_is_written_as_people_write(text: str, written: str) -> None:
    phrase = line_of(text).phrase
    cycle = Cycle(name="four", beats=Fraction(8), sections=(Fraction(4), Fraction(4)), stressed=())
    assert text_of(phrase, SARGAM_SCRIPT, sections_of(cycle, Fraction(1), phrase.length)) == written


def test_section_lines_say_where_the_first_beat_falls() -> None:
    phrase = line_of("P d S R G m P d n d P m").phrase
    found = text_of(phrase, SARGAM_SCRIPT, sections_of(CYCLES[0], Fraction(9), phrase.length))
    assert found == "P d || S R | G m P | d n | d P m"


def test_strokes_are_written_too() -> None:
    line = line_of("dha tirakita dhin z na/2", "strokes")
    assert read_facts(
        read(text_of(line.phrase, script_named("strokes", Tonic("D"))), "strokes")
    ) == (facts(line.phrase))
