"""The command ``show``: the card of a mode, cycle, drum stroke, instrument or role; tables."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import (
    cannot,
    did_you_mean,
    letter_of,
    no_such,
    print_written,
    status,
)
from cyclechart.commands.completion import completing
from cyclechart.commands.reporting import print_findings
from cyclechart.piece.load import load
from cyclechart.rules.judge import RULE_NAMES, in_order

if TYPE_CHECKING:
    from cyclechart.catalog.library import Library
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.terminal.cards import Found

TABLES = ("instruments", "cycles", "players", "modes")
"""The names that stand for a table of all there are."""


@click.command()
@click.argument(
    "words", nargs=-1, required=True, metavar="NAME", shell_complete=completing("shown")
)
@click.option("--tonic", help="The letter of Sa, the tonic.  [default: C, or the piece's own]")
@click.option(
    "--to",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    help="Also write a mode's card into this folder, as PDF and PNG.",
)
@click.option(
    "--theory",
    is_flag=True,
    help="Of a mode the whole table: of each tone its chords, and what the mode becomes from it.",
)
def show(words: tuple[str, ...], tonic: str | None, folder: Path | None, theory: bool) -> None:
    """Show the mode, cycle or drum stroke NAME, an instrument, a role, or what a piece file uses.

    `show instruments`, `show cycles`, `show players` and `show modes` are tables of all there are.

    The card of a mode names similar modes in the catalogue, and says if no other has its tones. It
    lists the chords that lie in it, and what it becomes with another of its tones as Sa.

    Modes and cycles come from the catalogue or from ./shared. Drum strokes may be run together as
    in a line (tirakita), or in cells of a beat each ("dha tirakita").
    """
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.terminal.cards import look_up

    name = " ".join(words)
    if folder is None and _is_table(name):
        return
    given = letter_of(tonic) if tonic is not None else None
    letter = given or Tonic("C")
    if name.lower().endswith((".yaml", ".yml")):
        found, letter = _used_by(Path(name), given, theory)
    else:
        try:
            found = look_up(name, letter, Path.cwd(), theory=theory)
        except OSError as error:
            raise cannot(error, Path("shared")) from error
    print_findings(in_order(found.findings), found.sources)
    if found.texts:
        click.echo("\n\n".join(found.texts))
        _name_the_word(name)
    elif not found.findings:
        raise click.UsageError(_no_such_thing(name, found.known))
    if folder is not None and found.mode is None:
        raise click.UsageError(f"--to writes only the card of a mode, and '{name}' is not a mode")
    if folder is not None and found.mode is not None:
        from cyclechart.produce.mode_card import write_card

        try:
            written, kept = write_card(found.mode, letter, folder)
        except OSError as error:
            raise cannot(error, folder) from error
        print_written(written, kept)
    sys.exit(status(found.findings, strict=False))


def _is_table(name: str) -> bool:
    """Print the table of a name and return True, or return False where it names none."""
    if name not in TABLES:
        return False
    if name == "modes":
        from cyclechart.commands.modes import modes

        modes.main([], standalone_mode=False)
        return True
    from cyclechart.catalog.library import Library

    try:
        library = Library.beside(Path.cwd())
    except OSError as error:
        raise cannot(error, Path("shared")) from error
    for line in _table(name, library):
        click.echo(line)
    return True


def _table(name: str, library: Library) -> Iterator[str]:
    from cyclechart.write.terminal.cycle_table import cycle_table
    from cyclechart.write.terminal.instrument_card import instrument_table, role_table

    if name == "instruments":
        return instrument_table()
    if name == "cycles":
        return cycle_table(library)
    bands = {
        band: tuple(getattr(players, "pairs", ()))
        for file in reversed(library.bands)
        for band, (_, players) in file.pairs.items()
    }
    return role_table(bands.items())


def _name_the_word(name: str) -> None:
    """Say that a name that is shown is a word of the trade as well, where it is one."""
    from cyclechart.catalog.glossary import term

    word = term(name, by_sound=False)
    if word is not None:
        click.echo(f"\n'{name}' is a word of the trade, too: cyclechart why {word.word}")


def _no_such_thing(name: str, known: list[str]) -> str:
    """Return the message for a name that is nothing here; a word of the trade has its own place."""
    from cyclechart.catalog.glossary import term
    from cyclechart.catalog.instrument_words import instruments_of_word

    word = term(name, by_sound=False)
    what = "mode, cycle, drum stroke or instrument"
    if word is None:
        meant = did_you_mean(instruments_of_word(name))
        return no_such(what, name, () if meant else known) + meant
    return f"{no_such(what, name, ())}; `cyclechart why {word.word}` explains the word"


def _used_by(file: Path, tonic: Tonic | None, theory: bool) -> tuple[Found, Tonic]:
    """Return the cards of a piece's mode and cycles, with the findings on the piece's file."""
    from cyclechart.catalog.library import Library
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.terminal.cards import Found, of_piece

    try:
        loaded = load(file, RULE_NAMES)
        library = Library.beside(file.parent)
    except OSError as error:
        raise cannot(error, file) from error
    piece = loaded.piece
    if piece is None:
        nothing = Found([], [], list(loaded.findings), loaded.sources)
        return nothing, Tonic("C")
    found = of_piece(piece, library, tonic, theory=theory)
    wrong = replace(found, findings=list(loaded.findings), sources=loaded.sources)
    return wrong, tonic or piece.tonic
