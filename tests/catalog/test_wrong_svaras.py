"""Every path of the catalogue with one svara in its wrong form: what is tried is the right one."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.catalogue import MODE_NAMES, mode
from support.making import findings_of, with_heading

from cyclechart.theory.grammar import judge_breath, repair_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_path, show_pitch

OTHER_FORM = {1: 2, 2: 1, 3: 4, 4: 3, 5: 6, 6: 5, 8: 9, 9: 8, 10: 11, 11: 10}


def wrong_lines(made: Mode) -> Iterator[tuple[list[int], tuple[int, ...], int]]:
    """Yield each path with one tone in the form that the mode has not, the path, and the index."""
    for path in (*made.ascents, *made.descents):
        for index, pitch in enumerate(path):
            other = OTHER_FORM.get(pitch % 12)
            if other is not None and other not in made.tones:
                line = list(path)
                line[index] = pitch - pitch % 12 + other
                yield line, path, index


@pytest.mark.parametrize("name", MODE_NAMES)
def test_the_other_form_of_the_svara_is_what_mends_it(name: str) -> None:
    made = mode(name)
    for line, path, index in wrong_lines(made):
        assert [one.index for one in judge_breath(made, line) if one.fault == "foreign-tone"] == [
            index
        ]
        assert repair_breath(made, line) == list(path)


def test_there_are_many_of_them() -> None:
    assert sum(1 for name in MODE_NAMES for _ in wrong_lines(mode(name))) > 1800


@pytest.mark.parametrize("name", ["yaman", "ahir-bhairav", "rageshri", "puriya-dhanashri", "todi"])
def test_check_says_so(name: str) -> None:
    for line, path, index in wrong_lines(mode(name)):
        text = f'lines:\n  head: {{lands: free, sargam: "{show_path(tuple(line))}"}}\n'
        found = findings_of(with_heading(text, mode=name, cycle="tintal"))
        (foreign,) = (one for one in found if one.rule == "foreign-tone")
        wanted = f"write {show_pitch(path[index])} for {show_pitch(line[index])}"
        assert foreign.tries == (wanted,)
