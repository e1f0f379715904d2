"""The server of ``live``: pages, news, texts that are judged, saved and put together."""

from __future__ import annotations

import json
import re
import threading
import traceback
from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from socket import socket
from typing import Any

from cyclechart.produce.live.access import LOOPBACK, Access
from cyclechart.produce.live.desk import OUR_MISTAKE, Desk
from cyclechart.produce.live.new_pieces import choices, make_piece
from cyclechart.produce.live.offline import offline_answer
from cyclechart.produce.live.piece_file import NotSaved
from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.produce.live.shell import ShellPage, live_shell, start_shell
from cyclechart.text.source import MAX_BYTES

LOOK_SECONDS = 0.1
"""The time between two looks at the files."""
MOST_SENT = 4 * MAX_BYTES + 10_000
"""Bytes of a request: two texts, written as JSON."""
MOST_AT_ONCE = 64
"""Requests that are answered at once."""
PATIENCE = 60
"""Seconds after which a connection that says nothing is closed."""
_PLACE = re.compile(r"/piece/(\d{1,6})/(\w*)")
_HTML = "text/html; charset=utf-8"


class WrongRequest(Exception):
    """A request that no page of ours sends: its status and a sentence."""

    def __init__(self, status: int, sentence: str) -> None:
        super().__init__(sentence)
        self.status = status


class LiveServer(ThreadingHTTPServer):
    """A server for one shelf. Raises OSError where its port is taken."""

    daemon_threads = True

    def __init__(self, shelf: PieceShelf, host: str, port: int, token: str = "") -> None:
        self.shelf = shelf
        self._free = threading.BoundedSemaphore(MOST_AT_ONCE)
        super().__init__((host, port), Handler)
        self.access = Access(host, self.server_address[1], token)

    def process_request(self, request: Any, client_address: Any) -> None:
        """Answer in a thread of its own; beyond ``MOST_AT_ONCE`` a connection is closed."""
        if self._free.acquire(blocking=False):
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answer, then let the next one in."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._free.release()

    def handle_error(self, request: socket | tuple[bytes, socket], client_address: Any) -> None:
        """A browser that goes away in the middle of an answer is no error."""


def server(shelf: PieceShelf, port: int, host: str = LOOPBACK, token: str = "") -> LiveServer:
    """Return a server; ``port`` 0 takes a free one. Raises OSError."""
    return LiveServer(shelf, host, port, token)


