"""Firefox without a window, driven by WebDriver BiDi (W3C) over our own WebSocket (RFC 6455)."""

from __future__ import annotations

import base64
import json
import os
import re
import shutil
import socket
import struct
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FIREFOX = "firefox-esr"
START_SECONDS = 120.0
"""A busy machine takes long to start it."""
ANSWER_SECONDS = 60.0
_ADDRESS = re.compile(r"WebDriver BiDi listening on ws://([\d.]+):(\d+)")
_PREFERENCES = {
    "app.update.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "browser.startup.page": 0,
    "datareporting.policy.dataSubmissionEnabled": False,
    "media.autoplay.default": 0,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "toolkit.telemetry.enabled": False,
}


class WebSocket:
    """The client's side of a WebSocket: texts to and fro."""

    def __init__(self, host: str, port: int, path: str) -> None:
        self.socket = socket.create_connection((host, port), ANSWER_SECONDS)
        key = base64.b64encode(os.urandom(16)).decode()
        lines = (
            f"GET {path} HTTP/1.1", f"Host: {host}:{port}", "Upgrade: websocket",
            "Connection: Upgrade", f"Sec-WebSocket-Key: {key}", "Sec-WebSocket-Version: 13", "", "",
        )  # fmt: skip
        self.socket.sendall("\r\n".join(lines).encode())
        head = b""
        while not head.endswith(b"\r\n\r\n"):
            head += self._read(1)
        assert b" 101 " in head.splitlines()[0], head

    def _read(self, count: int) -> bytes:
        data = b""
        while len(data) < count:
            piece = self.socket.recv(count - len(data))
            if not piece:
                raise ConnectionError("Firefox has closed the connection")
            data += piece
        return data

    def send(self, text: str, opcode: int = 1) -> None:
        """Send a text in one frame, masked as those of a client are."""
        data = text.encode()
        size = len(data)
        if size < 126:
            head = struct.pack("!BB", 0x80 | opcode, 0x80 | size)
        elif size < 1 << 16:
            head = struct.pack("!BBH", 0x80 | opcode, 0x80 | 126, size)
        else:
            head = struct.pack("!BBQ", 0x80 | opcode, 0x80 | 127, size)
        mask = os.urandom(4)
        masked = bytes(one ^ mask[at % 4] for at, one in enumerate(data))
        self.socket.sendall(head + mask + masked)

    def receive(self) -> str:
        """Return the next text, put together from its frames."""
        whole = b""
        while True:
            first, second = self._read(2)
            size = second & 0x7F
            if size == 126:
                (size,) = struct.unpack("!H", self._read(2))
            elif size == 127:
                (size,) = struct.unpack("!Q", self._read(8))
            data = self._read(size)
            opcode = first & 0x0F
            if opcode == 9:
                self.send(data.decode(), 10)
            elif opcode == 8:
                raise ConnectionError("Firefox has closed the session")
            elif opcode in (0, 1):
                whole += data
                if first & 0x80:
                    return whole.decode()


class FirefoxPage:
    """A tab of Firefox: its console's messages are in ``messages``."""

    def __init__(self, channel: WebSocket) -> None:
        self.channel = channel
        self.number = 0
        self.messages: list[str] = []
        self.run("session.new", capabilities={})
        self.run("session.subscribe", events=["log.entryAdded"])
        self.context = self.run("browsingContext.getTree")["contexts"][0]["context"]

    def run(self, method: str, **parameters: Any) -> Any:
        """Run a command and return its result."""
        self.number += 1
        command = {"id": self.number, "method": method, "params": parameters}
        self.channel.send(json.dumps(command))
        while True:
            answer = json.loads(self.channel.receive())
            if answer.get("method") == "log.entryAdded":
                self.messages.append(str(answer["params"].get("text")))
            elif answer.get("id") == self.number:
                if answer["type"] != "success":
                    raise AssertionError(f"{method}: {answer.get('message')}")
                return answer["result"]

    def size(self, width: int, height: int) -> None:
        """Give the tab a size."""
        viewport = {"width": width, "height": height}
        self.run("browsingContext.setViewport", context=self.context, viewport=viewport)

    def open(self, address: str) -> None:
        """Load an address and wait for all of it."""
        self.run("browsingContext.navigate", context=self.context, url=address, wait="complete")

    def value(self, expression: str) -> Any:
        """Return what an expression (or what it promises) is, as JSON."""
        answer = self.run(
            "script.evaluate",
            expression=f"(async () => JSON.stringify((await ({expression})) ?? null))()",
            target={"context": self.context},
            awaitPromise=True,
            userActivation=True,
        )
        if answer["type"] != "success":
            raise AssertionError(f"{expression}: {answer['exceptionDetails']['text']}")
        return json.loads(answer["result"]["value"])

    def until(self, expression: str, seconds: float = 20.0) -> None:
        """Wait until an expression is true."""
        end = time.monotonic() + seconds
        while not self.value(expression):
            assert time.monotonic() < end, f"never true: {expression}"
            time.sleep(0.05)

    def click(self, selector: str) -> None:
        """Bring an element into view and press it with the pointer, in its middle."""
        found = f"document.querySelector({json.dumps(selector)})"
        x, y = self.value(
            f"(() => {{ const one = {found}; one.scrollIntoView({{ block: 'center' }});"
            " const { x, y, width, height } = one.getBoundingClientRect();"
            " return [Math.round(x + width / 2), Math.round(y + height / 2)]; })()"
        )
        moves = [
            {"type": "pointerMove", "x": x, "y": y},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]
        pointer = {"type": "pointer", "id": "finger", "actions": moves}
        self.run("input.performActions", context=self.context, actions=[pointer])

    def press(self, key: str) -> None:
        """Press a key (a character, or one of WebDriver's codes)."""
        strokes = [{"type": kind, "value": key} for kind in ("keyDown", "keyUp")]
        keys = {"type": "key", "id": "keys", "actions": strokes}
        self.run("input.performActions", context=self.context, actions=[keys])


@contextmanager
def firefox(profile: Path) -> Iterator[FirefoxPage]:
    """Give a tab of Firefox; fail plainly where there is none."""
    command = shutil.which(FIREFOX) or shutil.which("firefox")
    if command is None:
        raise AssertionError(
            "The page is tested in Firefox, which is not here: apt-get install firefox-esr"
        )
    lines = [f"user_pref({json.dumps(k)}, {json.dumps(v)});" for k, v in _PREFERENCES.items()]
    (profile / "user.js").write_text("\n".join(lines), "utf-8")
    log = profile / "log"
    with log.open("wb") as output:
        process = subprocess.Popen(
            [
                *(command, "--headless", "--no-remote", "--remote-debugging-port", "0"),
                *("--profile", str(profile), "about:blank"),
            ],
            stdout=output,
            stderr=subprocess.STDOUT,
            env={**os.environ, "HOME": str(profile), "MOZ_DISABLE_CONTENT_SANDBOX": "1"},
        )
    try:
        host, port = _listening(log, process)
        yield FirefoxPage(WebSocket(host, port, "/session"))
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _listening(log: Path, process: subprocess.Popen[bytes]) -> tuple[str, int]:
    end = time.monotonic() + START_SECONDS
    while time.monotonic() < end:
        found = _ADDRESS.search(log.read_text("utf-8", "replace"))
        if found:
            return found[1], int(found[2])
        assert process.poll() is None, log.read_text("utf-8", "replace")[-2000:]
        time.sleep(0.1)
    raise AssertionError("Firefox did not start:\n" + log.read_text("utf-8", "replace")[-2000:])
