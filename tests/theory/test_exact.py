"""Exact numbers: every way of writing one is the same number, and a slip is refused plainly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.exact import MAX_DIGITS, parse_exact, show_beats, show_exact

# piece-language.md: "Numbers are exact: 11.5, 11 1/2 and 23/2 are the same."
ELEVEN_AND_A_HALF = ["11.5", "11 1/2", "23/2", "11½", " 11  1 / 2 ", "11.50", "10 3/2"]


@pytest.mark.parametrize("text", ELEVEN_AND_A_HALF)
def test_one_number_has_many_spellings(text: str) -> None:
    assert parse_exact(text) == Fraction(23, 2)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0", Fraction(0)),
        ("010", Fraction(10)),
        ("-2", Fraction(-2)),
        ("−1 1/2", Fraction(-3, 2)),
        ("0.1", Fraction(1, 10)),
        ("½", Fraction(1, 2)),
        ("¾", Fraction(3, 4)),
        ("⅓", Fraction(1, 3)),
        ("⅔", Fraction(2, 3)),
        ("⅛", Fraction(1, 8)),
        ("2¼", Fraction(9, 4)),
    ],
)
def test_a_number_is_read_as_written(text: str, value: Fraction) -> None:
    assert parse_exact(text) == value


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(23, 2), "11 1/2"),
        (Fraction(3, 4), "3/4"),
        (Fraction(-2), "-2"),
        (Fraction(-3, 2), "-1 1/2"),
        (Fraction(0), "0"),
    ],
)
def test_a_number_is_shown_as_a_musician_writes_it(value: Fraction, text: str) -> None:
    assert show_exact(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(1), "1 beat"),
        (Fraction(1, 2), "1/2 beat"),
        (Fraction(5, 2), "2 1/2 beats"),
        (Fraction(0), "0 beats"),
    ],
)
def test_one_beat_or_less_is_a_beat_and_more_or_none_are_beats(value: Fraction, text: str) -> None:
    assert show_beats(value) == text


@given(st.fractions(-(10**8), 10**8, max_denominator=10**6))
def test_what_is_shown_reads_as_the_same_number(value: Fraction) -> None:
    assert parse_exact(show_exact(value)) == value


@given(st.decimals(-(10**6), 10**6, places=4))
def test_decimals_read_as_pythons_own_exact_fraction_does(value: object) -> None:
    # Outside: fractions.Fraction of the standard library reads decimal text exactly.
    assert parse_exact(f"{value:f}") == Fraction(f"{value:f}")


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "-", "fast", "1/0", "1 1/0", "1.5 1/2", "1 2 3", "1e3", "0x10", "1_000", ".5",
        "5.", "½½", "nan", "inf", "1/2/3", "--1", "+1", "1 -1/2", "1:30", "1,5", "1/2.5",
    ],
)  # fmt: skip
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        parse_exact(text)


@pytest.mark.parametrize(
    "text",
    [
        "9" * 10**7,
        "1/" + "9" * 10**7,
        "0." + "0" * 10**7 + "1",
        "1 " + "1" * (MAX_DIGITS + 1) + "/2",
    ],
)
def test_ten_million_digits_are_refused_before_they_become_a_number(text: str) -> None:
    with pytest.raises(ValueError, match="digits") as caught:
        parse_exact(text)
    assert len(str(caught.value)) < 100


@pytest.mark.parametrize("text", ["x" * 10**6, "1" + " " * 10**6 + "x", "1 " * 10**6])
def test_a_long_text_that_is_no_number_is_not_said_back_whole(text: str) -> None:
    with pytest.raises(ValueError, match="not a number") as caught:
        parse_exact(text)
    assert len(str(caught.value)) < 150


@given(st.text(max_size=30))
def test_any_text_is_a_number_or_a_value_error(text: str) -> None:
    try:
        value = parse_exact(text)
    except ValueError:
        assert text not in ELEVEN_AND_A_HALF
        return
    assert any(letter.isdigit() or letter in "¼½¾⅓⅔⅛" for letter in text)
    assert value.denominator > 0
