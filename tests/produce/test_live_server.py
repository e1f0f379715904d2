"""A piece while it is written: the server's answers when its file is saved, broken, mended."""

from __future__ import annotations

import json
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from support.making import with_heading

from cyclechart.produce import live_server as live
from cyclechart.produce.live_server import Desk, keep_looking, server

LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_text(with_heading(LOOP, title="Ebb <b>Gate</b>"), "utf-8")
    return path


@contextmanager
def served(desk: Desk) -> Iterator[str]:
    made = server(desk, 0)
    threading.Thread(target=made.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{made.server_address[1]}"
    finally:
        made.shutdown()
        made.server_close()


def got(address: str, host: str = "") -> tuple[int, bytes, dict[str, str]]:
    asked = urllib.request.Request(address, headers={"Host": host} if host else {})
    try:
        with urllib.request.urlopen(asked, timeout=20) as answer:
            return answer.status, answer.read(), dict(answer.headers)
    except urllib.error.HTTPError as error:
        return error.code, error.read(), dict(error.headers)


def news(address: str, than: int) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(got(f"{address}/news?{than}")[1])
    return told


def test_a_saved_piece_is_drawn_again(piece: Path) -> None:
    desk = Desk(piece)
    assert desk.look() and not desk.look()
    first = desk.page
    assert desk.drawn == 0 and b"Ebb \\u003cb>Gate" in first
    piece.write_text(piece.read_text("utf-8").replace("Ebb", "Flood"), "utf-8")
    assert desk.look()
    assert desk.drawn == 1 and b"Flood" in desk.page


def test_what_cannot_be_read_keeps_the_page_and_says_why(piece: Path) -> None:
    desk = Desk(piece)
    desk.look()
    page = desk.page
    piece.write_text(piece.read_text("utf-8").replace("S R G", "S X G"), "utf-8")
    desk.look()
    assert desk.page is page and desk.drawn == 0 and desk.version == 1
    (found,) = [one for one in desk.news["findings"] if one["severity"] == "error"]
    assert found["where"].startswith("tune.yaml:") and "X" in found["message"]
    assert "the page is the one before" in desk.news["state"]
    piece.unlink()
    assert desk.look() and desk.page is page and "tune.yaml" in desk.news["state"]


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
    assert "KeyError" in capsys.readouterr().err
    piece.write_text(piece.read_text("utf-8") + "\n", "utf-8")
    assert desk.look() and desk.drawn == 1


def test_the_server_answers_this_machine_alone(piece: Path) -> None:
    desk = Desk(piece)
    desk.look()
    with served(desk) as address:
        status, shell, headers = got(f"{address}/")
        assert status == 200 and b"<iframe" in shell
        # The policy names the very script that stands in the page (CSP level 3, by its hash).
        assert "script-src 'sha256-" in headers["Content-Security-Policy"]
        assert got(f"{address}/page?0")[1] == desk.page
        assert got(f"{address}/page", host="elsewhere.example:80")[0] == 403
        assert got(f"{address}/../../etc/passwd")[0] == 404
        assert got(f"{address}/news?x")[0] == 200
        assert news(address, -1)["version"] == 0


def test_a_question_for_news_waits_until_there_is_some(piece: Path) -> None:
    desk = Desk(piece)
    desk.look()
    stop = threading.Event()
    with served(desk) as address:
        heard: list[dict[str, Any]] = []
        asking = threading.Thread(target=lambda: heard.append(news(address, 0)))
        asking.start()
        time.sleep(0.2)
        assert not heard
        said: list[str] = []
        looking = threading.Thread(target=keep_looking, args=(desk, stop, said.append))
        looking.start()
        piece.write_text(piece.read_text("utf-8").replace("Ebb", "Neap"), "utf-8")
        asking.join(20)
        stop.set()
        looking.join(20)
    assert heard[0]["version"] == 1 and heard[0]["drawn"] == 1
    assert said and "s)" in said[0]
