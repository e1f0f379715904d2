"""What a musician writes to ask for a rendering, read; and the name of the file that it becomes.

What cannot be read raises ValueError with one plain sentence.
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

# What is named plainly can be read back from its name, so no two of these share one; everything
# else carries a digest of what was asked.
_PLAIN_STEM = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_PLAIN_WHAT = re.compile(r"[a-z0-9]+ [a-z0-9]+(?:-[a-z0-9]+)*|[a-z0-9]+%?")
_DIGEST_LIKE = re.compile(r"x[0-9a-f]{12}")
_DEVICE_NAME = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that Windows keeps for devices."""


def parse_tempi(text: str) -> tuple[Fraction, ...]:
    """Read ``70%``, ``70%,85%,100%`` or ``60%-100% by 10%`` as parts of the tempo, in that order.

    A range always comes to its last value; what is named twice is taken once.
    """
    tempi: dict[Fraction, None] = {}
    for item in text.split(","):
        tempi.update(dict.fromkeys(_tempi_of(item.strip())))
        if len(tempi) > MOST_TEMPI:
            raise ValueError(f"that is more than {MOST_TEMPI} tempi")
    return tuple(tempi)


def parse_cycles(text: str) -> tuple[int, int]:
    """Read ``5-8`` or ``5`` as the first and the last of some cycles, counted from 1."""
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
    """A file name without its suffix: ``("salt-road", "70%", "cycles 5-8")`` gives
    ``salt-road--70-percent--cycles-5-8``.

    Only a-z, 0-9 and hyphens, 120 characters at most. Two renderings never get the same: where
    cleaning or the length loses something, a digest of all of it is added.
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
    # Lengths keep ("a", "b") and ("a\0b") apart, whatever is in them.
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
    """A percentage as a part of one; the sign may be missing where ``bare``."""
    text = text.strip()
    number = text.removesuffix("%")
    if not number or (number == text and not bare):
        raise ValueError(f"'{text[:40]}' is no percentage; write 70% or 60%-100% by 10%")
    return parse_exact(number) / 100


def _cleaned(text: str) -> str:
    """Only a-z, 0-9 and single hyphens; accents fall off their letters."""
    bare = unicodedata.normalize("NFKD", text.replace("%", " percent "))
    bare = "".join(char for char in bare if not unicodedata.combining(char)).lower()
    return re.sub(r"[^a-z0-9]+", "-", bare).strip("-")
