"""Arguments, options and the reading of pieces, shared by the commands that judge them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from cyclechart.commands.common import cannot, letter_of
from cyclechart.commands.completion import completing
from cyclechart.finding import Finding
from cyclechart.piece.load import Loaded, load
from cyclechart.rules.judge import RULE_NAMES, findings_on

PIECES = click.argument(
    "pieces",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)

TONIC = click.option(
    "--tonic",
    help="Move the piece to another Sa (tonic): D, Eb or F#.",
    shell_complete=completing("tonic"),
)


def judged(path: Path, tonic: str | None) -> tuple[Loaded, list[Finding]]:
    """Return a piece, moved to another Sa if asked, and all its findings in order."""
    try:
        loaded = load(path, RULE_NAMES)
    except OSError as error:
        raise cannot(error, path) from error
    if tonic is not None:
        from cyclechart.arrange.transpose import transposed

        letter = letter_of(tonic)
        if loaded.piece is not None:
            loaded = replace(loaded, piece=transposed(loaded.piece, letter))
    return loaded, findings_on(loaded)


def cadences_of(loaded: Loaded) -> str:
    """Return the report on a piece's cadences; "" without any."""
    if loaded.piece is None or not any(line.cadences for line in loaded.piece.lines.values()):
        return ""
    from cyclechart.write.terminal.cadence_summary import as_text

    return as_text(loaded.piece)


def derives(loaded: Loaded) -> bool:
    """Return whether a piece has lines that come from others."""
    lines = loaded.piece.lines.values() if loaded.piece is not None else ()
    return any(line.derivation is not None for line in lines)
