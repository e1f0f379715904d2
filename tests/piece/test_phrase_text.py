"""A phrase written as text reads back to the same notes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.line_texts import passage
from support.making import TONICS, load_text, piece_of, with_heading
from support.tree_strategies import trees

from cyclechart.piece.line import Line
from cyclechart.piece.line_text import script_named
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_edits import backwards, faster
from cyclechart.piece.phrase_text import sections_of, text_of
from cyclechart.piece.written_line import KEY_OF, music_of
from cyclechart.text.chord_script import chords_script
from cyclechart.text.excerpts import quoted
from cyclechart.text.line_tree import Item, write_items
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.timing import Timed, time_line
from cyclechart.theory.chord_symbols import ChordSymbol
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
        if note.pitch is not None:
            return note.pitch
        return note.chord or "+".join(note.drums) or note.syllable

    return [
        (one.start, one.length, value(one), one.grace, one.marks, one.glides, one.text, one.slur)
        for one in phrase.notes
    ]


def read_facts(timed: Timed) -> list[tuple[object, ...]]:
    return [
        (one.start, one.length, one.value, one.grace, one.marks, one.glides, one.text, one.slur)
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
            glides=one.glides, text=one.text, slur=one.slur,
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


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("(P m G) R - S", "(P m G) R | - S"),
        ("S (RG m) P", "S (RG m) P"),
        ("S- (-R G) m", "S -/2 (R/2 G) m"),
        ("(S R G - | - z)", "(S R G) - | - z"),
        ("([S R G m P d]x3/2) S", "[(S R G m P d)]x3/2 | S"),
        ("[(S R) (G m) P d]x3/2 S", "[(S R) (G m) P d]x3/2 | S"),
        ("(S [R G m]x3/2 P) d", "(S [R G m]x3/2 P) | d"),
        ('!"on the nod # 1 (soft) !"!!accent!S R', '!accent!!"on the nod # 1 (soft) !"!S R'),
        ("!p!!cresc!S R !f!m !cut!P", "!p!!cresc!S R !f!m !cut!P"),
    ],
)
def test_slurs_words_and_hairpins_are_written(text: str, written: str) -> None:
    phrase = line_of(text.replace('"', '\\"')).phrase
    cycle = Cycle(name="four", beats=Fraction(8), sections=(Fraction(4), Fraction(4)), stressed=())
    found = text_of(phrase, SARGAM_SCRIPT, sections_of(cycle, Fraction(1), phrase.length))
    assert found == written
    assert read_facts(read(found)) == facts(phrase)


def test_a_slur_that_goes_out_of_a_group_is_written_and_the_group_is_not() -> None:
    phrase = line_of("S R [G m P d n S']x3/2 P").phrase
    notes = list(phrase.notes)
    notes[3], notes[-1] = replace(notes[3], slur="starts"), replace(notes[-1], slur="ends")
    phrase = replace(phrase, notes=tuple(notes))
    assert read_facts(read(text_of(phrase, SARGAM_SCRIPT))) == facts(phrase)


def tonic_named(name: str) -> Tonic:
    return piece_of("lines: {head: {sargam: S}}\n", tonic=name).tonic


_SUFFIXES = ("", "m", "7", "m7", "6", "6/9", "m7b5", "7#9", "sus4", "dim7", "Δ", "7(b9)", "13")


@given(
    trees(st.sampled_from([f"{root}{suffix}{bass}" for root in ("S", "G", "D", "m") for suffix in
    _SUFFIXES for bass in ("", "/P")]), pitched=False),
    st.sampled_from(TONICS),
    st.sampled_from([Fraction(1), Fraction(2), Fraction(3, 2)]),
    st.booleans(),
    st.booleans(),
)  # fmt: skip
def test_any_chords_read_back(
    tree: tuple[Item, ...], tonic: str, speed: Fraction, turn: bool, in_letters: bool
) -> None:
    degrees = chords_script("S", tonic_named(tonic))
    plain = replace(degrees, write=str)
    text = write_items(tree, plain)
    items, wrong = read_line(passage(text), degrees)
    if wrong:
        return
    if in_letters:
        text = write_items(items, chords_script("", tonic_named(tonic)))
    heading = f"  head: {{lands: free, chords: {quoted(text)}}}"
    echo = f"  echo: {{from: head, speed: {speed}, reversed: {str(turn).lower()}}}"
    read_back(f"lines:\n{heading}\n{echo}\n", tonic=tonic)


@given(
    trees(st.sampled_from(["k", "h", "k+h", "s+o", "f+r+k", "t"]), pitched=False),
    st.sampled_from([Fraction(1), Fraction(2), Fraction(3, 2)]),
    st.booleans(),
)
def test_any_kit_line_reads_back(tree: tuple[Item, ...], speed: Fraction, turn: bool) -> None:
    text = write_items(tree, replace(script_named("kit", Tonic("D")), write=str))
    heading = f"  head: {{lands: free, kit: {quoted(text)}}}"
    echo = f"  echo: {{from: head, speed: {speed}, reversed: {str(turn).lower()}}}"
    read_back(f"lines:\n{heading}\n{echo}\n")


def read_back(text: str, **heading: str) -> None:
    """Hold that what ``check`` prints of a line from another reads back to its notes."""
    piece = load_text(with_heading(text, **heading)).piece
    if piece is None or "echo" not in piece.lines or not piece.lines["echo"].phrase.whole:
        return
    line = piece.lines["echo"]
    key = KEY_OF[line.kind]
    written = f"lines:\n  echo: {{lands: free, {key}: {quoted(music_of(piece, line))}}}\n"
    again = piece_of(written, **heading).lines["echo"]
    assert _sounding_facts(again.phrase) == _sounding_facts(line.phrase), written
    assert again.length == line.length


def _sounding_facts(phrase: Phrase) -> list[tuple[object, ...]]:
    """The facts, without the staff steps that letters give their roots."""
    return [
        (*fact[:2], (fact[2].root, fact[2].suffix, fact[2].bass), *fact[3:])
        if isinstance(fact[2], ChordSymbol)
        else fact
        for fact in facts(phrase)
    ]


def test_strokes_are_written_too() -> None:
    line = line_of("dha tirakita dhin z na/2", "strokes")
    assert read_facts(
        read(text_of(line.phrase, script_named("strokes", Tonic("D"))), "strokes")
    ) == (facts(line.phrase))
