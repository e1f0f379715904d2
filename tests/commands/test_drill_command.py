"""The command ``drill``: its output is a piece, and it reports what it cannot do."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from support.making import findings_of, load_text

from cyclechart.cli import cli


@pytest.mark.parametrize("cycle", ["tintal", "rupak", "khanda-jati-dhruva"])
def test_what_is_written_is_a_piece_without_an_error(cycle: str) -> None:
    result = CliRunner().invoke(cli, ["drill", "bhimpalasi", "--cycle", cycle, "--tonic", "Eb"])
    assert result.exit_code == 0
    assert load_text(result.output).piece is not None
    told = [finding.rule for finding in findings_of(result.output) if finding.severity == "error"]
    assert not told
    landing = {"misses-first-beat", "early-landing", "late-landing"}
    assert not landing & {finding.rule for finding in findings_of(result.output)}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nonsense-mode"], "there is no mode"),
        (["yaman", "--tonic", "H"], "letter name"),
        (["yaman", "--tempo", "0"], "4 to 1000"),
        (["yaman", "--cycle", "nonsense"], "there is no cycle"),
    ],
)
def test_what_cannot_be_drilled(words: list[str], said: str) -> None:
    result = CliRunner().invoke(cli, ["drill", *words])
    assert result.exit_code == 2
    assert said in result.output
