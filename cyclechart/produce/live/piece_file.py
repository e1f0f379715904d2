"""The file of a piece as several editors write it: read with a fingerprint, saved only over the
version that the new text began from."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
from collections import Counter
from difflib import SequenceMatcher
from pathlib import Path
from typing import NamedTuple

from cyclechart.text.row_merge import MOST_COMPARED
from cyclechart.text.source import MAX_BYTES, bytes_of, with_plain_ends
from cyclechart.write.files.atomic import rewrite

NO_FILE = ""
"""The fingerprint of a file that is not there."""
_ENDS = re.compile(r"\r\n|\r|\n")
_MARK = b"\xef\xbb\xbf"


class Version(NamedTuple):
    """A file at one time: its text with ``\\n`` at the ends of rows, and a digest of its bytes.

    ``text`` is None where the bytes are no UTF-8 text or too many.
    """

    text: str | None
    fingerprint: str


class ChangedMeanwhile(Exception):
    """Somebody else has saved the file since the version that a text began from."""

    def __init__(self, now: Version) -> None:
        super().__init__("the file has been changed meanwhile")
        self.now = now


class NotSaved(Exception):
    """A text or a place that cannot be written, in a sentence."""


class PieceFile:
    """A piece's file. Where the given path is a link, the file that it led to at first is written:
    a link that is put in its place later is not followed."""

    def __init__(self, path: Path) -> None:
        self.shown = path
        """The path as it was given, which findings show."""
        self.path = path.resolve()

    def data(self) -> bytes:
        """Return the bytes, one more than a piece may have at the most. Raises OSError, for what is
        no plain file, too: a pipe would be waited for."""
        if not stat.S_ISREG(self.path.stat().st_mode):
            raise OSError(errno.EINVAL, "not a plain file", str(self.path))
        return bytes_of(self.path)

    def version(self) -> Version:
        """Return the file as it is now. Raises OSError where it is there and cannot be read."""
        try:
            return version_of(self.data())
        except FileNotFoundError:
            return Version("", NO_FILE)

    def save(self, text: str, fingerprint: str) -> Version:
        """Write a text over the version with a fingerprint, with the line ends, the byte-order mark
        and the mode bits that the file had.

        Raises ChangedMeanwhile, NotSaved, and OSError.
        """
        text = with_plain_ends(text)
        old = self._writable()
        data = encoded(text, old)
        if len(data) > MAX_BYTES:
            raise NotSaved(f"A piece has at most {MAX_BYTES:,} bytes, not {len(data):,}.")

        def nobody_was_first() -> None:
            now = self.version()
            if now.fingerprint != fingerprint:
                raise ChangedMeanwhile(now)

        nobody_was_first()
        rewrite(self.path, data, before_moving=nobody_was_first)
        return version_of(data)

    def _writable(self) -> bytes:
        """Return the bytes that a save replaces, b"" for none."""
        if self.path.parent.resolve() != self.path.parent or self.path.is_symlink():
            raise NotSaved("A link has been put in the place of the file or its folder.")
        if not self.path.exists():
            return b""
        if not self.path.is_file():
            raise NotSaved("There is no longer a plain file in its place.")
        if not os.access(self.path, os.W_OK):
            raise PermissionError(errno.EACCES, "the file is write-protected", str(self.path))
        return self.data()


def version_of(data: bytes) -> Version:
    """Return the version of a file that has these bytes."""
    text = None
    if len(data) <= MAX_BYTES:
        try:
            text = with_plain_ends(data.decode("utf-8-sig"))
        except UnicodeDecodeError:
            text = None
    return Version(text, hashlib.sha256(data).hexdigest())


def encoded(text: str, old: bytes) -> bytes:
    """Return a text as bytes, with the byte-order mark and line ends of the bytes that it replaces.

    Raises NotSaved for half of a pair of surrogates, which no file can hold.
    """
    try:
        before = old.decode("utf-8-sig")
    except UnicodeDecodeError:
        before = ""
    try:
        data = _with_ends(text, before).encode()
    except UnicodeEncodeError as error:
        row = text.count("\n", 0, error.start) + 1
        raise NotSaved(f"Row {row} has half a character, which no file can hold.") from error
    return (_MARK if old.startswith(_MARK) else b"") + data


def _with_ends(text: str, before: str) -> str:
    """Return a text with the line ends of another; where those differ, rows keep their own."""
    ends = _ENDS.findall(before)
    counted = Counter(ends).most_common()
    usual = counted[0][0] if counted else "\n"
    if len(counted) < 2:
        return text.replace("\n", usual)
    rows, old_rows = text.split("\n"), _ENDS.split(before)
    new_ends = [usual] * (len(rows) - 1)
    if len(rows) * len(old_rows) <= MOST_COMPARED:
        for first, start, size in SequenceMatcher(
            None, old_rows, rows, autojunk=False
        ).get_matching_blocks():
            kept = ends[first : first + size]
            new_ends[start : start + len(kept)] = kept
    return "".join(
        row + end for row, end in zip(rows, [*new_ends[: len(rows) - 1], ""], strict=True)
    )
