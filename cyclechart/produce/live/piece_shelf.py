"""The pieces that ``live`` may open: the one that was given, or those of a folder."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from cyclechart.produce.live.desk import Desk
from cyclechart.text.source import MAX_BYTES

ENDINGS = (".yaml", ".yml")
MOST_LISTED = 500
"""Files of a folder that are looked into."""
_LINES = re.compile(r"^lines:", re.MULTILINE)
_TITLE = re.compile(r"^title:[ \t]*(?P<title>[^#\n]*\S)", re.MULTILINE)


class ListedPiece(NamedTuple):
    """A piece of a folder: the name of its file, and its title."""

    name: str
    title: str


class PieceShelf:
    """The pieces that can be opened, each with a number once it is open.

    A piece of a folder is opened by a name in the list of what is there: no path that is sent by a
    browser is ever used.
    """

    def __init__(self, piece: Path | None = None, folder: Path | None = None) -> None:
        self.folder = folder
        self.desks: list[Desk] = [] if piece is None else [Desk(piece)]
        self._opening = threading.Lock()

    @property
    def given(self) -> Desk | None:
        """The desk of the one piece, where one was given."""
        return self.desks[0] if self.folder is None and self.desks else None

    def pieces(self) -> list[ListedPiece]:
        """Return the pieces of the folder by name."""
        return list(self._pieces())

    def _pieces(self) -> Iterator[ListedPiece]:
        if self.folder is None:
            return
        root = self.folder.resolve()
        try:
            names = sorted(path.name for path in root.iterdir() if path.suffix in ENDINGS)
        except OSError:
            return
        for name in names[:MOST_LISTED]:
            path = root / name
            # A link may not lead out of the folder.
            if name.startswith(".") or not path.resolve().is_relative_to(root):
                continue
            with suppress(OSError, UnicodeError):
                if path.is_file() and path.stat().st_size <= MAX_BYTES:
                    text = path.read_text("utf-8-sig")
                    if _LINES.search(text):
                        found = _TITLE.search(text)
                        yield ListedPiece(name, found["title"].strip("\"' ") if found else name)

    def open(self, name: str) -> int | None:
        """Return the number of a piece of the folder; None where there is none of that name."""
        if self.folder is None or name not in {piece.name for piece in self._pieces()}:
            return None
        path = self.folder / name
        with self._opening:
            for number, desk in enumerate(self.desks):
                if desk.file.path == path.resolve():
                    return number
            self.desks.append(Desk(path))
            return len(self.desks) - 1

    def desk(self, number: int) -> Desk | None:
        """Return the desk of an open piece."""
        return self.desks[number] if 0 <= number < len(self.desks) else None
