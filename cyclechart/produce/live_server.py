"""A piece while it is written: read, judged and engraved whenever its file changes."""

from __future__ import annotations

import base64
import hashlib
import json
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from cyclechart.finding import Finding
from cyclechart.piece.load import Loaded, load
from cyclechart.rules.judge import RULE_NAMES, in_order, judge
from cyclechart.write.files.cache import MemoryCache
from cyclechart.write.terminal.findings import summary
from cyclechart.write.webpage.data import page_data
from cyclechart.write.webpage.html import page_html

OUR_MISTAKE = (
    "This is a bug in cyclechart, not a mistake in your piece. Please report it with the piece "
    "file and what the command printed. The page is the one before."
)
LOOK_SECONDS = 0.1
"""The time between two looks at the files."""
WAIT_SECONDS = 20.0
"""The longest time that a request for news waits for some."""
MOST_STRAINS = 4000
"""Strains whose systems are kept from one drawing to the next."""


class Desk:
    """The piece as it now is: its findings, and its page as it last could be drawn."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.version = -1
        """The number of times it has been read, less one."""
        self.drawn = -1
        """The version that the page is of; -1 for none yet."""
        self.page = b""
        self.news: dict[str, Any] = {}
        self.changed = threading.Condition()
        self._seen: tuple[object, ...] | None = None
        self._drawn = MemoryCache(MOST_STRAINS)

    def look(self) -> bool:
        """Read the piece again if it or what the band shares has changed; whether it was."""
        now = tuple(_stamp(one) for one in self._files())
        if now == self._seen:
            return False
        self._seen = now
        self._read()
        return True

    def _files(self) -> list[Path]:
        folder = self.path.parent
        shared = [folder / "shared", folder.parent / "shared"]
        return [self.path, *(d / f"{name}.yaml" for d in shared for name in SHARED)]

    def _read(self) -> None:
        begun = time.monotonic()
        page: bytes | None = None
        findings: Sequence[Finding] = ()
        try:
            loaded = load(self.path, RULE_NAMES)
        except OSError as error:
            state = f"{self.path.name}: {error.strerror or error}"
        else:
            findings, state, page = self._outcome(loaded)
        with self.changed:
            self.version += 1
            if page is not None and page != self.page:
                self.page, self.drawn = page, self.version
            self.news = {
                "version": self.version,
                "drawn": self.drawn,
                "file": self.path.name,
                "state": f"{state} ({time.monotonic() - begun:.1f} s)",
                "findings": [_finding_data(one) for one in in_order(findings)],
            }
            self.changed.notify_all()

    def _outcome(self, loaded: Loaded) -> tuple[Sequence[Finding], str, bytes | None]:
        """Return the findings of a reading, a line about it, and its page if it can be drawn."""
        try:
            findings = _findings(loaded)
            state = summary(findings, 1)
            # A line that breaks a rule is played all the same, so that it can be heard.
            if loaded.piece is not None and not any(f.severity == "error" for f in loaded.findings):
                data = page_data(loaded.piece, drawn=self._drawn)
                return findings, state, page_html({**data, "live": True})
        except Exception:
            # The next save may be without it, and what was drawn before can still be played.
            traceback.print_exc()
            return (), OUR_MISTAKE, None
        state += "; the page is the one before" if self.drawn >= 0 else "; no page yet"
        return findings, state, None

    def newer(self, than: int, wait: float = WAIT_SECONDS) -> dict[str, Any]:
        """Return the news as soon as it is newer than a version, or when waiting is over."""
        with self.changed:
            self.changed.wait_for(lambda: self.version > than, wait)
            return self.news


SHARED = ("modes", "cycles", "players")
"""The band's own files beside the pieces."""


def _stamp(path: Path) -> object:
    try:
        held = path.stat()
    except OSError:
        return None
    return held.st_mtime_ns, held.st_size, held.st_ino


def _findings(loaded: Loaded) -> Sequence[Finding]:
    judged = judge(loaded.piece) if loaded.piece is not None else ()
    return [*loaded.findings, *judged]


def _finding_data(finding: Finding) -> dict[str, Any]:
    """A finding for the page: plain texts."""
    spot = finding.spot
    taken = " (taken as a liberty)" if finding.liberty is not None else ""
    return {
        "severity": finding.severity,
        "where": f"{Path(spot.file).name}:{spot.line}:{spot.column} {finding.rule}{taken}",
        "message": finding.message,
        "tries": list(finding.tries),
    }


def shell() -> bytes:
    """The page around the page: what the check says, beside it."""
    here = Path(__file__).parent / "static"
    script = (here / "live_page.js").read_text("utf-8")
    page = (here / "live_page.html").read_text("utf-8")
    return page.replace("{{script}}", script).encode()


def policy() -> str:
    """The content security policy of the shell: its own script, and requests to its server."""
    script = (Path(__file__).parent / "static" / "live_page.js").read_bytes()
    digest = base64.b64encode(hashlib.sha256(script).digest()).decode()
    return (
        f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; "
        "connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'"
    )


def server(desk: Desk, port: int) -> ThreadingHTTPServer:
    """A server for this machine alone; ``port`` 0 takes a free one. Raises OSError."""

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            host = (self.headers.get("Host") or "").rpartition(":")[0]
            if host not in ("127.0.0.1", "localhost"):
                # Another site's name that leads here is not to read the piece.
                self.answer(b"", "text/plain", 403)
                return
            path, _, asked = self.path.partition("?")
            if path == "/":
                self.answer(shell(), "text/html; charset=utf-8", policy=policy())
            elif path == "/page":
                self.answer(desk.page, "text/html; charset=utf-8")
            elif path == "/news":
                version = int(asked) if asked.lstrip("-").isdigit() and len(asked) < 10 else -1
                news = json.dumps(desk.newer(version)).encode()
                self.answer(news, "application/json")
            else:
                self.answer(b"", "text/plain", 404)

        def answer(self, body: bytes, kind: str, status: int = 200, policy: str = "") -> None:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Cache-Control", "no-store")
            self.send_header("X-Content-Type-Options", "nosniff")
            self.send_header("Cross-Origin-Resource-Policy", "same-origin")
            if policy:
                self.send_header("Content-Security-Policy", policy)
            self.end_headers()
            try:
                self.wfile.write(body)
            except (BrokenPipeError, ConnectionResetError):
                self.close_connection = True

        def log_message(self, format: str, *args: object) -> None:
            """Nothing is printed for each question."""

    made = ThreadingHTTPServer(("127.0.0.1", port), Handler)
    made.daemon_threads = True
    return made


def keep_looking(desk: Desk, stop: threading.Event, show: Callable[[str], None]) -> None:
    """Look at the files until ``stop`` is set; ``show`` is called with a line on each reading."""
    while not stop.is_set():
        if desk.look():
            show(str(desk.news["state"]))
        stop.wait(LOOK_SECONDS)
