"""The card of a mode as a page."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from support.making import piece_of

from cyclechart.catalog.library import Library
from cyclechart.cli import cli
from cyclechart.finding import Spot
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tones import SEMITONE
from cyclechart.write.files.manifest import MANIFEST
from cyclechart.write.paper.mode_page import _moves, _texts, mode_page

LIBRARY = Library.beside(None)


def mode(name: str) -> Mode:
    made, _ = LIBRARY.mode(name, Spot("", 1, 1))
    assert made is not None
    return made


@pytest.mark.parametrize(
    ("name", "tonic"),
    [("bageshri", "E"), ("marwa", "B"), ("kedar", "C"), ("kafi-thaat", "F"), ("shankara", "D")],
)
def test_a_page_is_made_and_is_the_same_each_time(name: str, tonic: str) -> None:
    pages = mode_page(mode(name), Tonic(tonic), "pdf")
    assert pages[0].startswith(b"%PDF")
    assert pages == mode_page(mode(name), Tonic(tonic), "pdf")


def test_the_arrows_are_the_moves_of_the_paths() -> None:
    # Marwa's ascent turns back from N to D before S' (Sitar Malika p. 244).
    s = SEMITONE
    assert list(_moves([mode("marwa").ascent])) == [
        [-1, s["r"]], [s["r"], s["G"]], [s["G"], s["M"]], [s["M"], s["D"]], [s["D"], s["N"]],
        [s["N"], s["D"]], [s["D"], 12],
    ]  # fmt: skip


def test_tones_say_where_they_are_used_and_how_far_off_equal_they_are() -> None:
    rows = {row["sargam"]: row for row in _texts(mode("bhimpalasi"), Tonic("C"))["tones"]}
    assert (rows["R"]["where"], rows["g"]["where"]) == ("falling", "")
    # A just minor third, 6/5, is 315.64 cents (table of the five-limit twelve).
    assert (rows["g"]["ratio"], rows["g"]["cents"], rows["g"]["off"]) == ("6/5", "315.6", "+15.6")


def test_markup_in_a_name_stays_text() -> None:
    text = "#eval(1) *a* $x$ <b> @y"
    own = piece_of(
        "lines:\n  head: {lands: free, sargam: S R G}\n",
        mode=(
            f"{{name: '{text}', ascent: S R G m P D N S', descent: S' N D P m G R S, "
            f"note: '{text}'}}"
        ),
    ).mode
    assert mode_page(own, Tonic("C"), "pdf")[0].startswith(b"%PDF")


def test_show_writes_the_card(tmp_path: Path) -> None:
    runner = CliRunner()
    done = runner.invoke(cli, ["show", "bageshri", "--tonic", "Eb", "--to", str(tmp_path)])
    assert done.exit_code == 0
    assert {path.name for path in tmp_path.iterdir()} == {
        "bageshri.pdf",
        "bageshri-1.png",
        "bageshri-2.png",
        MANIFEST,
    }
    refused = runner.invoke(cli, ["show", "jhaptal", "--to", str(tmp_path)])
    assert refused.exit_code == 2
