"""Texts of the user's as a message shows them: cut short, or quoted for YAML."""

from __future__ import annotations

from collections.abc import Sequence


def clip(text: str, width: int = 40) -> str:
    """Return a text on one line, cut to a width that fits into a sentence."""
    flat = " ".join(text.split())
    return flat if len(flat) <= width else flat[: width - 1] + "…"


def quoted(text: str) -> str:
    """Return a text as a quoted YAML scalar on one line."""
    if '"' in text or "\\" in text:
        return "'" + text.replace("'", "''") + "'"
    return f'"{text}"'


def listed(names: Sequence[str]) -> str:
    """Return names as a sentence lists them: ``flute``, ``flute and tabla``, ``a, b and c``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
