"""Which mapping of a piece stands at a path of keys, and what its keys take."""

from __future__ import annotations

from cyclechart.editor.cursor import ITEM
from cyclechart.piece.shape import TEXTS

WORDS = "words"

_BELOW: dict[str, dict[str, str]] = {
    "piece": {
        "lines": "lines", "players": "players", "form": "form", "liberties": "liberties",
        "mode": "mode", "cycle": "cycle", "under": "under", "tuning": "tones",
    },
    "lines": {"": "line"},
    "line": {"cadence": "cadence", "mode": "mode"},
    "cadence": {"cadence": "cadence", "first": "first"},
    "players": {"": "player"},
    "player": {"reads": "reads"},
    "form": {ITEM: "step"},
    "step": {
        "under": "under", "hits": "hits", "tempo": "tempo", "mode": "mode", "cycle": "cycle",
        "play": "under", "note": "of-player", "octave": "of-player",
    },
    "liberties": {ITEM: "liberty"},
    "mode": {"also": "also", "tuning": "tones", "andolan": "tones"},
    "also": {ITEM: "mode"},
}  # fmt: skip
"""The mappings and lists that stand under the keys of others; "" is any key."""


def place_of(path: tuple[str, ...]) -> str:
    """Return the name of the mapping or list at a path of keys, or ""."""
    place = "piece"
    for key in path:
        below = _BELOW.get(place, {})
        place = below.get(key) or below.get("", "")
        if not place:
            return ""
    return place


def text_key(path: tuple[str, ...]) -> str:
    """Return the key of the text of a line or cadence at a path, or ""."""
    if len(path) < 3 or path[0] != "lines":
        return ""
    key = next((key for key in reversed(path[2:]) if key != ITEM), "")
    return key if key in (*TEXTS, WORDS, "body") else ""