class Handler(BaseHTTPRequestHandler):
    """Answers one connection."""

    protocol_version = "HTTP/1.1"
    timeout = PATIENCE
    server: LiveServer

    def do_GET(self) -> None:
        """Answer what changes nothing."""
        self._answered(self._get)

    def do_POST(self) -> None:
        """Answer what may write."""
        self._answered(self._post)

    def _answered(self, answer: Callable[[str], None]) -> None:
        try:
            answer(self._path())
        except WrongRequest as wrong:
            self.close_connection = True
            self._send(f"{wrong}\n".encode(), "text/plain; charset=utf-8", wrong.status)
        except (BrokenPipeError, ConnectionResetError, TimeoutError):
            self.close_connection = True
        except Exception:
            traceback.print_exc()
            self.close_connection = True
            self._send_data({"refused": OUR_MISTAKE.rpartition(" The page")[0]}, 500)

    def _path(self) -> str:
        access = self.server.access
        if not access.is_our_name(self.headers.get("Host")):
            # Another site's name that leads here is not to read the piece.
            raise WrongRequest(403, "This is not the address that the command has printed.")
        path = access.path(self.path)
        if path is None:
            raise WrongRequest(403, "Open the whole address that the command has printed.")
        return path

    def _get(self, path: str) -> None:
        path, _, asked = path.partition("?")
        desk, what = self._desk(path)
        if desk is None:
            if path == "/" and self.server.shelf.folder is not None:
                self._send_page(start_shell())
            elif path == "/choices" and self.server.shelf.folder is not None:
                self._send_data(choices(self.server.shelf))
            else:
                raise WrongRequest(404, "There is nothing here.")
        elif what == "":
            self._send_page(live_shell())
        elif what == "page":
            self._send(desk.page, _HTML, policy="frame-ancestors 'self'")
        elif what == "news":
            version = int(asked) if asked.lstrip("-").isdigit() and len(asked) < 10 else -1
            self._send_data(desk.newer(version))
        elif what == "text":
            self._send_data(_tried(desk.text))
        elif (served := offline_answer(desk, what)) is not None:
            self._send(served.body, served.kind, policy=served.policy, saved=served.disposition)
        else:
            raise WrongRequest(404, "There is nothing here.")

    def _post(self, path: str) -> None:
        sent = self._sent()
        desk, what = self._desk(path)
        if desk is None:
            if self.server.shelf.folder is None or path not in ("/open", "/new"):
                raise WrongRequest(404, "There is nothing here.")
            self._send_data(_opened(self.server.shelf, path, sent))
        elif what == "check":
            self._send_data(desk.judged(_text(sent, "text")))
        elif what == "save":
            texts = [_text(sent, key) for key in ("text", "base", "fingerprint")]
            self._send_data(_tried(lambda: desk.save(*texts)))
        elif what == "merge":
            mine, base = _text(sent, "text"), _text(sent, "base")
            self._send_data(_tried(lambda: desk.merge(mine, base)))
        else:
            raise WrongRequest(404, "There is nothing here.")

    def _desk(self, path: str) -> tuple[Desk | None, str]:
        """Return the desk that a path is about, and what of it is asked for."""
        shelf = self.server.shelf
        if shelf.given is not None:
            return shelf.given, path.removeprefix("/")
        place = _PLACE.fullmatch(path)
        return (shelf.desk(int(place[1])), place[2]) if place else (None, "")

    def _sent(self) -> dict[str, Any]:
        """Return the JSON that a page of ours has sent."""
        if not self.server.access.is_our_page(self.headers):
            raise WrongRequest(403, "Only the page of this command may write.")
        if self.headers.get("Content-Type", "").partition(";")[0].strip() != "application/json":
            raise WrongRequest(415, "This is not JSON.")
        length = self.headers.get("Content-Length", "")
        if "Transfer-Encoding" in self.headers or not (length.isascii() and length.isdigit()):
            raise WrongRequest(411, "The length of the request is not given.")
        if len(length) > 12 or int(length) > MOST_SENT:
            raise WrongRequest(413, f"A piece has at most {MAX_BYTES:,} bytes.")
        try:
            sent = json.loads(self.rfile.read(int(length)))
        except (ValueError, RecursionError) as error:
            raise WrongRequest(400, "This is not JSON.") from error
        if not isinstance(sent, dict):
            raise WrongRequest(400, "This is no mapping.")
        return sent

    def _send_page(self, page: ShellPage) -> None:
        self._send(page.body, _HTML, policy=page.policy)

    def _send_data(self, data: dict[str, Any], status: int = 200) -> None:
        # Texts may hold halves of surrogate pairs, which only escapes can carry.
        self._send(json.dumps(data).encode(), "application/json", status)

    def _send(
        self, body: bytes, kind: str, status: int = 200, policy: str = "", saved: str = ""
    ) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        if saved:
            self.send_header("Content-Disposition", saved)
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("Content-Security-Policy", policy or "default-src 'none'")
        if self.close_connection:
            self.send_header("Connection", "close")
        self.end_headers()
        try:
            self.wfile.write(body)
        except (BrokenPipeError, ConnectionResetError):
            self.close_connection = True

    def version_string(self) -> str:
        """The name in the header ``Server``."""
        return "cyclechart"

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is printed for each request."""


def _text(sent: dict[str, Any], key: str) -> str:
    text = sent.get(key)
    if not isinstance(text, str):
        raise WrongRequest(400, f"'{key}' is no text.")
    return text


def _tried(work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Return what a piece of work on the file gives, or the sentence why it cannot be done."""
    try:
        return work()
    except NotSaved as refused:
        return {"refused": str(refused)}
    except OSError as error:
        return {"refused": f"{error.strerror or error}."}


def _opened(shelf: PieceShelf, path: str, sent: dict[str, Any]) -> dict[str, Any]:
    """Open or begin a piece of the folder; return where it is."""
    if path == "/new":
        answer = make_piece(shelf, sent)
        if "refused" in answer:
            return answer
        name = str(answer["name"])
    else:
        name = _text(sent, "name")
    number = shelf.open(name)
    if number is None:
        return {"refused": "There is no such piece in the folder any longer."}
    return {"at": f"piece/{number}/"}


def keep_looking(shelf: PieceShelf, stop: threading.Event, show: Callable[[str], None]) -> None:
    """Look at the files until ``stop`` is set; ``show`` is called with a line on each reading."""
    while not stop.is_set():
        for desk in list(shelf.desks):
            if desk.look():
                name = "" if shelf.given is desk else f"{desk.news['file']}: "
                show(f"{name}{desk.news['state']}")
        stop.wait(LOOK_SECONDS)
