"""The README stays true: what it shows is what the commands print, and it lists what there is."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner
from support.making import ROOT, findings_of, piece_of
from support.readme_lists import lists

from cyclechart import cli
from cyclechart.piece.load import load
from cyclechart.piece.shape import CadenceShape, FirstPartShape, LineShape, PieceShape
from cyclechart.text.shape_fitting import keys_of
from cyclechart.write.terminal import cadence_summary as cadence_report

README = (ROOT / "README.md").read_text("utf-8")
GOLDEN = (ROOT / "tests" / "golden" / "low-tide.txt").read_text("utf-8")


def test_the_findings_shown_are_those_that_are_printed() -> None:
    (shown,) = re.findall(r"<!-- findings -->\n```text\n(.*?)```", README, re.DOTALL)
    for block in shown.strip().split("\n\n"):
        # The golden file was made from the bytes alone, under a plain file name.
        assert block.split("\n", 1)[1] in GOLDEN


def test_the_cadence_shown_is_what_is_printed() -> None:
    (shown,) = re.findall(r"<!-- cadence -->\n```text\n(.*?)```", README, re.DOTALL)
    piece = "pieces/ferry-at-first-light.yaml"
    made = load(ROOT / piece).piece
    assert made is not None
    assert cadence_report.as_text(made).replace(f"{ROOT}/", "") == shown


def test_the_answers_shown_are_those_that_are_printed() -> None:
    printed = CliRunner().invoke(cli.cli, ["cadence", "tintal", "--phrase", "5"]).output
    rows = "\n".join(printed.splitlines()[:4])
    assert f"```text\n{rows}\n```" in README


def test_the_pivot_shown_is_what_is_printed() -> None:
    (shown,) = re.findall(r"<!-- pivot -->\n```text\n(.*?)```", README, re.DOTALL)
    words = ["pivot", "bhupali", "malkauns", "--to-tonic", "E"]
    assert shown in CliRunner().invoke(cli.cli, words).output


def test_the_piece_shown_has_no_finding() -> None:
    (shown,) = re.findall(r"```yaml\n(title: The Delta Post.*?)```", README, re.DOTALL)
    assert findings_of(shown) == []


def test_the_korvai_shown_lands() -> None:
    (shown,) = re.findall(r"```yaml\n(closing:\n  cadence:\n    first.*?)```", README, re.DOTALL)
    line = piece_of("lines:\n  " + shown.replace("\n", "\n  "), cycle="adi").lines["closing"]
    (cadence,) = line.cadences
    assert [end - start for start, end in cadence.first_part] == [7, 5, 3]
    assert cadence.answer is not None
    assert cadence.answer.name == "korvai"


def test_every_command_is_in_the_reference_and_every_pictures_file_is_there() -> None:
    for name in cli.cli.commands:
        assert f"| `{name}" in README, name
    for picture in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert (ROOT / picture).is_file(), picture


def test_every_key_of_a_piece_and_a_line_is_named() -> None:
    shapes = (PieceShape, LineShape, CadenceShape, FirstPartShape)
    for key in {key for shape in shapes for key in keys_of(shape)} - {"players"}:
        assert f"`{key}`" in README, key


@pytest.mark.parametrize("name", lists())
def test_the_lists_are_the_catalogues(name: str) -> None:
    assert f"<!-- {name} -->\n{lists()[name]}\n<!-- end -->" in README


def test_a_line_in_each_script_is_as_the_table_says() -> None:
    rows = re.findall(r"^\| `(sargam|degrees|solfa16|letters)` \| (\S+ \|.*?) \|$", README, re.M)
    assert len(rows) == 4
    for script, cells in rows:
        for tone, names in enumerate(cells.split(" | ")):
            for name in names.split():
                piece = piece_of(f"lines: {{a: {{{script}: '{name}'}}}}\n", tonic="D")
                assert [note.pitch for note in piece.lines["a"].notes] == [tone], (script, name)


def test_every_link_within_leads_somewhere() -> None:
    heads = {
        re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-")
        for head in re.findall(r"^#+ (.+)$", README, re.M)
    }
    assert set(re.findall(r"\]\(#(.*?)\)", README)) <= heads


def test_the_two_commands_stand_first_and_help_names_all() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert len(blocks) == 2
    assert "arrange pieces/*.yaml" in blocks[0]
    assert "pytest" in blocks[1]
    assert CliRunner().invoke(cli.cli, ["--help"]).exit_code == 0
