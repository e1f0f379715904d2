"""New pieces from the form of ``live``: written once, under a name of their own, or refused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from support.live_serving import got, sent, served

from cyclechart.piece.load import load
from cyclechart.produce.live.new_pieces import choices, make_piece
from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.rules.judge import RULE_NAMES

WISH = {
    "title": "Low Water", "mode": "yaman", "cycle": "tintal", "tonic": "D", "tempo": "92",
    "players": ["flute", "double-bass", "tabla", "tanpura"],
}  # fmt: skip


@pytest.fixture
def shelf(tmp_path: Path) -> PieceShelf:
    return PieceShelf(folder=tmp_path)


def test_the_names_that_can_be_chosen_are_the_catalogues(shelf: PieceShelf) -> None:
    found = choices(shelf)
    assert {"yaman", "bhimpalasi"} <= set(found["modes"]) and "tintal" in found["cycles"]
    assert "flute" in found["instruments"] and len(found["tonics"]) == 12
    assert found["pieces"] == []


def test_a_piece_is_written_and_opened_and_never_over_another(shelf: PieceShelf) -> None:
    folder = shelf.folder
    assert folder is not None
    with served(shelf) as live:
        address = live.access.address
        assert sent(f"{address}new", WISH)[1] == {"at": "piece/0/"}
        assert sent(f"{address}new", WISH)[1] == {"at": "piece/1/"}
        text = json.loads(got(f"{address}piece/1/text")[1])["text"]
    assert sorted(one.name for one in folder.iterdir()) == ["low-water-2.yaml", "low-water.yaml"]
    assert text == (folder / "low-water-2.yaml").read_text("utf-8")
    loaded = load(folder / "low-water.yaml", RULE_NAMES)
    assert loaded.piece is not None and not loaded.findings
    assert (loaded.piece.title, loaded.piece.cycle.beats) == ("Low Water", 16)
    assert [one.name for one in loaded.piece.players] == WISH["players"]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"title": ""}, "title"),
        ({"title": 3}, "title"),
        ({"title": "\x00"}, "title"),
        ({"title": "\ud83c"}, "title"),
        ({"title": "x" * 301}, "title"),
        ({"mode": "nope"}, "mode"),
        ({"mode": None}, "mode"),
        ({"cycle": "nope"}, "cycle"),
        ({"tonic": "H"}, "tonic"),
        ({"tempo": "0"}, "tempo"),
        ({"tempo": "9e9999"}, "tempo"),
        ({"tempo": "1/0"}, "tempo"),
        ({"players": []}, "players"),
        ({"players": "flute"}, "players"),
        ({"players": ["zither-of-nobody"]}, "players"),
        ({"players": ["tabla"]}, "players"),
        ({"players": ["flute"] * 40}, "players"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    shelf: PieceShelf, change: dict[str, Any], field: str
) -> None:
    answer = make_piece(shelf, {**WISH, **change})
    assert answer["field"] == field and answer["refused"].endswith((".", "?"))
    assert shelf.pieces() == []


@pytest.mark.parametrize("title", ["../../x", "/etc/x", "..", "a/b", "CON", ".x", "Ebb\\Gate"])
def test_a_title_is_no_path(shelf: PieceShelf, title: str) -> None:
    folder = shelf.folder
    assert folder is not None
    name = make_piece(shelf, {**WISH, "title": title})["name"]
    assert [one.name for one in folder.iterdir()] == [name]
    assert "/" not in name and "\\" not in name and not name.startswith(".")
