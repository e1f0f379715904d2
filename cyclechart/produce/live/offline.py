"""The files by which a browser keeps a piece's page: manifest, icon, service worker, one file."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import NamedTuple
from urllib.parse import quote

from cyclechart.produce.live.desk import Desk
from cyclechart.write.webpage.html import page_html

_NO_FRAME = "frame-ancestors 'none'"


class Served(NamedTuple):
    """A body with its kind, its policy, and the name under which it is saved ("": it is shown)."""

    body: bytes
    kind: str
    policy: str
    saved_as: str = ""

    @property
    def disposition(self) -> str:
        """The header that says how it is saved (RFC 6266), "" where it is not."""
        name = quote(self.saved_as, safe="")
        return f"attachment; filename*=UTF-8''{name}" if name else ""


def offline_answer(desk: Desk, what: str) -> Served | None:
    """Return the answer to a request of a page that is kept; None where there is none.

    ``app``: the page that is kept, without the text; ``carry``: the same page as one file.
    """
    if what == "worker":
        return Served(_static("worker.js"), "text/javascript; charset=utf-8", "connect-src 'self'")
    if what == "icon":
        return Served(_static("icon.svg"), "image/svg+xml", "default-src 'none'")
    data = desk.content
    if data is None:
        return None
    if what == "manifest":
        return Served(_manifest(data["title"]), "application/manifest+json", "default-src 'none'")
    if what == "app":
        return Served(page_html({**data, "offline": True}), "text/html; charset=utf-8", _NO_FRAME)
    if what == "carry":
        name = f"{desk.file.shown.stem}.html"
        return Served(page_html(data), "text/html; charset=utf-8", _NO_FRAME, name)
    return None


def _manifest(title: str) -> bytes:
    """Return the web application manifest (W3C): addresses are relative to its own."""
    manifest = {
        "name": title,
        "short_name": title[:24],
        "start_url": "app",
        "id": "app",
        "scope": "./",
        "display": "standalone",
        "background_color": "#fbfaf6",
        "theme_color": "#efece4",
        "icons": [{"src": "icon", "sizes": "any", "type": "image/svg+xml"}],
    }
    return json.dumps(manifest, ensure_ascii=False).encode()


@cache
def _static(name: str) -> bytes:
    return files("cyclechart.produce.live").joinpath("static", name).read_bytes()
