"""What is called as work goes on: how much of it is done, and each file that is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol


class Show(Protocol):
    """Shows how far work is."""

    def __call__(self, done: float, of: float, name: str, left: float | None = None, /) -> object:
        """Show the work done, the whole of it, the name of what is worked on, and the seconds that
        the rest will take, if somebody knows."""
        ...


Finished = Callable[[str, str], object]
"""Called for each file that is whole and in its place: its name, its length or size."""


def show_nothing(_done: float, _of: float, _name: str, _left: float | None = None, /) -> None:
    """Show no progress."""


def say_nothing(_name: str, _length: str) -> None:
    """Say nothing of a finished file."""
