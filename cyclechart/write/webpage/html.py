"""The rehearsal page: style, script and a piece's data in one file that needs no network."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from importlib.resources import files

from cyclechart.write.files.cautions import HEARING
from cyclechart.write.webpage.schema import PageData

STYLES = ("frame.css", "cycle.css", "desk.css")
SCRIPTS = (
    "reading.js", "road.js", "spectra.js", "tones.js", "sounds.js", "studio.js", "player.js",
    "making.js", "cycle.js", "part.js", "keys.js", "controls.js", "main.js", "measuring.js",
    "kept.js",
)  # fmt: skip
"""In the order in which each may use those before it: they share one function."""


def page_html(data: PageData) -> bytes:
    """The page of a piece: the same bytes for the same data."""
    style = "".join(map(_read, STYLES))
    script = '"use strict";(()=>{\n' + "".join(map(_read, SCRIPTS)) + "})();\n"
    values = {
        "policy": html.escape(_policy(script, bool(data.get("live")))),
        "title": html.escape(data["title"]),
        "style": style,
        "data": _as_script(data),
        "script": script,
    }
    # In one pass: what is filled in is not read again.
    page = re.sub(r"\{\{(\w+)\}\}", lambda place: values[place[1]], _read("page.html"))
    return page.encode()


def _read(name: str) -> str:
    return files("cyclechart.write.webpage").joinpath("static", name).read_text("utf-8")


def _policy(script: str, live: bool) -> str:
    """Nothing is loaded, and no script runs but our own, whatever a text may hold."""
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    rules = [
        "default-src 'none'",
        f"script-src 'sha256-{digest}'",
        "style-src 'unsafe-inline'",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    return "; ".join([*rules, "connect-src 'self'"] if live else rules)


def _as_script(data: PageData) -> str:
    """JSON that no parser of HTML can take for markup."""
    whole = {**data, "hearing": HEARING}
    plain = json.dumps(whole, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return plain.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
