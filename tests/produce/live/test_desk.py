"""The desk of a piece: what it says and shows when its file is saved, broken, mended."""

from __future__ import annotations

import json
import re
import zlib
from base64 import b64decode
from pathlib import Path
from typing import Any

import pytest
from support.making import with_heading

from cyclechart.finding import Edit, Finding, Spot, Suggestion
from cyclechart.produce.live import desk as live
from cyclechart.produce.live.desk import Desk
from cyclechart.produce.live.finding_data import BrowserPlaces, finding_data
from cyclechart.text.source import Source

LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_text(with_heading(LOOP, title="Ebb <b>Gate</b>"), "utf-8")
    return path


def parts_of(page: bytes) -> dict[str, Any]:
    found = re.search(r'id="data">(.*?)</script>', page.decode(), re.DOTALL)
    assert found
    packed = json.loads(found[1])["parts"]["0"]
    return {name: json.loads(zlib.decompress(b64decode(one), -15)) for name, one in packed.items()}


def test_a_saved_piece_is_drawn_again(piece: Path) -> None:
    desk = Desk(piece)
    assert desk.newer(-1, 0)["version"] == -1
    assert desk.look() and not desk.look()
    first = desk.page
    assert desk.drawn == 0 and b"Ebb \\u003cb>Gate" in first
    assert desk.news["drawn_from"] == desk.news["fingerprint"] == desk.text()["fingerprint"]
    piece.write_text(piece.read_text("utf-8").replace("Ebb", "Flood"), "utf-8")
    assert desk.look()
    assert desk.drawn == 1 and b"Flood" in desk.page


