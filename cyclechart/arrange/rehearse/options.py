"""Reads the options of a rendering (tempi, cycles) and names its file.

Text that cannot be read raises ValueError with one plain sentence.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from fractions import Fraction

from cyclechart.theory.exact import parse_exact, show_exact

LEAST, MOST = Fraction(5, 100), Fraction(4)
"""The slowest and the fastest rendering, as a part of the tempo."""
MOST_TEMPI = 24
LONGEST_NAME = 120
"""File systems take 255 bytes; a suffix and a folder's limit have to fit too."""

_RANGE = re.compile(r"(?P<low>[^-–]+?)\s*(?:[-–]|\bto\b)\s*(?P<high>.+?)\s+by\s+(?P<step>.+)")
_DASHES = re.compile(r"[-–]|\bto\b")
_CYCLES = re.compile(r"(?P<first>[0-9]{1,6})(?:\s*[-–]\s*(?P<last>[0-9]{1,6}))?")

# A plain name can be read back, so no two requests share one; all others have a digest added.
_PLAIN_STEM = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_PLAIN_WHAT = re.compile(r"[a-z0-9]+ [a-z0-9]+(?:-[a-z0-9]+)*|[a-z0-9]+%?")
_DIGEST_LIKE = re.compile(r"x[0-9a-f]{12}")
_DEVICE_NAME = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that Windows keeps for devices."""


def parse_tempi(text: str) -> tuple[Fraction, ...]:
    """Return ``70%``, ``70%,85%,100%`` or ``60%-100% by 10%`` as factors of the tempo, in order.

    A range always includes its last value; repeated values count once. Raises ValueError for text
    that cannot be read, factors outside 5% to 400%, and more than 24 of them.
    """
    tempi: dict[Fraction, None] = {}
    for item in text.split(","):
        tempi.update(dict.fromkeys(_tempi_of(item.strip())))
        if len(tempi) > MOST_TEMPI:
            raise ValueError(f"that is more than {MOST_TEMPI} tempi")
    return tuple(tempi)


def parse_cycles(text: str) -> tuple[int, int]:
    """Return the first and the last cycle of ``5-8`` or ``5``, counted from 1.

    Raises ValueError for text that cannot be read or a range that goes backwards.
    """
    match = _CYCLES.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"'{text[:40]}' names no cycles; write 5 or 5-8")
    first = int(match["first"])
    last = int(match["last"] or first)
    if first < 1:
        raise ValueError("cycles are counted from 1")
    if first > last:
        raise ValueError(f"'{text.strip()}' goes backwards; write {last}-{first}")
    return first, last


def rendering_name(stem: str, *what: str) -> str:
    """Return a file name without its suffix: ``("salt-road", "70%", "cycles 5-8")`` gives
    ``salt-road--70-percent--cycles-5-8``.

    It has only a-z, 0-9 and hyphens, 120 characters at most. Two requests never get the same name:
    where cleaning or shortening loses anything, a digest of the whole request is added.
    """
    name = "--".join(part for part in (_cleaned(stem) or "piece", *map(_cleaned, what)) if part)
    plain = (
        _PLAIN_STEM.fullmatch(stem)
        and not _DEVICE_NAME.fullmatch(stem)
        and all(_PLAIN_WHAT.fullmatch(part) and not _DIGEST_LIKE.fullmatch(part) for part in what)
        and not any(re.fullmatch(r"[0-9a-z]+ percent", part) for part in what)
    )
    if plain and len(name) <= LONGEST_NAME:
        return name
    # The lengths keep ("a", "b") and ("ab",) apart.
    request = "".join(f"{len(part)}:{part}" for part in (stem, *what))
    digest = "x" + hashlib.sha256(request.encode("utf-8", "surrogatepass")).hexdigest()[:12]
    room = LONGEST_NAME - len(digest) - 2
    return f"{name[:room].rstrip('-')}--{digest}"


def _tempi_of(item: str) -> list[Fraction]:
    match = _RANGE.fullmatch(item)
    if match is None:
        if _DASHES.search(item):
            raise ValueError(f"'{item[:40]}' does not say by how much; write 60%-100% by 10%")
        return [_percent(item)]
    low, high = _percent(match["low"], bare=True), _percent(match["high"])
    step = _share(match["step"], bare=True)
    if step <= 0:
        raise ValueError("a range of tempi has to go by more than nothing")
    if abs(high - low) / step > MOST_TEMPI:
        raise ValueError(f"that is more than {MOST_TEMPI} tempi")
    way = step if high > low else -step
    count = int(abs(high - low) / step)
    tempi = [low + way * number for number in range(count + 1)]
    return tempi if tempi[-1] == high else [*tempi, high]


def _percent(text: str, *, bare: bool = False) -> Fraction:
    value = _share(text, bare=bare)
    if not LEAST <= value <= MOST:
        raise ValueError(
            f"{show_exact(value * 100)}% is no tempo to rehearse at; 5% to 400% can be had"
        )
    return value


def _share(text: str, *, bare: bool) -> Fraction:
    """Return a percentage as a factor; the sign may be missing if ``bare``."""
    text = text.strip()
    number = text.removesuffix("%")
    if not number or (number == text and not bare):
        raise ValueError(f"'{text[:40]}' is no percentage; write 70% or 60%-100% by 10%")
    return parse_exact(number) / 100


def _cleaned(text: str) -> str:
    """Return text as a-z, 0-9 and single hyphens, with accents removed."""
    bare = unicodedata.normalize("NFKD", text.replace("%", " percent "))
    bare = "".join(char for char in bare if not unicodedata.combining(char)).lower()
    return re.sub(r"[^a-z0-9]+", "-", bare).strip("-")
