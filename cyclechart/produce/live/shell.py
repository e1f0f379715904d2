"""The pages around the rehearsal page: the text pane with the findings, and the list of pieces."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib.resources import files
from typing import NamedTuple

from cyclechart.write.webpage.html import joined_script

MODULES = (
    "elements.js", "edit_log.js", "undo.js", "texts.js", "requests.js", "drafts.js",
    "text_rows.js", "text_pane.js", "checking.js", "findings_list.js", "merge_view.js",
    "page_frame.js", "page_parts.js", "saving.js", "layout.js", "live_page.js",
)  # fmt: skip
"""The modules of the page of a piece, each after those that it imports."""
START_MODULES = ("elements.js", "requests.js", "start_page.js")
SHARED_MODULES = ("elements.js",)
"""Those that the rehearsal page has, too."""


class ShellPage(NamedTuple):
    """A page and its content security policy."""

    body: bytes
    policy: str


@cache
def live_shell() -> ShellPage:
    """Return the page of a piece: its text beside its rehearsal page."""
    return _page("live_page", MODULES)


@cache
def start_shell() -> ShellPage:
    """Return the page that lists the pieces of a folder and begins new ones."""
    return _page("start_page", START_MODULES)


def _page(name: str, modules: tuple[str, ...]) -> ShellPage:
    script = joined_script(map(_module, modules))
    style = _read("shell.css") + _read(f"{name}.css")
    page = _read(f"{name}.html").replace("{{style}}", style).replace("{{script}}", script)
    policy = "; ".join(
        [
            "default-src 'none'",
            "img-src data:",
            f"script-src 'sha256-{_digest(script)}'",
            f"style-src 'sha256-{_digest(style)}'",
            "connect-src 'self'",
            "frame-src 'self'",
            "base-uri 'none'",
            "form-action 'none'",
            "frame-ancestors 'none'",
        ]
    )
    return ShellPage(page.encode(), policy)


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _module(name: str) -> str:
    if name in SHARED_MODULES:
        return files("cyclechart.write.webpage").joinpath("static", name).read_text("utf-8")
    return _read(name)


def _read(name: str) -> str:
    return files(__package__).joinpath("static", name).read_text("utf-8")
