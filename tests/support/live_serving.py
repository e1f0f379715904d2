"""A server of ``live`` for a test, and what is asked of it."""

from __future__ import annotations

import json
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.produce.live.server import LiveServer, keep_looking, server

TIMEOUT = 20


@contextmanager
def served(shelf: PieceShelf, looks: bool = False, token: str = "") -> Iterator[LiveServer]:
    """Give a server on this machine; ``looks``: it looks at the files, too."""
    made = server(shelf, 0, token=token)
    stop = threading.Event()
    threading.Thread(target=made.serve_forever, daemon=True).start()
    look = threading.Thread(target=keep_looking, args=(shelf, stop, lambda _said: None))
    look.daemon = True
    if looks:
        look.start()
    try:
        yield made
    finally:
        stop.set()
        made.shutdown()
        made.server_close()
        if looks:
            # The engraver is no friend of two threads: the next test draws in another.
            look.join()


def got(address: str, **headers: str) -> tuple[int, bytes, dict[str, str]]:
    """The status, body and headers of what is asked for."""
    return _answer(urllib.request.Request(address, headers=headers))


def sent(address: str, data: object, **headers: str) -> tuple[int, Any]:
    """The status of what is sent, as a page of ours sends it, and the JSON of its answer.

    ``headers``: in place of the page's, with _ for -; "" leaves one out.
    """
    scheme, _, rest = address.partition("://")
    plain = {
        "Origin": f"{scheme}://{rest.partition('/')[0]}",
        "Content-Type": "application/json",
        "Sec-Fetch-Site": "same-origin",
    } | {key.replace("_", "-"): value for key, value in headers.items()}
    body = data if isinstance(data, bytes) else json.dumps(data).encode()
    asked = urllib.request.Request(
        address, data=body, headers={key: value for key, value in plain.items() if value}
    )
    status, answer, _ = _answer(asked)
    try:
        return status, json.loads(answer)
    except ValueError:
        return status, answer.decode()


def _answer(asked: urllib.request.Request) -> tuple[int, bytes, dict[str, str]]:
    try:
        with urllib.request.urlopen(asked, timeout=TIMEOUT) as answer:
            return answer.status, answer.read(), dict(answer.headers)
    except urllib.error.HTTPError as error:
        return error.code, error.read(), dict(error.headers)
