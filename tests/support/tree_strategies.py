"""Random trees of cells, groups, repeats and section lines, in any script."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from cyclechart.text.line_tree import (
    HAIRPINS,
    MARKS,
    MAX_DIVISOR,
    MAX_ELEMENTS_IN_CELL,
    MAX_SPEED,
    MAX_TEXT,
    ORNAMENTS,
    Cell,
    Element,
    Group,
    Item,
    Repeat,
    SectionMark,
    Slur,
    has_slur,
    struck,
)
from cyclechart.text.scripts import Value

PITCHES: st.SearchStrategy[Value] = st.integers(-36, 47)
"""Three octaves down and three up: what octave marks can say."""

SPEEDS = (
    st.sampled_from([Fraction(3, 2), Fraction(5, 4), Fraction(7, 4), Fraction(2), Fraction(3)])
    | st.builds(Fraction, st.integers(1, MAX_SPEED), st.integers(1, MAX_SPEED))
)  # fmt: skip


_SIGNS = st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"])
SAID = (
    st.text(_SIGNS, min_size=1, max_size=MAX_TEXT)
    | st.text('#|()[]{}!"~-/*x2 ', min_size=1, max_size=12)
).filter(lambda text: bool(text.strip()) and '"!' not in text)
"""Words above a note: any but those that would end them."""


def elements(
    values: st.SearchStrategy[Value], *, pitched: bool = True
) -> st.SearchStrategy[Element]:
    """Holds, rests, and notes with graces, decorations and glides; no glides and no ornaments where
    nothing is ``pitched``."""
    marks = MARKS if pitched else tuple(mark for mark in MARKS if mark not in ORNAMENTS)
    glides = st.booleans() if pitched else st.just(False)
    notes = st.builds(
        Element,
        st.just("note"),
        values,
        st.lists(values, max_size=3).map(tuple),
        st.lists(st.sampled_from(marks), max_size=2)
        .filter(lambda marks: not set(HAIRPINS) <= set(marks))
        .map(tuple),
        glides,
        glides,
        text=st.just("") | SAID,
    )
    return st.sampled_from([Element("hold"), Element("rest")]) | notes


def _plain_glides(held: list[Element]) -> tuple[Element, ...]:
    """``S~P`` in one cell is a glide out of S: P then has no glide of its own."""
    made: list[Element] = []
    for element in held:
        glide_in = element.glide_in
        if glide_in and made and made[-1].kind == "note" and not made[-1].glide_out:
            made[-1] = replace(made[-1], glide_out=True)
            glide_in = False
        made.append(replace(element, glide_in=glide_in))
    return tuple(made)


def cells(values: st.SearchStrategy[Value], *, pitched: bool = True) -> st.SearchStrategy[Cell]:
    """Short cells of every kind of element, and full ones of plain notes."""
    short = st.lists(elements(values, pitched=pitched), min_size=1, max_size=4)
    plain = st.builds(Element, st.just("note"), values)
    full = st.lists(plain, min_size=1, max_size=MAX_ELEMENTS_IN_CELL)
    divisors = st.just(1) | st.integers(1, MAX_DIVISOR)
    return st.builds(Cell, (short | full).map(_plain_glides), divisors)


def _sound_slur(slur: Slur) -> Item:
    """A slur over two notes or more without one in it; else the same items once."""
    notes = list(struck(slur.items))
    tones = all(isinstance(note.value, int) for note in notes)
    fit = len(notes) > 1 and tones and not has_slur(slur.items)
    return slur if fit else Repeat(slur.items, 1)


def trees(
    values: st.SearchStrategy[Value] = PITCHES, *, pitched: bool = True
) -> st.SearchStrategy[tuple[Item, ...]]:
    """Whole lines: bars at the top and in repeats, none in a group."""
    cell = cells(values, pitched=pitched)
    barless: st.SearchStrategy[Item] = st.recursive(
        cell,
        lambda inner: (
            st.builds(Group, st.lists(inner, min_size=1, max_size=3).map(tuple), SPEEDS)
            | st.builds(Slur, st.lists(inner, min_size=1, max_size=3).map(tuple)).map(_sound_slur)
            | st.builds(
                Repeat, st.lists(inner, min_size=1, max_size=3).map(tuple), st.integers(1, 4)
            )
        ),
        max_leaves=6,
    )
    bars = st.builds(SectionMark, st.booleans())
    repeats = st.builds(
        Repeat, st.lists(bars | barless, min_size=1, max_size=3).map(tuple), st.integers(1, 4)
    )
    return st.lists(bars | barless | repeats, max_size=5).map(tuple)
