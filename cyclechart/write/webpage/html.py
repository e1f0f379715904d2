"""The rehearsal page: style, script and a piece's data in one file that needs no network."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Iterable
from importlib.resources import files

from cyclechart.write.files.cautions import HEARING
from cyclechart.write.webpage.schema import PageData, WholePageData

STYLES = ("frame.css", "cycle.css", "desk.css")
LIVE_STYLES = ("live.css",)
"""Those that a page has only while its piece is written."""
OFFLINE_LINKS = '<link rel="manifest" href="manifest">\n<link rel="icon" href="icon">\n'
"""Of a page that can be installed: relative to its own address."""
SCRIPTS = (
    "data.js", "turns.js", "stretches.js", "schedule.js", "waves.js", "sounds.js", "tones.js",
    "studio.js", "drone_tuning.js", "drone.js", "player.js", "elements.js", "cycle_words.js",
    "cycle_view.js", "part_view.js", "keyboard.js", "tap_tempo.js", "actions.js",
    "setting_groups.js", "sa_controls.js", "controls.js", "settings.js", "device_storage.js",
    "memory.js", "main.js", "weak_bars.js", "practice_log.js", "bar_marking.js",
    "practice_controls.js", "media_session.js", "offline.js", "test_hooks.js", "cell_marks.js",
    "live_state.js",
)  # fmt: skip
"""The modules of the script, each after those that it imports."""

_COMMENTS = re.compile(r"^[ ]*(?://[^\n]*|/\*\*(?:(?!\*/).)*\*/)\n", re.MULTILINE | re.DOTALL)
"""Comments on lines of their own, which the page does not need."""
_IMPORTS = re.compile(r"^import \{[^}]*\} from \"[^\"]*\";\n", re.MULTILINE)
_EXPORTS = re.compile(r"^export (?=(?:async )?(?:function|class|const)\b)", re.MULTILINE)
_BLANKS = re.compile(r"\n{3,}")


def page_html(data: PageData) -> bytes:
    """Return the page of a piece: the same bytes for the same data."""
    script = page_script()
    values = {
        "policy": html.escape("; ".join([*_policy(script), *_served_policy(data)])),
        "links": OFFLINE_LINKS if data.get("offline") else "",
        "title": html.escape(data["title"]),
        "style": "".join(map(_read, (*STYLES, *LIVE_STYLES) if data.get("live") else STYLES)),
        "data": _as_script(data),
        "script": script,
    }
    # In one pass, so that braces in the values are not filled in.
    page = re.sub(r"\{\{(\w+)\}\}", lambda place: values[place[1]], _read("page.html"))
    return page.encode()


def page_script() -> str:
    """Return the modules joined into one function: a page from a file cannot load modules."""
    return joined_script(map(_read, SCRIPTS))


def joined_script(modules: Iterable[str]) -> str:
    """Return modules, each after those that it imports, as one function."""
    return '"use strict";(()=>{\n' + "".join(map(_joined, modules)) + "})();\n"


def _joined(module: str) -> str:
    """Return a module as a part of one function: without its imports, exports and comments."""
    for pattern in (_COMMENTS, _IMPORTS, _EXPORTS):
        module = pattern.sub("", module)
    return _BLANKS.sub("\n\n", module).lstrip("\n")


def _read(name: str) -> str:
    return files("cyclechart.write.webpage").joinpath("static", name).read_text("utf-8")


def _served_policy(data: PageData) -> list[str]:
    """Return what a page may ask of the server that it comes from, which a file has none of."""
    own = "'self'"
    if data.get("offline"):
        return [f"{kind}-src {own}" for kind in ("connect", "manifest", "worker", "img")]
    return [f"connect-src {own}"] if data.get("live") else []


def _policy(script: str) -> list[str]:
    """Return the page's policy: nothing is loaded, and no script runs but our own."""
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return [
        "default-src 'none'",
        f"script-src 'sha256-{digest}'",
        "style-src 'unsafe-inline'",
        # The silence that plays beside the piece, so that a locked screen has its controls.
        "media-src blob:",
        "base-uri 'none'",
        "form-action 'none'",
    ]


def _as_script(data: PageData) -> str:
    """Return the data as JSON that no parser of HTML can take for markup."""
    whole: WholePageData = {**data, "hearing": HEARING}
    plain = json.dumps(whole, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return plain.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
