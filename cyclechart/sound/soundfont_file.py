"""Sound font files: whether one is whole, and the presets in it.

The records are those of the SoundFont Technical Specification, version 2.04 (E-mu Systems, 2006),
chapters 4 to 7. A file is read through before it is handed to a library in C, which trusts the
numbers in it.
"""

from __future__ import annotations

import hashlib
import stat
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np
from numpy.typing import NDArray

MOST_MEGABYTES = 600
"""A larger file is refused: the samples lie in memory twice as large as in the file."""
MOST_RECORDS = 64 << 20
"""Bytes of the tables that say what the samples are."""
DRUMS = 128
"""The bank of the drum kits."""

_RECORDS = {
    "phdr": np.dtype("S20,<u2,<u2,<u2,<u4,<u4,<u4"),
    "pbag": np.dtype("<u2,<u2"),
    "pmod": np.dtype("S10"),
    "pgen": np.dtype("<u2,<u2"),
    "inst": np.dtype("S20,<u2"),
    "ibag": np.dtype("<u2,<u2"),
    "imod": np.dtype("S10"),
    "igen": np.dtype("<u2,<u2"),
    "shdr": np.dtype("S20,<u4,<u4,<u4,<u4,<u4,u1,i1,<u2,<u2"),
}
"""The tables of a font and their records (chapter 7)."""
_INSTRUMENT, _SAMPLE = 41, 53
"""Generators that name an instrument and a sample."""
_ROM, _COMPRESSED = 0x8000, 0x10
"""Bits of a sample's kind. Compressed samples are of another format, which takes the same name."""


class BadFont(ValueError):
    """A file is no sound font that can be used; the message says why."""


class SoundFont(NamedTuple):
    """A sound font that is whole. ``digest``: of all its bytes; ``presets``: banks and programs,
    from 0."""

    path: Path
    digest: str
    presets: frozenset[tuple[int, int]]


def read_soundfont(path: Path) -> SoundFont:
    """Return the sound font of a file.

    Raises:
        BadFont: It is none, or a broken or a huge one.
        OSError: It cannot be read.
    """
    about = path.stat()
    if not stat.S_ISREG(about.st_mode):
        raise BadFont("this is no file")
    if about.st_size > MOST_MEGABYTES << 20:
        raise BadFont(f"it is larger than {MOST_MEGABYTES} MB")
    with path.open("rb") as file:
        tables, samples = _chunks(file, about.st_size)
        _hold_together(tables, samples)
        file.seek(0)
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    headers = tables["phdr"][:-1]
    presets = zip(headers["f2"].tolist(), headers["f1"].tolist(), strict=True)
    reached = ((bank, program) for bank, program in presets if bank <= DRUMS and program < 128)
    return SoundFont(path, digest, frozenset(reached))


Tables = dict[str, NDArray[np.void]]


def _chunks(file: BinaryIO, size: int) -> tuple[Tables, int]:
    """Return the tables of a font, and the number of its samples."""
    head = file.read(12)
    if head[:4] != b"RIFF" or head[8:12] != b"sfbk":
        raise BadFont("it is no SoundFont 2 file")
    if struct.unpack("<I", head[4:8])[0] + 8 > size:
        raise BadFont("it is cut off")
    tables: Tables = {}
    samples, version = 0, 0
    for name, length in _chunks_within(file, 12, size):
        if name != "LIST":
            continue
        start = file.tell()
        kind = file.read(4)
        for inner, inside in _chunks_within(file, start + 4, start + length):
            if kind == b"INFO" and inner == "ifil" and inside == 4:
                version = struct.unpack("<H", file.read(2))[0]
            elif kind == b"sdta" and inner == "smpl":
                samples = inside // 2
            elif kind == b"pdta" and inner in _RECORDS:
                record = _RECORDS[inner]
                if inside % record.itemsize or inside > MOST_RECORDS:
                    raise BadFont(f"its table {inner} is broken")
                tables[inner] = np.frombuffer(file.read(inside), dtype=record)
    if version != 2:
        raise BadFont("it is no SoundFont of version 2")
    if missing := sorted(set(_RECORDS) - set(tables)):
        raise BadFont(f"it has no table {missing[0]}")
    return tables, samples


def _chunks_within(file: BinaryIO, start: int, end: int) -> Iterator[tuple[str, int]]:
    """Yield the name and the length of each chunk of a stretch, the file at its beginning."""
    while start + 8 <= end:
        file.seek(start)
        name, length = struct.unpack("<4sI", file.read(8))
        if start + 8 + length > end:
            raise BadFont("it is cut off")
        yield name.decode("latin-1"), length
        start += 8 + length + length % 2


def _hold_together(tables: Tables, samples: int) -> None:
    """Refuse a font whose tables name what is not there."""
    for table, at, of in (
        ("phdr", "f3", "pbag"),
        ("inst", "f1", "ibag"),
        ("pbag", "f0", "pgen"),
        ("pbag", "f1", "pmod"),
        ("ibag", "f0", "igen"),
        ("ibag", "f1", "imod"),
    ):
        places = tables[table][at].astype(np.int64)
        if not len(places) or (np.diff(places) < 0).any() or places[-1] >= len(tables[of]):
            raise BadFont(f"its table {table} is broken")
    for table, generator, of in (("pgen", _INSTRUMENT, "inst"), ("igen", _SAMPLE, "shdr")):
        named = tables[table]["f1"][tables[table]["f0"] == generator]
        if (named >= len(tables[of]) - 1).any():
            raise BadFont(f"its table {table} names what is not there")
    if len(tables["phdr"]) < 2:
        raise BadFont("it has no presets")
    headers = tables["shdr"][:-1]
    here = (headers["f9"] & _ROM) == 0
    if (headers["f9"] & _COMPRESSED).any():
        raise BadFont("its samples are compressed (SF3); only plain SF2 is read")
    start, end = headers["f1"][here], headers["f2"][here]
    if (start > end).any() or (end > samples).any() or (headers["f5"][here] == 0).any():
        raise BadFont("its table shdr names samples that are not there")
