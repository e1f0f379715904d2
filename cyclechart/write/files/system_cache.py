"""Drawn systems kept in a folder from one run to the next, as ``page_parts`` asks for them."""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Collection, Iterator, MutableMapping
from contextlib import suppress
from pathlib import Path

from cyclechart.write.files.atomic import put_all

_ENDING = ".systems"
CLOCK = 2.0
"""Seconds by which the file system's clock may be behind."""


class KeptSystems(MutableMapping[str, list[str]]):
    """The systems of each strain in a file of its own under its key; several processes may share
    the folder. What is not there, or no longer whole, is drawn again. A new one may raise OSError
    with the name of what cannot be written."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, key: str) -> Path:
        """Where the systems of a key are."""
        return self.folder / f"{key}{_ENDING}"

    def __getitem__(self, key: str) -> list[str]:
        try:
            # The packing has a checksum of its own.
            held = json.loads(zlib.decompress(self.path(key).read_bytes()))
        except (OSError, zlib.error, ValueError) as error:
            raise KeyError(key) from error
        if not isinstance(held, list):
            raise KeyError(key)
        self.used(key)
        return [str(one) for one in held]

    def __setitem__(self, key: str, systems: list[str]) -> None:
        put_all({self.path(key): zlib.compress(json.dumps(systems).encode(), 6)})
        self.used(key)

    def __delitem__(self, key: str) -> None:
        try:
            self.path(key).unlink()
        except OSError as error:
            raise KeyError(key) from error

    def __iter__(self) -> Iterator[str]:
        for path in sorted(self.folder.glob(f"*{_ENDING}")):
            yield path.name.removesuffix(_ENDING)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def used(self, key: str) -> None:
        """A run had a use for it, whichever process that is."""
        with suppress(OSError):
            os.utime(self.path(key))

    def remove_unused(self, since: float) -> None:
        """Remove what nobody has used since a time (of ``time.time()``)."""
        for path in self.folder.glob(f"*{_ENDING}"):
            with suppress(OSError):
                if path.stat().st_mtime < since - CLOCK:
                    path.unlink()

    def remove_all_but(self, keys: Collection[str]) -> None:
        """Remove what a run had no use for."""
        for key in set(self) - set(keys):
            self.path(key).unlink(missing_ok=True)
