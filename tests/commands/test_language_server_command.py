"""The command ``language-server``: it needs its extra, and says so."""

from __future__ import annotations

import sys

import pytest
from click.testing import CliRunner

from cyclechart.cli import cli


@pytest.mark.parametrize("missing", ["pygls", "lsprotocol"])
def test_without_its_extra_it_says_what_to_install(
    missing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in list(sys.modules):
        if name.split(".")[0] in ("pygls", "lsprotocol") or name == "cyclechart.editor.server":
            monkeypatch.delitem(sys.modules, name)
    monkeypatch.delitem(sys.modules, "cyclechart.editor.protocol", raising=False)
    monkeypatch.setitem(sys.modules, missing, None)
    result = CliRunner().invoke(cli, ["language-server"])
    assert result.exit_code == 2
    assert result.output == (
        "Error: the language server needs an extra: pip install 'cyclechart[editor]'\n"
    )


def test_its_help() -> None:
    result = CliRunner().invoke(cli, ["language-server", "--help"])
    assert result.exit_code == 0
    assert "Language Server Protocol" in result.output
