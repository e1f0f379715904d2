"""The command ``pivot``: what it prints for two modes, and what it answers where nothing leads."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner, Result

from cyclechart.cli import cli
from cyclechart.write.terminal.pivot_card import WIDTH


def run(*words: str) -> Result:
    return CliRunner().invoke(cli, ["pivot", *words])


def test_bhupali_and_malkauns_from_its_third() -> None:
    result = run("bhupali", "malkauns", "--tonic", "D", "--to-tonic", "F#")
    assert result.exit_code == 0
    rows = [line.split() for line in result.stdout.splitlines()]
    assert ["in", "both", "D", "E", "F♯", "A", "B"] in rows
    assert ["Malkauns", "d", "n", "S", "g", "m"] in rows
    first = rows.index(["Bhupali", "G", "R", "S", "D,", "S", "R", "G"])
    assert rows[first + 1] == ["Malkauns", "S", "n,", "d,", "m,", "d,", "n,", "S"]
    assert rows[first + 2] == ["letters", "F♯", "E", "D", "B", "D", "E", "F♯"]
    assert "{play: LINE, mode: malkauns, tonic: F♯}" in result.stdout
    assert "your own teacher's comes first" in result.stdout


def test_on_one_sa_the_sargam_stands_once() -> None:
    result = run("yaman", "marwa")
    assert "on the same Sa" in result.stdout
    assert "goes      D (R), G (P)" in result.stdout
    assert "comes     D♭ (r)" in result.stdout
    assert "drone     from C G to C B" in result.stdout
    assert "{play: LINE, mode: marwa}" in result.stdout


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["malkauns", "hamsadhwani"], "Hold a tone over the change: C (S, which stays S)"),
        (["hindol", "bairagi"], "there are phrases for both: 20 on B"),
    ],
)
def test_where_no_phrase_leads_over_it_says_what_to_do(words: list[str], says: str) -> None:
    result = run(*words)
    assert result.exit_code == 1
    assert "No phrase is legal in both" in result.stdout
    assert says in " ".join(result.stdout.split())


def test_as_json() -> None:
    result = run("bhupali", "malkauns", "--to-tonic", "E", "--most", "2", "--format", "json")
    answer = json.loads(result.stdout)
    assert answer["modes"] == ["Bhupali", "Malkauns"]
    assert answer["tonics"] == ["C", "E"]
    assert [row["second"] for row in answer["common"]] == list("dnSgm")
    assert len(answer["pivots"]) == 2
    assert answer["pivots"][0] == {
        "first": "G R S D, S R G",
        "second": "S n, d, m, d, n, S",
        "letters": "E D C A C D E",
        "from": "phrase",
        "mode": "Bhupali",
    }
    assert json.loads(run("malkauns", "hamsadhwani", "--format", "json").stdout)["pivots"] == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["bhupaly", "malkauns"], "bhupali"),
        (["bhupali", ""], "there is no mode"),
        (["bhupali", "malkauns", "--to-tonic", "H"], "letter name"),
        (["bhupali", "malkauns", "--tonic", ""], "letter name"),
        (["bhupali", "malkauns", "--most", "0"], "--most"),
    ],
)
def test_what_it_cannot_answer(words: list[str], says: str) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert says in result.output


@pytest.mark.parametrize("tonic", ["C", "Db", "F#", "B"])
def test_no_line_runs_past_the_width_and_the_same_question_has_the_same_answer(tonic: str) -> None:
    for first, second in (("kedar", "kafi"), ("mela 1", "yaman"), ("ramkali", "lalit")):
        words = (first, second, "--tonic", "Ab", "--to-tonic", tonic, "--most", "50")
        result = run(*words)
        assert result.exit_code in (0, 1), result.output
        assert max(map(len, result.stdout.splitlines())) <= WIDTH
        assert run(*words).stdout == result.stdout
