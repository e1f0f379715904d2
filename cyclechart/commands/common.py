"""What the commands share: the formats they print in, and how they say that they cannot run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from cyclechart.theory.spelling import Tonic

FORMATS = click.Choice(["text", "json"])


class CannotRun(click.ClickException):
    """The command itself could not run: the file system said no."""

    exit_code = 2


def cannot(error: OSError, path: Path) -> CannotRun:
    """Which file it was about, and what the system says."""
    return CannotRun(f"{error.filename or path}: {error.strerror or error}")


def letter_of(text: str) -> Tonic:
    """The letter that an option puts Sa on."""
    from cyclechart.piece.heading import read_tonic

    tonic = read_tonic(text)
    if tonic is None:
        raise click.BadParameter(f"'{text}' is no letter name; write D, Eb or F#")
    return tonic
