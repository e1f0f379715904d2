"""The places of the characters of a double-quoted YAML text, its escapes undone."""

from __future__ import annotations

import re

_ESCAPE = re.compile(r"\\(?:x[0-9A-Fa-f]{2}|u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|[^xuU\n])")


def places(written: str, value: str) -> list[int] | None:
    """Return for each character of ``value`` its index in ``written`` (which has its quotes).

    An escape stands at its backslash. None where the text runs over several rows, or is not the
    one ``value`` was read from.
    """
    if "\n" in written:
        return None
    found: list[int] = []
    at = 1
    while at < len(written) - 1:
        escape = _ESCAPE.match(written, at)
        found.append(at)
        at = escape.end() if escape else at + 1
    return found if len(found) == len(value) else None
