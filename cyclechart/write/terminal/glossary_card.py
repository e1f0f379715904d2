"""A word of the trade explained in the terminal, and the list of them all."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.catalog.glossary import DEFERS, Term, glossary
from cyclechart.write.terminal.card_text import row


def term_card(term: Term) -> Iterator[str]:
    """Yield the lines of a word's card."""
    yield term.word
    yield from row("means", term.means)
    yield from row("here", term.here)
    for label, items in (("also", term.also), ("see", term.see), ("rules", term.rules)):
        if items:
            yield from row(label, ", ".join(items))
    yield f"  {DEFERS}"


def term_list() -> Iterator[str]:
    """Yield all words in rows."""
    yield from row("words", ", ".join(sorted(glossary(), key=str.lower)))
