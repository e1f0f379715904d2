"""What is called as work goes on: the work done, the whole of it, the name of what is done."""

from __future__ import annotations

from collections.abc import Callable

Show = Callable[[float, float, str], None]


def show_nothing(_done: float, _of: float, _name: str) -> None:
    """Show no progress."""
