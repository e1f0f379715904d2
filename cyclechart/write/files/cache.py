"""A cache: bytes under keys, in a folder from one run to the next or in memory.

A cache may be deleted at any time: what is missing, or no longer whole, is made again.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Protocol

from cyclechart.write.files.atomic import put_all

_KEY = re.compile(r"[0-9a-f]{64}")
_SEAL = 66


class Cache(Protocol):
    """Bytes under keys."""

    def get(self, key: str) -> bytes | None:
        """Return the bytes of a key, or None where they are missing or no longer whole."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Store bytes under a key."""
        ...


class MemoryCache:
    """A cache in memory with at most ``most`` entries: the one unused for longest goes first."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.entries: dict[str, bytes] = {}

    def get(self, key: str) -> bytes | None:
        """Return the bytes of a key, or None where they are missing."""
        data = self.entries.pop(key, None)
        if data is not None:
            self.entries[key] = data
        return data

    def put(self, key: str, data: bytes) -> None:
        """Store bytes under a key."""
        self.entries.pop(key, None)
        self.entries[key] = data
        while len(self.entries) > self.most:
            del self.entries[next(iter(self.entries))]


class FolderCache:
    """A cache in a folder: a file for each key, named after it, which is a SHA-256 in hexadecimal.

    Several processes may share the folder: an entry's time is when it was last used by any of them.
    ``ending``: of the files' names; no other file is ever removed.
    """

    def __init__(self, folder: Path, ending: str) -> None:
        self.folder = folder
        self.ending = ending
        self.begun = time.time_ns()
        """When this run began to use it."""
        self.used: set[str] = set()
        """The keys that this process has used: the times of some file systems are coarse."""

    def path(self, key: str) -> Path:
        """Return the file of a key. Raises ValueError for a key that is no SHA-256."""
        if not _KEY.fullmatch(key):
            raise ValueError(f"'{key}' is no key of a cache")
        return self.folder / f"{key}{self.ending}"

    def get(self, key: str) -> bytes | None:
        """Return the bytes of a key, or None where they are missing or no longer whole."""
        try:
            file = self.path(key).read_bytes()
        except OSError:
            return None
        data, seal = file[:-_SEAL], file[-_SEAL:]
        if seal != _seal(data):
            return None
        self.mark_used(key)
        return data

    def put(self, key: str, data: bytes) -> None:
        """Store bytes under a key. Raises OSError with the name of what cannot be written."""
        put_all({self.path(key): data + _seal(data)})
        self.mark_used(key)

    def mark_used(self, key: str) -> None:
        """Keep the entry of a key, if there is one, when this run removes what it did not use."""
        self.used.add(key)
        # The time is this machine's own: the clock of a file server may be another.
        now = time.time_ns()
        with suppress(OSError, NotImplementedError):
            os.utime(self.path(key), ns=(now, now), follow_symlinks=False)

    def keys(self) -> Iterator[str]:
        """The keys of the entries, sorted."""
        yield from sorted(key for key, _ in self._entries())

    def remove_unused(self) -> None:
        """Remove the entries that no process has used since this cache was opened."""
        for key, entry in list(self._entries()):
            with suppress(OSError):
                if key not in self.used and entry.lstat().st_mtime_ns < self.begun:
                    entry.unlink()

    def _entries(self) -> Iterator[tuple[str, Path]]:
        """Each key and its file. A link, or a folder that is one, leads to somebody else's."""
        if self.folder.is_symlink() or not self.folder.is_dir():
            return
        for path in self.folder.iterdir():
            key = path.name.removesuffix(self.ending)
            if path.name == key + self.ending and _KEY.fullmatch(key):
                with suppress(OSError):
                    if stat.S_ISREG(path.lstat().st_mode):
                        yield key, path


def _seal(data: bytes) -> bytes:
    """The last line of a file, by which it is known to be whole: in a PDF it is a comment."""
    return b"%" + hashlib.sha256(data).hexdigest().encode() + b"\n"
