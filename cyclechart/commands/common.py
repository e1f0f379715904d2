"""What the commands share: the formats they print in, and how they say that they cannot run."""

from __future__ import annotations

from pathlib import Path

import click

FORMATS = click.Choice(["text", "json"])


class CannotRun(click.ClickException):
    """The command itself could not run: the file system said no."""

    exit_code = 2


def cannot(error: OSError, path: Path) -> CannotRun:
    """Which file it was about, and what the system says."""
    return CannotRun(f"{error.filename or path}: {error.strerror or error}")
