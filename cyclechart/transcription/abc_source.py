"""A file in ABC 2.1 as its tunes: each a text by itself, checked before anything reads it."""

from __future__ import annotations

import re
from typing import NamedTuple

from cyclechart.text.source import with_plain_ends
from cyclechart.transcription.refusal import CannotRead

MOST_LETTERS = 40_000
"""The longest text of one tune."""
MOST_BARLINES = 600
"""A tune of more takes music21 minutes."""
MOST_TUNES = 20_000
_FIELD = re.compile(r"([A-Za-z]):\s*(.*)")
_LONG_NUMBER = re.compile(r"[^\W\d_]?[',]*(?:\d{4,}|/{8,}|/\d{4,})")
_GLOBAL = frozenset("ABCDFGHILMmNOPQRrSUW")
"""Fields of a file's head that hold for all of its tunes (ABC 2.1, section 3)."""


class AbcTune(NamedTuple):
    """A tune of a file: its number (field X), its first title, its text, the line it begins on."""

    number: str
    title: str
    text: str
    line: int


def abc_tunes(text: str) -> list[AbcTune]:
    """Return the tunes of a file; a text without a number (X:) but with a key (K:) is one."""
    rows = with_plain_ends(text).split("\n")
    starts = [at for at, row in enumerate(rows) if row.startswith("X:")]
    if not starts:
        if not any(row.startswith("K:") for row in rows):
            what = "it is not ABC: no line has the number (X:) or the key (K:) of a tune"
            raise CannotRead(what, "", "begin a tune with the lines X:1, T:its title and K:D")
        rows, starts = ["X:1", *rows], [0]
    if len(starts) > MOST_TUNES:
        raise CannotRead(f"it has {len(starts):,} tunes; at most {MOST_TUNES:,} can be read")
    head = [
        row for row in rows[: starts[0]] if (found := _FIELD.match(row)) and found[1] in _GLOBAL
    ]
    tunes = []
    for start, end in zip(starts, [*starts[1:], len(rows)], strict=True):
        body = rows[start:end]
        title = next((row[2:].strip() for row in body if row.startswith("T:")), "")
        tunes.append(
            AbcTune(body[0][2:].strip(), title, "\n".join([body[0], *head, *body[1:]]), start + 1)
        )
    return tunes


def checked(tune: AbcTune) -> str:
    """Return the text of a tune that is safe to read: no length that nobody could play."""
    if len(tune.text) > MOST_LETTERS:
        what = f"this tune has {len(tune.text):,} letters; at most {MOST_LETTERS:,} can be read"
        raise CannotRead(what, f"line {tune.line}")
    if tune.text.count("|") > MOST_BARLINES:
        what = f"this tune has more than {MOST_BARLINES} barlines"
        raise CannotRead(what, f"line {tune.line}", "export it as MusicXML")
    in_body = False
    for number, row in enumerate(tune.text.split("\n"), start=tune.line):
        found = _FIELD.match(row)
        if found is not None:
            in_body = in_body or found[1] == "K"
            _check_field(found[1], found[2], number)
        elif in_body and not row.startswith("%"):
            long = _LONG_NUMBER.search(row.split("%")[0])
            if long is not None and not _in_quotes(row, long.start()):
                raise CannotRead(f"no note lasts so long: '{long[0][:20]}'", f"line {number}")
    if not in_body:
        raise CannotRead("the tune has no key (K:)", f"line {tune.line}", "K:D")
    return tune.text


def _in_quotes(row: str, at: int) -> bool:
    return row[:at].count('"') % 2 == 1 or row[:at].count("!") % 2 == 1


def _check_field(name: str, value: str, number: int) -> None:
    """Refuse a meter or a unit that is absurd."""
    if name not in "MLQ":
        return
    for digits in re.findall(r"\d+", value.split("%")[0]):
        if len(digits) > 4 or (name in "ML" and not 0 < int(digits) <= 256):
            raise CannotRead(f"{name}:{value[:20]} cannot be read", f"line {number}")
