"""The lists of names in the README, made from the catalogue.

    python tests/support/readme_lists.py

prints them as they have to stand there; tests/test_readme.py compares.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.library import Library
from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Spot
from cyclechart.theory.exact import show_exact

WIDTH = 104


def lists() -> dict[str, str]:
    """Each list of the README by the name of its marker."""
    return {
        "instruments": instruments(),
        "cycles": cycles(),
        "modes": wrapped(name for shelf in Library.beside(None).modes for name in shelf.names()),
        "syllables": wrapped(strokes().syllables),
    }


def wrapped(names: Iterable[str]) -> str:
    """Names in lines, each as code."""
    text = ", ".join(f"`{name}`" for name in names)
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, break_long_words=False)


def instruments() -> str:
    """The instruments family by family, with other names of each."""
    families: dict[str, list[str]] = {}
    for name in instrument_names():
        found = instrument(name)
        assert found is not None
        also = f" ({', '.join(found.aka)})" if found.aka else ""
        families.setdefault(found.family, []).append(f"`{name}`{also}")
    rows = [f"| {family} | {', '.join(names)} |" for family, names in families.items()]
    return "\n".join(["| family | instruments |", "|---|---|", *rows])


def cycles() -> str:
    """The cycles with their beats, shortest first."""
    library = Library.beside(None)
    found = []
    for shelf in library.cycles:
        for name in shelf.names():
            cycle, _ = library.cycle(name, Spot("", 1, 1))
            assert cycle is not None
            found.append((cycle.beats, name))
    by_length: dict[str, list[str]] = {}
    for beats, name in sorted(found, key=lambda item: item[0]):
        by_length.setdefault(show_exact(beats), []).append(f"`{name}`")
    rows = [f"| {beats} | {', '.join(names)} |" for beats, names in by_length.items()]
    return "\n".join(["| beats | cycles |", "|---|---|", *rows])


if __name__ == "__main__":
    for name, text in lists().items():
        print(f"<!-- {name} -->\n{text}\n<!-- end -->\n")
