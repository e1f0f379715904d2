"""DEVELOPERS.md stays true: every file and every name that it mentions is there."""

from __future__ import annotations

import re

import pytest
from support.making import ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PATHS = sorted(set(re.findall(r"(?<![\w/])(?:[a-z_]+/)+(?!my-)[a-z_*-]+\.[a-z]+", TEXT)))
NAMED = sorted(set(re.findall(r"`(\w+)`(?: and `(\w+)`)? \(`([a-z_/]+\.py)`\)", TEXT)))


def test_there_is_enough_to_look_at() -> None:
    assert len(PATHS) > 40 and len(NAMED) > 15


@pytest.mark.parametrize("path", PATHS)
def test_every_file_is_there(path: str) -> None:
    folders = [ROOT, ROOT / "cyclechart", ROOT / "cyclechart" / "write" / "webpage"]
    assert any(list(folder.glob(path)) for folder in folders), path


@pytest.mark.parametrize(("name", "other", "path"), NAMED)
def test_every_function_is_where_it_is_said_to_be(name: str, other: str, path: str) -> None:
    code = (ROOT / "cyclechart" / path).read_text("utf-8")
    for wanted in filter(None, (name, other)):
        assert re.search(rf"^(?:def |class |    def )?{wanted}\b", code, re.MULTILINE), wanted
