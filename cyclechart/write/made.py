"""What lies in a folder and from what it was made: so that only what has changed is made again."""

from __future__ import annotations

import json
import re
from collections.abc import Collection
from pathlib import Path

from cyclechart.write.files import put_all

MADE = ".made.json"
OURS = re.compile(r"[\w-]{1,80}\.(mp3|flac|ogg|wav|html)")
"""How what is made here is named."""


class Made:
    """The files of a folder by name, each with a key of all that it depends on."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.keys = _read(folder / MADE)

    def has(self, name: str, key: str) -> bool:
        """Whether a file is there and made from just that."""
        return self.keys.get(name) == key and (self.folder / name).is_file()

    def add(self, name: str, key: str) -> None:
        """A file is in its place. Raises OSError."""
        self.keys[name] = key
        self._write()

    def keep(self, names: Collection[str]) -> None:
        """Delete what was made before and is not among these names. Raises OSError."""
        gone = set(self.keys) - set(names)
        for name in gone:
            (self.folder / name).unlink(missing_ok=True)
            del self.keys[name]
        if gone:
            self._write()

    def forget(self, names: Collection[str]) -> None:
        """These are about to be made anew. Raises OSError."""
        for name in names:
            self.keys.pop(name, None)
        self._write()

    def _write(self) -> None:
        text = json.dumps(self.keys, indent=1, sort_keys=True)
        put_all({self.folder / MADE: f"{text}\n".encode()})


def _read(path: Path) -> dict[str, str]:
    """What a folder's list says; a list that is broken, or not ours, says nothing."""
    try:
        said = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(said, dict):
        return {}
    # What is listed may be deleted: a name unlike those we give is none of ours.
    return {k: v for k, v in said.items() if isinstance(v, str) and OURS.fullmatch(k)}
