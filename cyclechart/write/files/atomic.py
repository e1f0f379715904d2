"""Writing files whole: all are written beside their places, then moved in."""

from __future__ import annotations

import errno
import os
import stat
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path


def put_all(
    files: Mapping[Path, bytes], *, before_moving: Callable[[], None] = lambda: None
) -> None:
    """Write files whole or not at all: none is replaced before the last one is written.

    ``before_moving`` is called when all are written beside their places and none is moved yet.
    A file that is replaced keeps its mode bits and its owner.
    Raises OSError with the name of the file, or of the folder, that could not be written; the old
    files are then as they were.
    """
    written: dict[Path, Path] = {}
    try:
        for path, data in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with _naming(path):
                if path.is_dir():
                    raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
                written[path] = _beside(path)
                written[path].write_bytes(data)
                _take_mode(path, written[path])
        before_moving()
        for path, temporary in written.items():
            with _naming(path):
                temporary.replace(path)
    except BaseException:
        for temporary in written.values():
            temporary.unlink(missing_ok=True)
        raise


def put_new(path: Path, data: bytes) -> None:
    """Write a file whole, in a place where there is none.

    Raises FileExistsError where there is one by then, and OSError where it could not be written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with _naming(path):
        temporary = _beside(path)
        try:
            temporary.write_bytes(data)
            _take_mode(path, temporary)
            try:
                os.link(temporary, path)
            except FileExistsError:
                raise
            except OSError:  # a file system without links
                with path.open("xb") as stream:
                    stream.write(data)
        finally:
            temporary.unlink(missing_ok=True)


def _beside(path: Path) -> Path:
    """Make an empty hidden file in the same folder."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".part", dir=path.parent)
    os.close(handle)
    return Path(name)


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Name this file in an error, not the hidden one beside it, which the user does not know."""
    try:
        yield
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error


def rewrite(path: Path, data: bytes, *, before_moving: Callable[[], None] = lambda: None) -> None:
    """Write a file of the user's whole or not at all, with the mode bits and the owner it has.

    ``before_moving`` is called when the new bytes are on the disk and not yet in their place; what
    it raises leaves the old file as it was. Raises OSError with the name of the file.
    """
    with _naming(path):
        temporary = _beside(path)
        try:
            with temporary.open("wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            _take_mode(path, temporary)
            before_moving()
            temporary.replace(path)
        except BaseException:
            temporary.unlink(missing_ok=True)
            raise


def _take_mode(path: Path, temporary: Path) -> None:
    """Give a new file the mode bits and, where that is allowed, the owner of the old one."""
    try:
        old = path.stat()
    except FileNotFoundError:
        temporary.chmod(0o666 & ~_mask())
        return
    new = temporary.stat()
    if hasattr(os, "chown") and (old.st_uid, old.st_gid) != (new.st_uid, new.st_gid):
        with suppress(OSError):
            os.chown(temporary, old.st_uid, old.st_gid)
    temporary.chmod(stat.S_IMODE(old.st_mode))
