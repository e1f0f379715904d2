"""Who may ask the server of ``live``: this machine alone, or a network's devices with the token."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import secrets
import socket
from dataclasses import dataclass
from email.message import Message
from pathlib import Path

LOOPBACK = "127.0.0.1"
_ELSEWHERE = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737): asking for the way to it sends nothing."""


@dataclass(frozen=True)
class Access:
    """The address of a server. ``token``: the first part of every path; "" on this machine alone.

    A page of another site cannot know the token. Without one, what it could do is refused by the
    name that it calls us by (``Host``) and by what the browser says of it (``Origin``).
    """

    host: str = LOOPBACK
    port: int = 0
    token: str = ""

    @property
    def address(self) -> str:
        """The address to open, with its token."""
        return f"http://{self.host}:{self.port}/" + (f"{self.token}/" if self.token else "")

    def is_our_name(self, host: str | None) -> bool:
        """Return whether a request calls us by our own name. A name of another site that leads
        here (DNS rebinding) is not one."""
        return (host or "").lower() in self._names()

    def is_our_page(self, headers: Message) -> bool:
        """Return whether what is to be written was sent by a page of ours."""
        site = headers.get("Sec-Fetch-Site", "same-origin")
        origins = {f"http://{name}" for name in self._names()}
        return site == "same-origin" and headers.get("Origin", "").lower() in origins

    def path(self, path: str) -> str | None:
        """Return a request's path without the token; None where that is not ours."""
        if not self.token:
            return path
        given, _, rest = path.removeprefix("/").partition("/")
        return f"/{rest}" if hmac.compare_digest(given.encode(), self.token.encode()) else None

    def _names(self) -> set[str]:
        hosts = {self.host, "localhost"} if self.host == LOOPBACK else {self.host}
        names = {f"{host}:{self.port}" for host in hosts}
        return names | hosts if self.port == 80 else names


def new_token() -> str:
    """Return a token that nobody can guess: 256 bits."""
    return secrets.token_urlsafe(32)


def network_address() -> str:
    """Return this machine's address on its network.

    Raises OSError where it is on none, or on one that the whole internet reaches.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(_ELSEWHERE)
        host = str(probe.getsockname()[0])
    found = ipaddress.ip_address(host)
    if found.is_loopback or found.is_unspecified:
        raise OSError("this computer is on no network")
    if found.is_global:
        raise OSError(f"the address {host} is open to the whole internet, not to your own network")
    return host


def usual_port(piece: Path) -> int:
    """Return the port of a piece: always the same, for a browser keeps unsaved texts by address.

    It is one of those for private use (RFC 6335: 49152 to 65535).
    """
    name = str(piece.resolve()).encode("utf-8", "surrogateescape")
    return 49152 + int.from_bytes(hashlib.sha256(name).digest()[:4]) % (65536 - 49152)
