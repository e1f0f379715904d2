"""Large print: bigger staves and texts on the same paper, for who asks for them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.files.paper_sizes import Paper

LARGER = Fraction(4, 3)
"""By how much staves are larger than on the same paper elsewhere."""
LARGER_TEXT = 1.25


def paper_for(sheet: Sheet, paper: Paper) -> Paper:
    """Return the paper of a sheet: with shorter lines, which are drawn larger, and larger text for
    a reader of large print."""
    if sheet.reader is None or not sheet.reader.large:
        return paper
    return replace(paper, line=int(paper.line / LARGER), text=paper.text * LARGER_TEXT)
