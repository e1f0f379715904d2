"""The options of a rendering, and the name of its file."""

from __future__ import annotations

import hashlib
import re
from fractions import Fraction
from pathlib import PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.arrange.rehearse.options import (
    LONGEST_NAME,
    parse_cycles,
    parse_tempi,
    rendering_name,
)


@pytest.mark.parametrize(
    ("text", "percents"),
    [
        ("70%", [70]),
        ("70%,85%, 100%", [70, 85, 100]),
        ("60%-100% by 10%", [60, 70, 80, 90, 100]),
        ("60-100% by 10", [60, 70, 80, 90, 100]),
        ("60% to 100% by 15%", [60, 75, 90, 100]),
        ("100%-60% by 20%", [100, 80, 60]),
        ("62.5%, 62 1/2%", [62.5]),
        ("80%-80% by 5%", [80]),
        ("5%, 400%", [5, 400]),
    ],
)
def test_tempi_are_read(text: str, percents: list[float]) -> None:
    assert parse_tempi(text) == tuple(Fraction(percent) / 100 for percent in percents)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("70", "no percentage"),
        ("", "no percentage"),
        ("fast", "no percentage"),
        ("x%", "is not a number"),
        ("4%", "5% to 400%"),
        ("401%", "5% to 400%"),
        ("60%-100%", "by how much"),
        ("60%-100% by 0%", "more than nothing"),
        ("60%-100% by 1/1000000%", "more than 24"),
        ("60%-120% by 2%", "more than 24"),
        (",".join(f"{n}%" for n in range(50, 80)), "more than 24"),
    ],
)
def test_what_is_no_tempo_is_refused_in_a_sentence(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        parse_tempi(text)


@given(st.text(max_size=30))
def test_no_text_breaks_the_readers(text: str) -> None:
    for reader in (parse_tempi, parse_cycles):
        try:
            assert reader(text)
        except ValueError as error:
            assert str(error)


@pytest.mark.parametrize(
    ("text", "found"), [("5-8", (5, 8)), ("5", (5, 5)), (" 5 – 8 ", (5, 8)), ("3-3", (3, 3))]
)
def test_cycles_are_read(text: str, found: tuple[int, int]) -> None:
    assert parse_cycles(text) == found


@pytest.mark.parametrize(
    ("text", "said"),
    [("8-5", "write 5-8"), ("0", "from 1"), ("", "write 5 or 5-8"), ("5-", "5-8"), ("²", "5-8")],
)
def test_what_is_no_cycles_is_refused(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        parse_cycles(text)


def test_a_plain_name_is_plain() -> None:
    what = ("70%", "without alto-sax", "cycles 5-8", "4 times")
    assert rendering_name("ferry-at-first-light", *what) == (
        "ferry-at-first-light--70-percent--without-alto-sax--cycles-5-8--4-times"
    )


WORDS = st.text(alphabet="aB1-  %.é/", max_size=8) | st.sampled_from(
    ["con", "70%", "70 percent", "70-percent", "without alto sax", "without alto-sax", "5-8", "5 8"]
)


@given(st.lists(WORDS, min_size=1, max_size=4), st.lists(WORDS, min_size=1, max_size=4))
def test_two_renderings_never_share_a_name(one: list[str], other: list[str]) -> None:
    assert (rendering_name(*one) == rendering_name(*other)) == (one == other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("a", "without alto sax"), ("a", "without alto-sax")),
        (("a", "70%"), ("a", "70 percent")),
        (("a", "cycles 5"), ("a--cycles-5",)),
        (("a", "b", "c"), ("a", "b c")),
        (("a",), ("A",)),
        (("a", "x" * 200), ("a", "x" * 201)),
    ],
)
def test_names_that_clean_alike_are_kept_apart(one: tuple[str], other: tuple[str]) -> None:
    assert rendering_name(*one) != rendering_name(*other)


@given(st.text(), st.lists(st.text(), max_size=5))
def test_a_name_is_safe_on_every_file_system(stem: str, what: list[str]) -> None:
    name = rendering_name(stem, *what)
    assert re.fullmatch(r"[a-z0-9]+(-{1,2}[a-z0-9]+)*", name)
    assert len(name) <= LONGEST_NAME


@pytest.mark.parametrize("stem", ["con", "nul", "com1", "lpt9", "aux", "prn"])
def test_no_name_is_a_device(stem: str) -> None:
    # Python's own list of the names that Windows keeps back.
    assert PureWindowsPath(f"{stem}.mid").is_reserved()
    assert not PureWindowsPath(f"{rendering_name(stem)}.mid").is_reserved()


def test_just_as_many_tempi_as_there_may_be() -> None:
    most = ",".join(f"{n}%" for n in range(50, 74))
    assert len(parse_tempi(most)) == 24
    # What is named twice counts once.
    assert parse_tempi(f"{most},50%") == parse_tempi(most)
    assert len(parse_tempi("50%-73% by 1%")) == 24
    with pytest.raises(ValueError, match="more than 24"):
        parse_tempi(f"{most},74%")
    with pytest.raises(ValueError, match="more than 24"):
        parse_tempi("50%-75% by 1%")


@pytest.mark.parametrize(
    "text",
    ["60%-100 by 10%", "60-100 by 10", "60% by 10%", "60%-100% by", "60 to 70", "5%-401% by 99%"],
)
def test_a_range_needs_its_signs_and_its_step(text: str) -> None:
    with pytest.raises(ValueError, match=r"percent|by how much|no tempo|not a number"):
        parse_tempi(text)


def test_a_long_text_is_quoted_in_part() -> None:
    for reader in (parse_tempi, parse_cycles):
        with pytest.raises(ValueError, match=r"'x{40}'"):
            reader("x" * 100)


def test_cycles_have_six_digits_at_most() -> None:
    assert parse_cycles("1-999999") == (1, 999999)
    with pytest.raises(ValueError, match="names no cycles"):
        parse_cycles("1-1000000")


def test_the_longest_plain_name_stays_and_a_longer_one_has_a_digest() -> None:
    for length in (115, 116, 117, 150):
        stem = "a" * length
        name = rendering_name(stem, "4x")
        if length + 4 <= LONGEST_NAME:
            assert name == f"{stem}--4x"
        else:
            digest = hashlib.sha256(f"{length}:{stem}2:4x".encode()).hexdigest()[:12]
            assert name == f"{stem}--4x"[: LONGEST_NAME - 15].rstrip("-") + f"--x{digest}"
            assert len(name) == LONGEST_NAME


@pytest.mark.parametrize(
    ("stem", "what", "begins"),
    [
        ("Ébène à 5", (), "ebene-a-5--x"),
        ("", (), "piece--x"),
        ("--", ("", "50 % off"), "piece--50-percent-off--x"),
        ("a", ("x0123456789ab",), "a--x0123456789ab--x"),
        ("com5", (), "com5--x"),
        ("a_b", (), "a-b--x"),
    ],
)
def test_what_cleaning_loses_is_in_the_digest(stem: str, what: tuple[str], begins: str) -> None:
    asked = "".join(f"{len(one)}:{one}" for one in (stem, *what))
    digest = hashlib.sha256(asked.encode()).hexdigest()[:12]
    assert rendering_name(stem, *what) == begins + digest
