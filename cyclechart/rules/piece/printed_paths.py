"""The printed paths of a mode in the words of findings."""

from __future__ import annotations

from typing import Literal

from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_path

Going = Literal["up", "down"]


def printed_path(mode: Mode, going: Going, does: str, do: str) -> tuple[str, str]:
    """Return ``ascent of Yaman`` with the verb for one, or ``ascents of Yaman`` with that for more
    printed forms."""
    paths = mode.ascents if going == "up" else mode.descents
    which = "ascent" if going == "up" else "descent"
    several = len(paths) > 1
    return f"{which}{'s' if several else ''} of {mode.name}", do if several else does


def printed_rows(mode: Mode, going: Going) -> str:
    """Return the paths in one direction, each as it is printed."""
    return "; ".join(map(show_path, mode.ascents if going == "up" else mode.descents))
