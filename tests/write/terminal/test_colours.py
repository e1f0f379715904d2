"""Colours: on a terminal alone, off where NO_COLOR is set (no-color.org, from memory)."""

from __future__ import annotations

import io
import re

import pytest

from cyclechart.finding import Finding, Spot
from cyclechart.text.source import Source
from cyclechart.write.terminal.colours import in_colour, painter_for, plain
from cyclechart.write.terminal.findings import as_text


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def plain_surroundings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")


def test_a_terminal_has_colours_and_a_file_has_none() -> None:
    assert painter_for(Terminal()) is in_colour
    assert painter_for(io.StringIO()) is plain


@pytest.mark.parametrize(("key", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_no_colour_where_it_is_not_wanted(
    monkeypatch: pytest.MonkeyPatch, key: str, value: str
) -> None:
    monkeypatch.setenv(key, value)
    assert painter_for(Terminal()) is plain


def test_an_empty_no_color_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "")
    assert painter_for(Terminal()) is in_colour


def test_colour_adds_nothing_but_colour() -> None:
    """ECMA-48: a control sequence is ESC [ … m."""
    found = [
        Finding("a-rule", "error", Spot("f", 1, 3, 2), "here"),
        Finding("b-rule", "advice", Spot("f", 1, 1), "there", liberty="on purpose"),
    ]
    sources = {"f": Source.of("f", "S RG m")}
    coloured = as_text(found, sources, in_colour)
    assert coloured != as_text(found, sources)
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == as_text(found, sources)
    assert "\x1b[1;31merror\x1b[0m" in coloured and "\x1b[1;32mliberty\x1b[0m" in coloured
