"""The desk of a piece: read, judged and engraved whenever its file changes, and judged as typed."""

from __future__ import annotations

import hashlib
import threading
import time
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from cyclechart.piece.load import Loaded, read_piece
from cyclechart.produce.live.finding_data import BrowserPlaces, findings_data
from cyclechart.produce.live.piece_file import NO_FILE, ChangedMeanwhile, PieceFile, version_of
from cyclechart.rules.judge import RULE_NAMES, findings_on
from cyclechart.text.row_merge import merge_blocks, merged_text
from cyclechart.write.files.cache import MemoryCache
from cyclechart.write.terminal.findings import summary
from cyclechart.write.webpage.data import page_data
from cyclechart.write.webpage.html import page_html
from cyclechart.write.webpage.schema import PageData

OUR_MISTAKE = (
    "This is a bug in cyclechart, not a mistake in your piece. Please report it with the piece "
    "file and what the command printed. The page is the one before."
)
WAIT_SECONDS = 20.0
"""The longest time that a request for news waits for some."""
MOST_STRAINS = 4000
"""Strains whose systems are kept from one drawing to the next."""
SHARED = ("modes", "cycles", "players")
"""The band's own files beside the pieces."""


class Desk:
    """The piece as it now is: its findings, and its page as it last could be drawn."""

    def __init__(self, path: Path) -> None:
        self.file = PieceFile(path)
        self.version = -1
        """The number of times that there were news, less one."""
        self.readings = -1
        """The number of times that it has been read, less one."""
        self.drawn = -1
        """The reading that the page is of; -1 for none yet."""
        self.page = b""
        self.content: PageData | None = None
        """The data of the page; None as long as there is none."""
        self.drawn_from = NO_FILE
        """The fingerprint of the text that the page is drawn from."""
        self.news = self._news(NO_FILE, (), "Reading …")
        self.changed = threading.Condition()
        self._seen: tuple[object, ...] | None = None
        self._drawn = MemoryCache(MOST_STRAINS)
        self._judging = threading.Lock()
        self._saving = threading.Lock()

    @property
    def key(self) -> str:
        """A name for the piece that the browser keeps unsaved texts under."""
        return hashlib.sha256(str(self.file.path).encode("utf-8", "surrogateescape")).hexdigest()

    def look(self) -> bool:
        """Read the piece again if it or what the band shares has changed; whether it was."""
        now = tuple(_stamp(one) for one in self._files())
        if now == self._seen:
            return False
        self._seen = now
        self._read()
        return True

    def _files(self) -> list[Path]:
        folder = self.file.shown.parent
        shared = [folder / "shared", folder.parent / "shared"]
        return [self.file.path, *(d / f"{name}.yaml" for d in shared for name in SHARED)]

    def _read(self) -> None:
        begun = time.monotonic()
        self.readings += 1
        try:
            data = self.file.data()
        except OSError as error:
            self._tell(NO_FILE, (), f"{self.file.shown.name}: {error.strerror or error}", begun)
            return
        fingerprint = version_of(data).fingerprint
        try:
            loaded = self._loaded(data)
            findings = findings_on(loaded)
            state = summary(findings, 1)
            shown = findings_data(findings, loaded.sources, self._name)
            # A line that breaks a rule is played all the same, so that it can be heard.
            if loaded.piece is None or any(one.severity == "error" for one in loaded.findings):
                state += "; the page is the one before" if self.drawn >= 0 else "; no page yet"
            else:
                # Other editors need not wait for the page.
                self._tell(fingerprint, shown, f"{state}; the page is being drawn", begun)
                places = BrowserPlaces(loaded.sources[self._name])
                content = page_data(loaded.piece, drawn=self._drawn, text_span=places.row_span)
                self.content = content
                self._turn_page(page_html({**content, "live": True}), fingerprint)
        except Exception:
            # The next save may be without it, and what was drawn before can still be played.
            traceback.print_exc()
            self._tell(fingerprint, (), OUR_MISTAKE, begun)
            return
        self._tell(fingerprint, shown, state, begun)

    def _turn_page(self, page: bytes, fingerprint: str) -> None:
        with self.changed:
            if page != self.page:
                self.page, self.drawn = page, self.readings
            self.drawn_from = fingerprint

    def _tell(
        self, fingerprint: str, findings: Sequence[dict[str, Any]], state: str, begun: float
    ) -> None:
        """Give the news to who waits for some."""
        with self.changed:
            self.version += 1
            timed = f"{state} ({time.monotonic() - begun:.1f} s)"
            self.news = self._news(fingerprint, findings, timed)
            self.changed.notify_all()

    def _news(
        self, fingerprint: str, findings: Sequence[dict[str, Any]], state: str
    ) -> dict[str, Any]:
        return {
            "version": self.version,
            "drawn": self.drawn,
            "drawn_from": self.drawn_from,
            "file": self.file.shown.name,
            "key": self.key,
            "fingerprint": fingerprint,
            "state": state,
            "findings": findings,
        }

    @property
    def _name(self) -> str:
        return str(self.file.shown)

    def _loaded(self, data: bytes) -> Loaded:
        return read_piece(self._name, data, RULE_NAMES, self.file.shown.parent)

    def newer(self, than: int, wait: float = WAIT_SECONDS) -> dict[str, Any]:
        """Return the news as soon as it is newer than a version, or when waiting is over."""
        with self.changed:
            self.changed.wait_for(lambda: self.version > than, wait)
            return self.news

    def text(self) -> dict[str, Any]:
        """Return the text as it now is in the file. Raises OSError."""
        return self.file.version()._asdict()

    def judged(self, text: str) -> dict[str, Any]:
        """Return the findings of a text that is not saved."""
        data = text.encode("utf-8", "surrogatepass")
        with self._judging:
            try:
                loaded = self._loaded(data)
                findings = findings_on(loaded)
                shown = findings_data(findings, loaded.sources, self._name)
            except Exception:
                traceback.print_exc()
                return {"findings": [], "state": OUR_MISTAKE.rpartition(" The page")[0]}
        return {"findings": shown, "state": summary(findings, 1)}

    def save(self, text: str, base: str, fingerprint: str) -> dict[str, Any]:
        """Save a text; where the file is no longer as ``base`` was, return what a merge needs.

        ``base``: the text that ``text`` began from; ``fingerprint``: that of its file. Raises
        NotSaved and OSError.
        """
        with self._saving:
            try:
                saved = self.file.save(text, fingerprint)
            except ChangedMeanwhile as changed:
                return {"saved": False, **merge_data(base, text, changed.now.text)} | {
                    "fingerprint": changed.now.fingerprint,
                    "text": changed.now.text,
                }
        return {"saved": True, **saved._asdict()}

    def merge(self, text: str, base: str) -> dict[str, Any]:
        """Return what a text and the file can be put together from. Raises OSError."""
        now = self.file.version()
        return {"saved": False, **now._asdict(), **merge_data(base, text, now.text)}


def merge_data(base: str, mine: str, theirs: str | None) -> dict[str, Any]:
    """Return the blocks of a merge, and its text where nobody has to choose."""
    if theirs is None:
        return {"blocks": [], "merged": None}
    blocks = merge_blocks(base, mine, theirs)
    return {
        "blocks": [
            {"kind": one.kind, "mine": one.mine, "theirs": one.theirs, "base": one.base}
            for one in blocks
        ],
        "merged": merged_text(blocks),
    }


def _stamp(path: Path) -> object:
    try:
        held = path.stat()
    except OSError:
        return None
    return held.st_mtime_ns, held.st_size, held.st_ino
