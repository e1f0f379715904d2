"""The group of commands, and what is said of a mistake of ours."""

from __future__ import annotations

import io
import sys

import click

from cyclechart import __version__
from cyclechart.commands.arrange import arrange
from cyclechart.commands.backing import backing
from cyclechart.commands.book import book
from cyclechart.commands.cadence import cadence
from cyclechart.commands.check import check
from cyclechart.commands.drill import drill
from cyclechart.commands.live import live
from cyclechart.commands.modes import modes
from cyclechart.commands.rehearse import rehearse
from cyclechart.commands.schema import schema
from cyclechart.commands.show import show
from cyclechart.commands.tonics import tonics
from cyclechart.commands.why import why

REPORT_BUGS = (
    "This is a mistake in cyclechart, not in your piece. Please report it with the piece file and "
    "the lines above. The files written before it are whole; the piece it happened in has its old "
    "ones."
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="cyclechart")
def cli() -> None:
    """Charts, rehearsal MIDI and plain findings for music in a mode and a cycle.

    Mode grammars differ by teacher and lineage: a finding holds a line against the mode as it is
    written down here, and your own teacher's word goes before it.
    """


def main() -> None:
    """The entry point: a bug in our code says so, with how to report it."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a console without ♭ is no reason to stop
    try:
        cli()
    except Exception:
        import traceback

        traceback.print_exc()
        click.echo(REPORT_BUGS, err=True)
        sys.exit(70)


for command in (
    check, arrange, rehearse, live, backing, book, tonics, show, cadence, modes, drill, why, schema,
):  # fmt: skip
    cli.add_command(command)
