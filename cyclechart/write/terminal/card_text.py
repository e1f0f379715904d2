"""The width of a card in the terminal, its folded texts and the sentence that closes it."""

from __future__ import annotations

import textwrap

DEFERS = "Grammars differ by teacher and lineage; your own teacher's comes first."

WIDTH = 100
"""The width of a card in columns."""


def folded(label: str, text: str) -> list[str]:
    """A text under its label, broken where it would run past the width."""
    return textwrap.wrap(
        " ".join(text.split()),
        WIDTH,
        initial_indent=f"  {label}",
        subsequent_indent=" " * 4,
        break_long_words=False,
        break_on_hyphens=False,
    )


def row(label: str, text: str) -> list[str]:
    """A text beside its label, in as many lines as it needs."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"  {label:<10}",
        subsequent_indent=" " * 12,
        break_long_words=False,
        break_on_hyphens=False,
    )