def test_the_findings_are_there_before_the_page_is(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk(piece)
    told: list[dict[str, Any]] = []

    def drawn(*_: object, **__: object) -> None:
        told.append(desk.newer(-1, 0))
        raise KeyError("no page")

    monkeypatch.setattr(live, "page_data", drawn)
    desk.look()
    assert told[0]["fingerprint"] == desk.text()["fingerprint"] and told[0]["drawn"] == -1
    assert "being drawn" in told[0]["state"]


def test_what_cannot_be_read_keeps_the_page_and_says_why(piece: Path) -> None:
    desk = Desk(piece)
    desk.look()
    page = desk.page
    piece.write_text(piece.read_text("utf-8").replace("S R G", "S X G"), "utf-8")
    desk.look()
    assert desk.page is page and desk.drawn == 0 and desk.readings == 1
    assert desk.news["drawn_from"] != desk.news["fingerprint"]
    (found,) = [one for one in desk.news["findings"] if one["severity"] == "error"]
    start, end = found["span"]
    assert piece.read_text("utf-8")[start:end] == "X" and "X" in found["message"]
    assert "the page is the one before" in desk.news["state"]
    piece.unlink()
    assert desk.look() and desk.page is page and "tune.yaml" in desk.news["state"]
    assert desk.news["fingerprint"] == ""


def test_a_line_that_breaks_a_rule_is_played_all_the_same(piece: Path) -> None:
    piece.write_text(piece.read_text("utf-8").replace("S R G m P d n S' n d", "S R G m P"), "utf-8")
    desk = Desk(piece)
    desk.look()
    assert desk.drawn == 0
    assert any(one["severity"] == "error" for one in desk.news["findings"])


def test_the_bands_own_files_are_watched(piece: Path) -> None:
    desk = Desk(piece)
    desk.look()
    shared = piece.parent / "shared"
    shared.mkdir()
    assert not desk.look()
    (shared / "players.yaml").write_text("trio: {flute: , tabla: , tanpura: }\n", "utf-8")
    assert desk.look()


def test_our_own_mistake_is_told_and_the_next_save_goes_on(
    piece: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise KeyError("ours")

    desk = Desk(piece)
    with monkeypatch.context() as patched:
        patched.setattr(live, "page_data", broken)
        desk.look()
    assert "not a mistake in your piece" in desk.news["state"] and desk.drawn == -1
    with monkeypatch.context() as patched:
        patched.setattr(live, "findings_on", broken)
        assert "not a mistake in your piece" in desk.judged("title: x\nlines: {}\n")["state"]
    assert "KeyError" in capsys.readouterr().err
    piece.write_text(piece.read_text("utf-8") + "\n", "utf-8")
    assert desk.look() and desk.drawn == 1


def test_a_text_is_judged_without_being_saved(piece: Path) -> None:
    desk = Desk(piece)
    text = piece.read_text("utf-8")
    assert not [f for f in desk.judged(text)["findings"] if f["severity"] == "error"]
    wrong = desk.judged(text.replace("R G m", "R Q m"))["findings"]
    (found,) = [one for one in wrong if one["severity"] == "error"]
    assert "'Q'" in found["message"] and found["line"] == text.count("\n")
    assert piece.read_text("utf-8") == text
    # No text of a browser is too odd to be judged: half a surrogate pair, nothing, control signs.
    for odd in ("\ud83c", "", "\x00", "a: [", "- " * 5000, "{" * 3000):
        assert desk.judged(odd)["findings"]


def test_each_written_note_has_its_cell_in_the_text(piece: Path) -> None:
    """The letters at the spans of a part's notes are the tones of the line, in order."""
    text = piece.read_text("utf-8").replace("S R G m P d n S' n d", "S RG m - P d 'n' S' n d")
    text = text.replace("Ebb", "\U0001f3b6 Ebb").replace("'n'", "n")
    piece.write_text(text, "utf-8")
    desk = Desk(piece)
    desk.look()
    units = text.encode("utf-16-le")
    for part in parts_of(desk.page).values():
        if not part["notes"]:
            continue
        cells = {name: (start, end) for start, end, name in part["cells"]}
        names = dict.fromkeys(name for _, _, name in part["notes"])
        assert set(names) <= set(cells)
        letters = [units[2 * a : 2 * b].decode("utf-16-le") for a, b in cells.values()]
        assert letters[:10] == ["S", "R", "G", "m", "P", "d", "n", "S'", "n", "d"]
        break
    else:
        raise AssertionError("no part has notes")


def test_bars_that_are_written_once_have_all_their_places(tmp_path: Path) -> None:
    """Three rows alike are one bar with a repeat on paper: each row still leads to its notes."""
    path = tmp_path / "tune.yaml"
    row = "      S - R - G | m - P d n ||\n"
    text = with_heading("players: {flute: , tabla: }\nlines:\n  head:\n    sargam: |\n" + 3 * row)
    path.write_text(text, "utf-8")
    desk = Desk(path)
    desk.look()
    cells = parts_of(desk.page)["flute"]["cells"]
    starts = [at for at in range(text.index("S -"), len(text)) if text[at] in "SRGmPdn"]
    assert {start for start, _, _ in cells} == set(starts)
    assert len({name for _, _, name in cells}) < len(starts)
    first, *_ = {name for start, _, name in cells if start == starts[0]}
    assert {text[start] for start, _, name in cells if name == first} == {"S"}


def test_a_page_that_nobody_writes_beside_has_no_cells(piece: Path) -> None:
    from cyclechart.piece.load import load
    from cyclechart.write.webpage.parts import packed_parts

    found = load(piece).piece
    assert found is not None
    for packed in packed_parts(found).values():
        assert "cells" not in json.loads(zlib.decompress(b64decode(packed), -15))


# --- findings ---


def data_of(finding: Finding, text: str) -> dict[str, Any]:
    return finding_data(finding, BrowserPlaces(Source.of("a.yaml", text)))


def test_edits_are_counted_as_a_browser_counts() -> None:
    """ECMA-262, String: positions are those of UTF-16 code units."""
    text = "x\n\U0001f3b6 S R\n"
    edits = (Edit(Spot("a.yaml", 2, 3), "r"), Edit(Spot("a.yaml", 2, 5, 0), "g "))
    finding = Finding("r", "error", Spot("a.yaml", 2, 3), "m", (Suggestion("do", edits),))
    data = data_of(finding, text)
    units = text.encode("utf-16-le")
    assert units[2 * data["span"][0] : 2 * data["span"][1]].decode("utf-16-le") == "S"
    assert data["tries"] == [{"text": "do", "edits": [(7, 7, "g "), (5, 6, "r")]}]


def test_what_is_put_in_at_one_place_keeps_its_order() -> None:
    here = Spot("a.yaml", 1, 2, 0)
    edits = (Edit(here, "2"), Edit(here, "1"), Edit(Spot("a.yaml", 1, 2, 1), "B"))
    finding = Finding("r", "error", here, "m", (Suggestion("do", edits),))
    text = "abc\n"
    for start, end, made in data_of(finding, text)["tries"][0]["edits"]:
        text = text[:start] + made + text[end:]
    assert text == "a21Bc\n"


def test_edits_that_cannot_all_be_done_here_are_none() -> None:
    one = Edit(Spot("a.yaml", 1, 1, 3), "x")
    over = Edit(Spot("a.yaml", 1, 2, 1), "y")
    away = Edit(Spot("b.yaml", 1, 1), "z")
    for edits in ((one, over), (one, away)):
        finding = Finding("r", "error", Spot("a.yaml", 1, 1), "m", (Suggestion("do", edits),))
        assert data_of(finding, "abcd\n")["tries"][0]["edits"] == []
    elsewhere = Finding("r", "error", Spot("b.yaml", 1, 1), "m")
    assert data_of(elsewhere, "abcd\n")["span"] is None


def test_a_liberty_says_why_and_has_nothing_to_try() -> None:
    finding = Finding("r", "error", Spot("a.yaml", 1, 1), "m", (Suggestion("t"),), liberty="for it")
    data = data_of(finding, "abcd\n")
    assert (data["severity"], data["taken"], data["tries"]) == ("liberty", "for it", [])
