"""The manifest of a folder: which files earlier runs wrote there, so that only those are removed.

A file that somebody has changed or put there themselves is theirs. It is never removed, and where a
run writes a file of the same name, theirs is kept beside it under another name.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from types import MappingProxyType

from cyclechart.write.files.atomic import put_all

MANIFEST = ".cyclechart.json"
DEEPEST = 2
"""Parts of a name: files lie in the folder itself or in a folder within it."""
BLOCK = 1 << 20


@dataclass(frozen=True)
class Entry:
    """A file that a run wrote. ``kind``: what the run was asked for, all of which is replaced
    together. ``digests``: SHA-256 of its bytes, of two versions while one takes the other's place.
    ``key``: what it was made from, "" where nobody asks."""

    kind: str
    digests: tuple[str, ...]
    key: str = ""


class Manifest:
    """The files that earlier runs wrote into a folder, by name (``parts/flute.pdf``)."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.entries = _read(folder / MANIFEST)

    def is_current(self, name: str, key: str) -> bool:
        """Return whether a file is there and was made from what ``key`` names."""
        entry = self.entries.get(name)
        return entry is not None and entry.key == key and (self.folder / name).is_file()

    def is_ours(self, name: str) -> bool:
        """Return whether a file is as a run wrote it, and no link leads to it."""
        entry, path = self.entries.get(name), self.folder / name
        if entry is None or _is_linked(self.folder, name) or not path.is_file():
            return False
        return digest_of(path) in entry.digests

    def forget(self, names: Iterable[str]) -> None:
        """Mark files that are about to be made again as no longer current. Raises OSError."""
        for name in set(names) & set(self.entries):
            entry = self.entries[name]
            self.entries[name] = Entry(entry.kind, entry.digests)
        self.save()

    def remove(self, names: Iterable[str]) -> tuple[str, ...]:
        """Remove files that earlier runs wrote, unless somebody has changed them since.

        Returns a sentence about each that was changed. Raises OSError.
        """
        left = []
        gone = sorted(set(names) & set(self.entries))
        for name in gone:
            if self.is_ours(name):
                (self.folder / name).unlink()
            elif (self.folder / name).exists():
                left.append(
                    f"{self.folder / name} is no longer needed; it stays, because it has been "
                    "changed since cyclechart wrote it"
                )
            del self.entries[name]
        if gone:
            self.save()
        return tuple(left)

    def keep_theirs(self, name: str, digest: str = "") -> tuple[str, ...]:
        """Copy what somebody else has put in the place of a file that is about to be written.

        ``digest``: of the bytes that are to be written; the same bytes need no copy. Returns a
        sentence that names the copy, or nothing. Raises OSError.
        """
        path = self.folder / name
        if path.is_symlink() or not path.is_file():
            return ()  # a link is replaced itself, and what it leads to stays
        found = digest_of(path)
        entry = self.entries.get(name)
        if found == digest or (entry is not None and found in entry.digests):
            return ()
        copy, number = path.with_name(f"{path.stem} (kept){path.suffix}"), 2
        while copy.exists() or copy.is_symlink():
            copy = path.with_name(f"{path.stem} (kept {number}){path.suffix}")
            number += 1
        shutil.copy2(path, copy)
        return (
            f"{path} has been changed since cyclechart wrote it: that version is now {copy.name}",
        )

    def expect(self, name: str, kind: str, digest: str) -> tuple[str, ...]:
        """Record a file that is about to be put in its place, and keep what is there if it is
        somebody else's. Returns a sentence about what was kept. Until the file is in its place both
        versions are ours."""
        kept = self.keep_theirs(name, digest)
        before = self.entries.get(name)
        # A run may be killed between this and the move.
        digests = dict.fromkeys([digest, *(before.digests if before is not None else ())])
        self.entries[name] = Entry(kind, tuple(digests))
        return kept

    def place(self, made: Path, name: str, kind: str, key: str) -> tuple[str, ...]:
        """Move a finished file in its place; a sentence where somebody else's had to be kept.
        Raises OSError."""
        digest = digest_of(made)
        kept = self.expect(name, kind, digest)
        self.save()
        made.replace(self.folder / name)
        self.entries[name] = Entry(kind, (digest,), key)
        self.save()
        return kept

    def save(self) -> None:
        """Write the manifest. Raises OSError."""
        files = {
            name: {"kind": entry.kind, "sha256": list(entry.digests), "key": entry.key}
            for name, entry in self.entries.items()
        }
        text = json.dumps({"files": files}, indent=1, sort_keys=True)
        put_all({self.folder / MANIFEST: f"{text}\n".encode()})


def write_files(
    folder: Path,
    kinds: Mapping[str, Mapping[str, bytes]],
    keys: Mapping[str, str] = MappingProxyType({}),
) -> tuple[str, ...]:
    """Write files whole or not at all, in place of all that earlier runs wrote of the same kinds.

    ``kinds``: of each kind its files by name; ``keys``: what a file was made from, by name. What
    earlier runs wrote of a kind and this one does not is removed. Returns sentences about files
    that are somebody else's and were kept. Raises OSError with the name of what cannot be written;
    the old files are then as they were.
    """
    manifest = Manifest(folder)
    files = {name: data for made in kinds.values() for name, data in made.items()}
    kind_of = {name: kind for kind, made in kinds.items() for name in made}
    old = {name for name, entry in manifest.entries.items() if entry.kind in kinds}
    kept: list[str] = []

    def record() -> None:
        for name, data in files.items():
            kept.extend(manifest.expect(name, kind_of[name], hashlib.sha256(data).hexdigest()))
        manifest.save()

    put_all({folder / name: data for name, data in files.items()}, before_moving=record)
    for name in files:
        entry = manifest.entries[name]
        manifest.entries[name] = Entry(entry.kind, entry.digests[:1], keys.get(name, ""))
    manifest.save()
    return (*kept, *manifest.remove(old - set(files)))


def digest_of(path: Path) -> str:
    """SHA-256 of a file's bytes. Raises OSError."""
    found = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(BLOCK):
            found.update(block)
    return found.hexdigest()


def _is_linked(folder: Path, name: str) -> bool:
    """Return whether the folder, the file or a folder between them is a link."""
    paths = [folder]
    for part in PurePosixPath(name).parts:
        paths.append(paths[-1] / part)
    return any(path.is_symlink() for path in paths)


def _read(path: Path) -> dict[str, Entry]:
    """The entries of a manifest; one that is broken, or not ours, has none."""
    try:
        files = json.loads(path.read_text("utf-8"))["files"]
        return {
            name: Entry(str(entry["kind"]), _strings(entry["sha256"]), str(entry.get("key", "")))
            for name, entry in files.items()
            if _is_plain(name)
        }
    except (OSError, ValueError, RecursionError, LookupError, TypeError, AttributeError):
        return {}


def _strings(values: Collection[object]) -> tuple[str, ...]:
    return tuple(value for value in values if isinstance(value, str))


def _is_plain(name: str) -> bool:
    """Return whether a name stays within the folder: what is listed may be removed."""
    parts = PurePosixPath(name).parts
    inside = not name.startswith("/") and ".." not in parts and "\0" not in name
    return inside and 0 < len(parts) <= DEEPEST and parts[-1] != MANIFEST
