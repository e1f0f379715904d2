"""What of a source cannot be kept, gathered: each kind once, with the bars where it stands."""

from __future__ import annotations

from cyclechart.transcription.tune import Loss

MOST_PLACES = 8
"""The most bars that are named for one kind of loss."""


class Losses:
    """Kinds of losses in the order in which they are first met, with their places."""

    def __init__(self) -> None:
        self._places: dict[str, dict[str, None]] = {}

    def add(self, what: str, place: str = "") -> None:
        """Add a loss at a bar (its number alone), or of the whole."""
        places = self._places.setdefault(what, {})
        if place:
            places[place] = None

    def all(self) -> tuple[Loss, ...]:
        """Return every kind once."""
        return tuple(Loss(what, _bars(list(places))) for what, places in self._places.items())


def _bars(places: list[str]) -> str:
    if not places:
        return ""
    shown = ", ".join(places[:MOST_PLACES])
    more = len(places) - MOST_PLACES
    word = "bar" if len(places) == 1 else "bars"
    return f"{word} {shown}" + (f" and {more} more" if more > 0 else "")
