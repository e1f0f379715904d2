"""Texts in any script: cut into runs of one font and direction, and shaped into glyphs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Any

from cyclechart.text.direction import levels
from cyclechart.text.display import JOINER, is_mark
from cyclechart.write.files.fonts import FAMILIES, PLAIN, Family, face, family_of

BOLD, REGULAR = 700, 400


@dataclass(frozen=True)
class Piece:
    """Some text in one size (in the picture's units) and weight."""

    text: str
    size: float
    weight: int = REGULAR


@dataclass(frozen=True)
class Run:
    """Text of one font and one level of direction."""

    text: str
    family: Family
    size: float
    weight: int
    level: int
    """Odd where it runs from right to left."""


@dataclass(frozen=True)
class Glyph:
    """A glyph of a shaped run: its number, how far it moves on, and its offset; in font units."""

    number: int
    advance: int
    dx: int
    dy: int


def runs_of(pieces: Sequence[Piece]) -> list[Run]:
    """Pieces cut where the font or the direction changes, in the order they are written."""
    signs = [
        (sign, family, piece.size, piece.weight)
        for piece in pieces
        for sign, family in zip(piece.text, _fonts(piece.text), strict=True)
    ]
    directions = levels("".join(sign for sign, *_ in signs))
    runs = []
    for key, group in groupby(
        zip(signs, directions, strict=True), key=lambda two: (*two[0][1:], two[1])
    ):
        runs.append(Run("".join(sign[0] for sign, _ in group), *key))
    return runs


def _fonts(text: str) -> list[Family]:
    """The font of each character; marks, joiners and spaces take that of the letter before."""
    found: list[Family] = []
    for sign in text:
        follows = is_mark(sign) or sign in (JOINER, "\u200c", " ") or _is_tag(sign)
        if found and (follows or (sign in "\u0964\u0965" and _has(found[-1], sign))):
            found.append(found[-1])
        else:
            found.append(family_of(sign) or PLAIN)
    return found


def _is_tag(sign: str) -> bool:
    """Return whether a sign varies the emoji before it: a tone of skin or a flag's letters."""
    return "\U0001f3fb" <= sign <= "\U0001f3ff" or "\U000e0020" <= sign <= "\U000e007f"


def _has(family: Family, sign: str) -> bool:
    return font_at(family, REGULAR).get_nominal_glyph(ord(sign)) is not None


@lru_cache(maxsize=2 * len(FAMILIES))
def font_at(family: Family, weight: int) -> Any:
    """The font of a family at a weight, to shape and draw with."""
    import uharfbuzz

    font = uharfbuzz.Font(face(family))
    font.set_variations({"wght": weight})
    return font


@lru_cache(maxsize=1024)
def shape(text: str, family: Family, weight: int, leftward: bool) -> tuple[Glyph, ...]:
    """The glyphs of a text of one font, from left to right as they are drawn."""
    import uharfbuzz

    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if leftward else "ltr"
    uharfbuzz.shape(font_at(family, weight), buffer)
    places = zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
    return tuple(Glyph(i.codepoint, p.x_advance, p.x_offset, p.y_offset) for i, p in places)


def shaped(run: Run) -> tuple[Glyph, ...]:
    """The glyphs of a run."""
    return shape(run.text, run.family, run.weight, run.level % 2 == 1)


def run_scale(run: Run) -> float:
    """The size of a unit of a run's font, in the picture's units."""
    return run.size / float(face(run.family).upem)


def run_width(run: Run) -> float:
    """The width of a run, in the picture's units."""
    return run_scale(run) * sum(glyph.advance for glyph in shaped(run))
