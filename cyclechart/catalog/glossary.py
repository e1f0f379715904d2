"""The words of the trade that the tool prints or its language has, each explained."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

import yaml

from cyclechart.catalog.library import LONGEST, fold
from cyclechart.catalog.melas import sounded
from cyclechart.text.near_names import nearest_names

DEFERS = "Lineages and bands use some of these words otherwise; your own teacher's use comes first."


class Term(NamedTuple):
    """A word: what it means, what the tool does with it, the words and rules beside it."""

    word: str
    means: str
    here: str
    also: tuple[str, ...] = ()
    see: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def glossary() -> dict[str, Term]:
    """Return every word with its explanation, in the order of the file."""
    text = Path(__file__).with_name("glossary.yaml").read_text("utf-8")
    entries = yaml.load(text, Loader=yaml.CSafeLoader)
    return {
        word: Term(
            word,
            entry["means"],
            entry["here"],
            *(tuple(map(str, entry.get(key, ()))) for key in ("also", "see", "rules")),
        )
        for word, entry in entries.items()
    }


@lru_cache(maxsize=1)
def _by_spelling() -> dict[str, str]:
    spelled = {
        fold(other): word for word, term in glossary().items() for other in reversed(term.also)
    }
    return spelled | {fold(word): word for word in glossary()}


def term(word: str, *, by_sound: bool = True) -> Term | None:
    """Return the explanation of a word in any usual spelling, by its sound at last; None where
    there is none."""
    wanted = fold(word[:LONGEST])
    if not wanted:
        return None
    found = _by_spelling().get(wanted)
    if found is None and by_sound:
        like = sounded(wanted)
        found = next((one for other, one in _by_spelling().items() if sounded(other) == like), None)
    return glossary()[found] if found is not None else None


def nearest_terms(word: str, others: tuple[str, ...] = ()) -> list[str]:
    """Return the words, and the ``others``, that are nearest to an unknown one."""
    spelled = {
        other: known for known, entry in glossary().items() for other in (*entry.also, known)
    }
    near = nearest_names(word, [*spelled, *others])
    return list(dict.fromkeys(spelled.get(one, one) for one in near))
