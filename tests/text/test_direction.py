"""The direction of writing, against another implementation of the bidirectional algorithm."""

from __future__ import annotations

import pytest
from bidi import get_display
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.text.direction import as_drawn, begins_leftward, levels


def drawn(text: str) -> str:
    """The text from left to right as it is drawn; brackets are not turned around."""
    pairs = zip(text, levels(text), strict=True)
    return "".join(sign for sign, _ in as_drawn(list(pairs), lambda pair: pair[1]))


def test_numbers_run_rightward_within_leftward_writing() -> None:
    assert drawn("abc אב 12") == "abc 12 בא"
    assert levels("אב 12") == [1, 1, 1, 2, 2]


@pytest.mark.parametrize(
    "text",
    [
        "نهر 12 (3/4) abc.",
        "A (אבג) 12",
        "(نهر) abc",
        "אב [ab (12) ג] x",
        "١٢٣ نهر 45%",
        "abc نهر 1,234.5 xyz",
        "12 אב",
        "",
    ],
)
def test_as_the_crate_unicode_bidi_has_it(text: str) -> None:
    # python-bidi 0.6 wraps the Rust crate unicode-bidi.
    assert drawn(text) == get_display(text, base_dir="R" if begins_leftward(text) else "L")


@given(st.text(st.sampled_from("ab אבنه12١٢()[].,-+%/!♯"), max_size=24))
def test_any_text_runs_as_the_crate_unicode_bidi_has_it(text: str) -> None:
    assert drawn(text) == get_display(text, base_dir="R" if begins_leftward(text) else "L")
