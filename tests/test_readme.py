"""The README stays true: what it shows is what the commands print, and it lists what there is."""

from __future__ import annotations

import re

from click.testing import CliRunner
from making import ROOT, findings_of

from cyclechart import cli
from cyclechart.piece.shape import LineShape, PieceShape
from cyclechart.text.shaping import keys_of

README = (ROOT / "README.md").read_text("utf-8")
GOLDEN = (ROOT / "tests" / "golden" / "low-tide.txt").read_text("utf-8")


def test_the_findings_shown_are_those_that_are_printed() -> None:
    (shown,) = re.findall(r"<!-- findings -->\n```text\n(.*?)```", README, re.DOTALL)
    for block in shown.strip().split("\n\n"):
        # The golden file was made from the bytes alone, under a plain file name.
        assert block.split("\n", 1)[1] in GOLDEN


def test_the_piece_shown_has_no_finding() -> None:
    (shown,) = re.findall(r"```yaml\n(title: The Delta Post.*?)```", README, re.DOTALL)
    assert findings_of(shown) == []


def test_every_command_is_in_the_reference_and_every_pictures_file_is_there() -> None:
    for name in cli.cli.commands:
        assert f"| `{name}" in README, name
    for picture in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert (ROOT / picture).is_file(), picture


def test_every_key_of_a_piece_and_a_line_is_named() -> None:
    later = {"players", "cadence", "chain"}
    for key in {*keys_of(PieceShape), *keys_of(LineShape)} - later:
        assert f"`{key}`" in README, key


def test_the_two_commands_stand_first_and_help_names_all() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert len(blocks) == 2
    assert "arrange pieces/*.yaml" in blocks[0]
    assert "pytest" in blocks[1]
    assert CliRunner().invoke(cli.cli, ["--help"]).exit_code == 0
