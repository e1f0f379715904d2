"""The page of a piece while it is written, in a real browser: saved, drawn again, playing on."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Frame, Page
from support.browsing import browser
from support.making import with_heading

from cyclechart.produce.live_server import Desk, keep_looking, server

PIECE = (
    "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  tabla: {plays: theka}\n"
    "  tanpura: {plays: drone}\nlines:\n  head: {sargam: S R G m P d n S' n d}\n"
    "form:\n  - {play: head, times: 6}\n"
)


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_text(with_heading(PIECE, title="Ebb Gate", tempo="120"), "utf-8")
    return path


@pytest.fixture
def page(piece: Path) -> Iterator[Page]:
    desk = Desk(piece)
    stop = threading.Event()
    served = server(desk, 0)
    for work in (served.serve_forever, lambda: keep_looking(desk, stop, lambda _said: None)):
        threading.Thread(target=work, daemon=True).start()
    with browser() as made:
        context = made.new_context(viewport={"width": 1280, "height": 800})
        opened = context.new_page()
        said: list[str] = []
        opened.on("console", lambda message: said.append(message.text))
        opened.on("pageerror", lambda error: said.append(str(error)))
        opened.goto(f"http://127.0.0.1:{served.server_address[1]}/")
        yield opened
        assert said == []
    stop.set()
    served.shutdown()
    served.server_close()


def until(where: Frame | Page, truth: str, seconds: float = 20) -> None:
    """Wait for something to be so. Asked from outside: the page's policy lets no text be run."""
    end = time.monotonic() + seconds
    while not where.evaluate(truth):
        assert time.monotonic() < end, f"it never came to be: {truth}"
        time.sleep(0.05)


def inner(page: Page, drawn: int) -> Frame:
    """The page in the page, once it is of a version."""
    page.wait_for_selector(f"body[data-drawn='{drawn}']", timeout=30_000)
    frame = page.frames[-1]
    until(frame, "!!(window.__page && window.__page.restoreState)")
    return frame


def test_it_plays_on_where_it_was_when_the_piece_is_saved(page: Page, piece: Path) -> None:
    frame = inner(page, 0)
    frame.evaluate("__page.act.part('alto-sax')")
    frame.evaluate("__page.act.tempo(80)")
    frame.evaluate("__page.act.mute(0)")
    frame.evaluate("__page.act.section(0)")
    frame.click("#play")
    until(frame, "__page.player.now().position > 7")
    before = frame.evaluate("__page.player.now().position")
    text = piece.read_text("utf-8")
    piece.write_text(text.replace("S R G m P d n S' n d", "S R G m P d P S' n d"), "utf-8")
    frame = inner(page, 1)
    # Nobody has touched the new page: it may sound because the one before was played by hand.
    until(frame, "__page.player.take !== null")
    until(frame, f"__page.player.now().position > {before}")
    assert frame.evaluate("__page.player.now().position") < before + 8
    assert frame.evaluate("__page.player.context.state") == "running"
    kept = frame.evaluate(
        "[__page.settings.part, __page.settings.factor, __page.settings.muted[0]]"
    )
    assert kept == ["alto-sax", 0.8, True]
    assert frame.evaluate("__page.settings.count") is True


def test_findings_stand_beside_it_as_text(page: Page, piece: Path) -> None:
    inner(page, 0)
    text = piece.read_text("utf-8")
    piece.write_text(text.replace("P d n S' n d", "P d <b>x</b>"), "utf-8")
    until(page, "document.querySelectorAll('#findings li.error').length > 0")
    assert page.locator("#findings b").count() == 0
    assert "the page is the one before" in page.inner_text("#state")
    assert page.evaluate("document.body.dataset.drawn") == "0"
    piece.write_text(text, "utf-8")
    until(page, "document.querySelectorAll('#findings li.error').length === 0")


def test_a_shorter_piece_is_taken_up_where_it_still_is(page: Page, piece: Path) -> None:
    frame = inner(page, 0)
    frame.evaluate("__page.player.go(__page.data.length - 1)")
    text = piece.read_text("utf-8")
    piece.write_text(text.replace("times: 6", "times: 2"), "utf-8")
    frame = inner(page, 1)
    until(frame, "__page.player.position > 0")
    assert frame.evaluate("__page.player.position <= __page.data.length")
    assert frame.evaluate("__page.player.state") == "stopped"
