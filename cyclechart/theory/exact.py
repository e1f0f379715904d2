"""Exact numbers: how beats are written and read. Nothing here is ever a float."""

from __future__ import annotations

import re
from fractions import Fraction

MAX_DIGITS = 9
"""More digits than this in one number is a slip or an attack, not music."""

_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}
_NUMBER = re.compile(
    r"(?P<sign>[-−]?)(?:(?P<whole>\d+)(?:\.(?P<part>\d+))?)?\s*(?:(?P<num>\d+)\s*/\s*(?P<den>\d+))?"
)
_FRACTION = re.compile(r"(?P<sign>[-−]?)(?P<num>\d+)\s*/\s*(?P<den>\d+)")


def parse_exact(text: str) -> Fraction:
    """Read ``11``, ``11.5``, ``11 1/2``, ``23/2`` or ``11½`` as the same exact number.

    Raises ValueError with one plain sentence when the text is no such number, or is longer than
    ``MAX_DIGITS`` digits in any part.
    """
    plain = text.strip()
    for glyph, spelled in _VULGAR.items():
        plain = plain.replace(glyph, f" {spelled}")
    plain = plain.strip()
    if any(len(run) > MAX_DIGITS for run in re.findall(r"\d+", plain)):
        raise ValueError(f"'{text[:20]}…' has more than {MAX_DIGITS} digits")
    text = text if len(text) <= 40 else f"{text[:39]}…"
    match = _FRACTION.fullmatch(plain) or _NUMBER.fullmatch(plain)
    if not match or not plain.strip("-− "):
        raise ValueError(f"'{text}' is not a number; write 11, 11 1/2, 11.5 or 23/2")
    parts = match.groupdict()
    if parts.get("part") and parts.get("num"):
        raise ValueError(f"'{text}' mixes a decimal and a fraction")
    value = Fraction(int(parts.get("whole") or 0))
    if parts.get("part"):
        value += Fraction(int(parts["part"]), 10 ** len(parts["part"]))
    if parts.get("num"):
        if int(parts["den"]) == 0:
            raise ValueError(f"'{text}' divides by zero")
        value += Fraction(int(parts["num"]), int(parts["den"]))
    return -value if parts["sign"] else value


def parse_many(text: str) -> tuple[Fraction, ...]:
    """Read numbers separated by commas or by spaces: ``1 3/2 2`` or ``1, 1 1/2, 2``.

    Raises ValueError with one plain sentence where one is no number, or where a space may stand
    inside a number as well as between two.
    """
    if "," in text:
        return tuple(parse_exact(part) for part in text.split(","))
    unsure = re.search(r"(?<![\d./])(\d+)\s+(\d+)/(\d+)", text)
    if unsure is not None and int(unsure[2][:MAX_DIGITS]) < int(unsure[3][:MAX_DIGITS]):
        shown = f"{unsure[1][:MAX_DIGITS]} {unsure[2][:MAX_DIGITS]}/{unsure[3][:MAX_DIGITS]}"
        raise ValueError(f"'{shown}' can be one number or two; put commas between the numbers")
    return tuple(parse_exact(part) for part in text.split())


def show_exact(value: Fraction) -> str:
    """Write a number as a musician would: ``11 1/2``, ``3/4``, ``-2``."""
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def show_cycles(count: int | Fraction) -> str:
    """``1 cycle``, ``2 cycles``, ``1/2 cycle``."""
    return f"{show_exact(Fraction(count))} cycle{'s' if count > 1 else ''}"


def show_beats(value: Fraction) -> str:
    """``1 beat``, ``2 1/2 beats``, ``1/2 beat``."""
    return f"{show_exact(value)} {'beat' if abs(value) <= 1 and value else 'beats'}"
