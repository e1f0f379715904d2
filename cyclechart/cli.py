"""The group of commands, and the message that a bug of ours prints."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable, Iterator, MutableMapping
from importlib import import_module

import click

from cyclechart import __version__

COMMANDS = (
    "new", "bring", "check", "mend", "tidy", "arrange", "rehearse", "live", "backing", "book",
    "tonics", "show", "cadence", "modes", "pivot", "drill", "why", "schema", "language-server",
)  # fmt: skip
"""Each is the function of its name in the module of its name in ``commands/``, a dash there an
underscore."""

REPORT_BUGS = (
    "This is a bug in cyclechart, not a mistake in your piece. Please report it with the piece "
    "file and the lines above. Files already written are complete; the piece that failed keeps its "
    "old files."
)


class LateCommands(MutableMapping[str, click.Command]):
    """The commands by name; each is imported when it is first looked up."""

    def __init__(self, names: Iterable[str]) -> None:
        self._imported: dict[str, click.Command | None] = dict.fromkeys(names)

    def __getitem__(self, name: str) -> click.Command:
        command = self._imported[name]
        if command is None:
            module = name.replace("-", "_")
            command = getattr(import_module(f"cyclechart.commands.{module}"), module)
            self._imported[name] = command
        return command

    def __setitem__(self, name: str, command: click.Command) -> None:
        self._imported[name] = command

    def __delitem__(self, name: str) -> None:
        del self._imported[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._imported)

    def __len__(self) -> int:
        return len(self._imported)


@click.group(
    commands=LateCommands(COMMANDS),
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="cyclechart")
def cli() -> None:
    """Charts, rehearsal files and findings for music in a mode (raga) and a cycle (tala).

    Mode grammars differ by teacher and lineage: a finding compares a line with the mode as it is
    written down here. Your own teacher's word comes first.
    """


def main() -> None:
    """The entry point. For a bug in our code it prints a request to report it."""
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
