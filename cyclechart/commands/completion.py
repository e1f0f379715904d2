"""Shell completion: the names that fit what is typed so far.

Each list is read only when the shell asks for it. Names of the catalogue are taken from the first
lines of its entries, without reading the entries themselves.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from cyclechart.catalog.library import Library
    from cyclechart.text.nodes import Node

Complete = Callable[[click.Context, click.Parameter, str], "list[CompletionItem]"]

FILES = ("piece", "setlist")
"""The parameters with the file whose players are completed."""
_RULE = re.compile(r"^@rule\(.*\)\ndef (\w+)\(", re.MULTILINE)
MOST_BYTES = 400_000
"""Of a larger file nobody waits for the players."""


def completing(kind: str) -> Complete:
    """Return a completion of one kind of names: ``mode``, ``cycle``, ``instrument``, ``tonic``,
    ``shown``, ``explained``, ``rule``, ``band`` or ``player``."""

    def complete(
        context: click.Context, _parameter: click.Parameter, typed: str
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        if kind == "shown" and ("/" in typed or typed.startswith(".")):
            return [CompletionItem(typed, type="file")]
        before, names = _listed(typed) if kind == "band" else ("", typed)
        known = _NAMES[kind](context)
        fits = sorted({name for name in known if name.startswith(names) and " " not in name})
        return [CompletionItem(before + name) for name in fits]

    return complete


def _listed(typed: str) -> tuple[str, str]:
    """Return the finished part of a list with commas, and the name that is being typed."""
    before, comma, name = typed.rpartition(",")
    return before + comma, name


def _library() -> Library:
    from cyclechart.catalog.library import Library

    return Library.beside(Path.cwd())


def _modes(_context: click.Context) -> Iterable[str]:
    from cyclechart.catalog.melas import NAMES

    own = [name for shelf in _library().modes for name in shelf.names()]
    return [*own, *(name.lower() for name in NAMES)]


def _cycles(_context: click.Context) -> Iterable[str]:
    from cyclechart.catalog.suladi import NAMES

    return [*(name for shelf in _library().cycles for name in shelf.names()), *NAMES]


def _instruments(_context: click.Context) -> Iterable[str]:
    from cyclechart.catalog.instruments import instrument_names

    return instrument_names()


def _tonics(_context: click.Context) -> Iterable[str]:
    return ("C", "C#", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def _shown(context: click.Context) -> Iterable[str]:
    from cyclechart.catalog.roles import ROLES

    tables = ("instruments", "cycles", "players", "modes")
    return [*_modes(context), *_cycles(context), *_instruments(context), *ROLES, *tables]


def _explained(_context: click.Context) -> Iterable[str]:
    from cyclechart.catalog.glossary import glossary

    return [*_rules(_context), *glossary()]


def _rules(_context: click.Context) -> Iterable[str]:
    """Yield the rules' names, most from their modules' texts: to import these takes longer."""
    from cyclechart.text.reading_rules import READING, name_of

    yield from map(name_of, READING)
    for file in sorted((Path(__file__).parents[1] / "rules").glob("*/*.py")):
        for name in _RULE.findall(file.read_text("utf-8")):
            yield name.replace("_", "-")


def _band(context: click.Context) -> Iterable[str]:
    ensembles = [name for bands in _library().bands for name in bands.pairs]
    return [*_instruments(context), *ensembles]


def _players(context: click.Context) -> Iterable[str]:
    """Return the players of the piece or set that is given before."""
    from cyclechart.catalog.library import Library
    from cyclechart.finding import Spot
    from cyclechart.text.nodes import Mapping, Scalar, read
    from cyclechart.text.source import decode

    file = _file_given(context)
    if file is None or file.stat().st_size > MOST_BYTES:
        return ()
    source, _ = decode(str(file), file.read_bytes())
    root = read(source)[0] if source is not None else None
    players = root.get("players") if isinstance(root, Mapping) else None
    if isinstance(players, Scalar):
        library = Library.beside(file.parent, *_folders_of_pieces(file, root))
        found = library.ensemble(players.text.strip(), Spot("", 1, 1))
        players = found if isinstance(found, Mapping) else None
    return [*players.pairs] if isinstance(players, Mapping) else ()


def _folders_of_pieces(file: Path, root: Node | None) -> list[Path]:
    """Return the folders of a set list's pieces: it takes its band from beside them."""
    from cyclechart.text.nodes import Mapping, Scalar, Sequence

    listed = root.get("pieces") if isinstance(root, Mapping) else None
    items = listed.items if isinstance(listed, Sequence) else ()
    pieces = [item.get("piece") if isinstance(item, Mapping) else item for item in items]
    folders = [(file.parent / one.text).parent for one in pieces if isinstance(one, Scalar)]
    return list(dict.fromkeys(folders))


def _file_given(context: click.Context) -> Path | None:
    """Return the file that is named before; an option that still lacks its value leaves all words
    unread."""
    given = [context.params.get(name) for name in FILES]
    words = [*given, *context.args]
    return next((Path(word) for word in words if word and Path(word).is_file()), None)


_NAMES: dict[str, Callable[[click.Context], Iterable[str]]] = {
    "mode": _modes,
    "cycle": _cycles,
    "instrument": _instruments,
    "tonic": _tonics,
    "shown": _shown,
    "explained": _explained,
    "rule": _rules,
    "band": _band,
    "player": _players,
}
