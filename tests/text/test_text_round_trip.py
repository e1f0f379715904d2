"""Written text is read back the same, and takes the time that its parts add up to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction as F

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.line_texts import STROKES, SYLLABLES, passage, read_text
from support.tree_strategies import PITCHES, trees

from cyclechart.catalog.strokes import strokes
from cyclechart.text.line_tree import (
    Cell,
    Element,
    Group,
    Item,
    Repeat,
    SectionMark,
    Slur,
    write_cell,
    write_items,
)
from cyclechart.text.scripts import (
    DEGREES_SCRIPT,
    SARGAM_SCRIPT,
    SOLFA16_SCRIPT,
    Script,
    Value,
    letters_script,
)
from cyclechart.text.timing import time_line
from cyclechart.theory.spelling import LETTERS, Tonic

TONICS = [Tonic(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]
PITCHED = [SARGAM_SCRIPT, DEGREES_SCRIPT, SOLFA16_SCRIPT]


def read_back(items: tuple[Item, ...], script: Script) -> None:
    written = write_items(items, script)
    again, findings = read_text(written, script)
    assert findings == []
    assert again == items


@pytest.mark.parametrize("script", PITCHED, ids=lambda script: script.name)
@settings(max_examples=60, deadline=None)
@given(items=trees())
def test_a_melodic_tree_is_read_back(script: Script, items: tuple[Item, ...]) -> None:
    read_back(items, script)


@settings(max_examples=60, deadline=None)
@given(items=trees(), tonic=st.sampled_from(TONICS))
def test_a_tree_in_letters_is_read_back_on_every_tonic(
    items: tuple[Item, ...], tonic: Tonic
) -> None:
    read_back(items, letters_script(tonic))


@settings(max_examples=60, deadline=None)
@given(items=trees(st.sampled_from(SYLLABLES)))
def test_a_tree_of_made_up_syllables_is_read_back(items: tuple[Item, ...]) -> None:
    read_back(items, STROKES)


@settings(max_examples=60, deadline=None)
@given(items=trees(st.sampled_from(sorted(strokes().syllables))))
def test_a_tree_of_the_catalogues_syllables_is_read_back(items: tuple[Item, ...]) -> None:
    read_back(items, strokes().script())


@pytest.mark.parametrize("script", [*PITCHED, *map(letters_script, TONICS)])
@settings(max_examples=30)
@given(value=PITCHES)
def test_a_tone_alone_is_read_back(script: Script, value: Value) -> None:
    assert script.read(script.write(value)) == value


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("S   R\n\tG", "S R G"),
        ("S # a comment", "S"),
        ("[S R]adi", "[S R]x3/2"),
        ("[S R]x6/4", "[S R]x3/2"),
        ("S/1", "S"),
        ("(S|R||)*3", "(S | R ||)*3"),
        ("~!trill!{R}S'~-/2", "~!trill!{R}S'~-/2"),
        ("(S (R)*2)  (G m)", "(S (R)*2) (G m)"),
        ('!"slow # 2 | ("!!cresc!S', '!cresc!!"slow # 2 | ("!S'),
    ],
)
def test_a_text_is_written_in_one_plain_way(text: str, written: str) -> None:
    items, findings = read_text(text)
    assert findings == []
    assert write_items(items, SARGAM_SCRIPT) == written


def test_syllables_are_parted_by_dots_so_that_they_cut_one_way() -> None:
    made = Cell((Element("note", "ti"), Element("note", "ta"), Element("rest")))
    assert write_cell(made, STROKES) == "ti.ta.z"


# Time: against a flat reckoning of its own


def flat(items: Iterable[Item], beat: F = F(1)) -> Iterator[tuple[str, F]]:
    """(kind, length) of every element, one after the other."""
    for item in items:
        if isinstance(item, Cell):
            for element in item.elements:
                yield element.kind, beat / item.parts / len(item.elements)
        elif isinstance(item, Group):
            for kind, length in flat(item.items):
                yield kind, length * beat / item.speed
        elif isinstance(item, Slur):
            yield from flat(item.items, beat)
        elif isinstance(item, Repeat):
            for _ in range(item.times):
                yield from flat(item.items, beat)
        else:
            assert isinstance(item, SectionMark)


@settings(max_examples=80, deadline=None)
@given(trees())
def test_the_parts_of_a_line_add_up_to_it(items: tuple[Item, ...]) -> None:
    timed, told = time_line(items, passage(""))
    assume(not any(found.rule == "too-long" for found in told))
    assert timed.length == sum((length for _, length in flat(items)), F(0))


@settings(max_examples=80, deadline=None)
@given(trees())
def test_strikes_never_overlap_and_with_the_silences_fill_the_line(
    items: tuple[Item, ...],
) -> None:
    timed, told = time_line(items, passage(""))
    assume(not any(found.rule == "too-long" for found in told))
    starts: list[F] = []
    silence = now = F(0)
    sounding = False
    for kind, length in flat(items):
        sounding = kind == "note" or (kind == "hold" and sounding)
        if kind == "note":
            starts.append(now)
        if not sounding:
            silence += length
        now += length
    assert [strike.start for strike in timed.strikes] == starts
    ends = [strike.start + strike.length for strike in timed.strikes]
    assert all(end <= start for end, start in zip(ends, [*starts[1:], now], strict=False))
    assert sum((strike.length for strike in timed.strikes), silence) == now


@settings(max_examples=60, deadline=None)
@given(trees())
def test_section_lines_stand_in_order_within_the_line(items: tuple[Item, ...]) -> None:
    timed, told = time_line(items, passage(""))
    assume(not any(found.rule == "too-long" for found in told))
    offsets = [line.offset for line in timed.section_lines]
    assert offsets == sorted(offsets)
    assert all(0 <= offset <= timed.length for offset in offsets)


@settings(max_examples=60, deadline=None)
@given(trees(), trees())
def test_two_lines_end_to_end_last_as_long_as_both(
    one: tuple[Item, ...], other: tuple[Item, ...]
) -> None:
    both, _ = time_line((*one, *other), passage(""))
    parts = [time_line(items, passage(""))[0] for items in (one, other)]
    assert both.length == parts[0].length + parts[1].length
    assert len(both.strikes) == len(parts[0].strikes) + len(parts[1].strikes)
