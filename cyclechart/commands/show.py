"""The command ``show``: the card of a mode, a cycle or a drum stroke."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import (
    cannot,
    letter_of,
    no_such,
    print_written,
    status,
)
from cyclechart.commands.reporting import print_findings
from cyclechart.piece.load import load
from cyclechart.rules.judge import RULE_NAMES, in_order

if TYPE_CHECKING:
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.terminal.cards import Found


@click.command()
@click.argument("name")
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
def show(name: str, tonic: str | None, folder: Path | None, theory: bool) -> None:
    """Show the mode, cycle or drum stroke NAME, or the modes and cycles of a piece file.

    The card of a mode names similar modes in the catalogue, and says if no other has its tones. It
    lists the chords that lie in it, and what it becomes with another of its tones as Sa.

    Modes and cycles come from the catalogue or from ./shared. Drum strokes may be run together as
    in a line (tirakita), or in cells of a beat each ("dha tirakita").
    """
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.terminal.cards import look_up

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
    elif not found.findings:
        raise click.UsageError(no_such("mode, cycle or drum stroke", name, found.known))
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
