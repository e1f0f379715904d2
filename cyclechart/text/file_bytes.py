"""Edits carried out on the bytes of a file: its byte-order mark and its line ends stay."""

from __future__ import annotations

import codecs
import re
from collections import Counter
from collections.abc import Iterable

from cyclechart.finding import Edit, Spot
from cyclechart.text.edits import offset_of, with_edits
from cyclechart.text.source import Source

_LINE_END = re.compile("\r\n|\r|\n")


def with_edits_in_file(data: bytes, source: Source, edits: Iterable[Edit]) -> bytes:
    """Return the bytes of a file with edits of the text that was read from them.

    What is put in has the line ends that the file has most of.
    """
    raw = data.decode("utf-8-sig")
    mark = codecs.BOM_UTF8 if data.startswith(codecs.BOM_UTF8) else b""
    ends = Counter(_LINE_END.findall(raw))
    if set(ends) <= {"\n"}:
        return mark + with_edits(source, edits).encode()
    usual = ends.most_common(1)[0][0]
    places = _places(raw)
    moved = []
    for edit in edits:
        start = offset_of(source, edit.spot)
        stop = start + edit.spot.width
        spot = Spot("", 1, places[start] + 1, places[stop] - places[start])
        moved.append(Edit(spot, edit.text.replace("\n", usual)))
    return mark + with_edits(Source("", raw, (0,)), moved).encode()


def _places(raw: str) -> list[int]:
    """Return where each character of a text with plain line ends stands in it as it is written;
    at last where it ends."""
    pairs = {match.start() for match in _LINE_END.finditer(raw) if match[0] == "\r\n"}
    return [at for at in range(len(raw) + 1) if at - 1 not in pairs]
