"""Keys of charts: whatever the bytes come from is in them, our own code among it."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

import cyclechart
from cyclechart.write.files import fingerprint


def test_all_of_our_own_files_are_in_the_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[Path] = []
    plain = Path.read_bytes

    def noted(path: Path) -> bytes:
        read.append(path)
        return plain(path)

    monkeypatch.setattr(Path, "read_bytes", noted)
    fingerprint.makers.cache_clear()
    words = fingerprint.makers().split()
    assert len(words[0]) == len(hashlib.sha256().hexdigest())
    package = Path(cyclechart.__file__).parent
    names = {path.relative_to(package).as_posix() for path in read}
    assert {"arrange/arranger.py", "theory/tones.py", "write/paper/chart.typ"} <= names
