"""The widths of texts in the page's font, which the engraver takes to be narrower.

tests/write/engraving/test_syllable_spacing.py holds the widths of the letters against typst's.
"""

from __future__ import annotations

from unicodedata import combining, normalize

from cyclechart.write.engraving.shaped_text import Piece, run_width, runs_of
from cyclechart.write.engraving.svg_shapes import LETTER
from cyclechart.write.files.fonts import PLAIN, installed, needs_more

_LETTERS_OF = {
    0.19: "'", 0.21: "|", 0.22: ",.", 0.24: ":;", 0.25: " \u00a0·", 0.27: "ijl‘’", 0.28: "{}",
    0.29: "!()\\", 0.30: "I", 0.32: "/Jt", 0.34: '"-[', 0.36: "]", 0.37: "r*", 0.38: "?",
    0.39: "s`", 0.42: "z", 0.43: "c", 0.45: "e~", 0.46: "a", 0.47: "0123456789#$", 0.49: "FS_bx",
    0.50: "gqv", 0.51: "do", 0.52: "Ykpy^", 0.53: "Lu", 0.54: "hn", 0.55: "+<=>PT×–", 0.56: "E",
    0.59: "BRV", 0.61: "Z", 0.63: "K", 0.64: "%X", 0.65: "C", 0.66: "U½¼", 0.69: "AG", 0.70: "NO",
    0.71: "DQ&", 0.73: "H", 0.75: "w—…", 0.79: "m", 0.84: "M", 0.89: "W", 0.90: "@", 0.31: "f",
}  # fmt: skip
"""Letters of Libertinus Serif by their width, to their size."""

_WIDTHS = {letter: width for width, letters in _LETTERS_OF.items() for letter in letters}


def text_width(text: str, size: float) -> float:
    """Return the width of a text of a size, in regular letters."""
    if needs_more(text) and installed(PLAIN) is not None:
        return sum(run_width(run) for run in runs_of([Piece(text, size)]))
    letters = [sign for sign in normalize("NFD", text) if not combining(sign)]
    return size * sum(_WIDTHS.get(letter, LETTER) for letter in letters)
