"""A piece's page kept by the browser (manifest, service worker, one file), played without us."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from playwright.sync_api import Browser
from support.axe import violations
from support.browsing import chromium
from support.live_serving import got, served
from support.making import with_heading

from cyclechart.produce.live.piece_shelf import PieceShelf

__all__ = ["chromium"]

PIECE = (
    "players:\n  flute: {plays: melody}\n  tanpura: {plays: drone}\n"
    "lines:\n  head: {sargam: S R G m P d n S' n d}\nform:\n  - {play: head, times: 2}\n"
)
TOKEN = "tide"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "ebb gate.yaml"
    path.write_text(with_heading(PIECE, title="Ebb Gate", tempo="120"), "utf-8")
    return path


def test_what_is_served_to_be_kept(piece: Path) -> None:
    with served(PieceShelf(piece), token=TOKEN) as live:
        address = live.access.address
        assert got(f"{address}app")[0] == got(f"{address}manifest")[0] == 404
        shelf = live.shelf
        assert shelf.given is not None and shelf.given.look()
        status, body, headers = got(f"{address}manifest")
        assert (status, headers["Content-Type"]) == (200, "application/manifest+json")
        manifest = json.loads(body)
        assert manifest["name"] == "Ebb Gate" and manifest["start_url"] == "app"
        icon = got(f"{address}{manifest['icons'][0]['src']}")
        assert icon[2]["Content-Type"] == "image/svg+xml"
        assert ElementTree.fromstring(icon[1]).tag == "{http://www.w3.org/2000/svg}svg"
        _, page, headers = got(f"{address}carry")
        assert headers["Content-Disposition"] == "attachment; filename*=UTF-8''ebb%20gate.html"
        # The file asks nobody for anything.
        assert b"manifest" not in page.split(b"<style>")[0] and b"connect-src" not in page
        worker = got(f"{address}worker")
        assert worker[2]["Content-Security-Policy"] == "connect-src 'self'"
        assert got(address.replace(TOKEN, "ebb") + "app")[0] == 403


def test_the_page_opens_and_plays_when_the_server_is_gone(chromium: Browser, piece: Path) -> None:
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    said: list[str] = []
    page.on("pageerror", lambda error: said.append(str(error)))
    with served(PieceShelf(piece), looks=True, token=TOKEN) as live:
        desk = live.shelf.given
        assert desk is not None
        page.goto(live.access.address)
        page.wait_for_function("() => document.body.dataset.drawn !== undefined", timeout=60000)
        assert violations(page) == []
        address = f"{live.access.address}app"
        page.goto(address)
        page.wait_for_function(
            "() => document.getElementById('group-more').textContent.includes('keeps the page')"
        )
        assert violations(page) == []
        # Saved while the text is open: what is kept is renewed.
        page.goto(live.access.address)
        before = desk.drawn
        text = piece.read_text("utf-8").replace("Ebb Gate", "Flood Gate")
        piece.write_text(text, "utf-8")
        page.wait_for_function(
            "(before) => Number(document.body.dataset.drawn) > before", arg=before, timeout=60000
        )
        page.wait_for_function(
            """async (address) => {
              for (const name of await caches.keys()) {
                const kept = await (await caches.open(name)).match(address);
                if (kept && (await kept.text()).includes("Flood Gate")) return true;
              }
              return false;
            }""",
            arg=address,
        )
    page.goto(address)
    page.wait_for_selector(".system")
    assert page.inner_text("#title") == "Flood Gate"
    page.click("#play")
    page.wait_for_function("() => window.__page.player.take !== null")
    assert said == []
    context.close()
