"""Putting a file in its place: written beside it, then moved in, so that none is ever half."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def put(path: Path, data: bytes) -> None:
    """Write a file whole or not at all. Raises OSError; the old file is then as it was."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".part", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        mask = os.umask(0)
        os.umask(mask)
        temporary.chmod(0o666 & ~mask)
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
