"""Whatever the catalogue prints for a mode is legal in it: paths, other forms, phrases."""

from __future__ import annotations

import pytest
from support.catalogue import MODE_NAMES, mode
from support.making import findings_of, with_heading

from cyclechart.theory.tones import show_path

MOVEMENT = {
    "foreign-tone", "left-out-going-up", "left-out-coming-down", "turn-skipped",
    "turns-on-left-out", "strays",
}  # fmt: skip


@pytest.mark.parametrize("name", MODE_NAMES)
def test_its_own_forms_are_silent_under_check(name: str) -> None:
    """Each as a line of its own, then an octave lower and higher, each in a breath of its own."""
    made = mode(name)
    forms = [*made.ascents, *made.descents, *made.phrases]
    lines = "".join(
        f'  line-{number}-{octave + 1}: {{lands: free, sargam: "{show_path(moved)}"}}\n'
        for number, form in enumerate(forms)
        for octave in (-1, 0, 1)
        if max(moved := tuple(pitch + 12 * octave for pitch in form)) < 36 and min(moved) > -24
    )
    found = findings_of(with_heading(f"lines:\n{lines}", mode=name, cycle="tintal"))
    assert [one.message for one in found if one.rule in MOVEMENT] == []
    assert [one.message for one in found if one.severity != "advice"] == []
