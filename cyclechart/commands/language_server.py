"""The command ``language-server``: answers an editor over its standard input and output."""

from __future__ import annotations

import gc

import click

from cyclechart.commands.common import CannotRun


@click.command("language-server")
@click.option("--stdio", is_flag=True, help="Does nothing: some editors always pass it.")
def language_server(stdio: bool) -> None:
    """Serve an editor: findings as you type, completion, help, renaming, tidy texts.

    It speaks the Language Server Protocol over standard input and output; an editor starts it.
    """
    try:
        from cyclechart.editor.server import piece_server
    except ModuleNotFoundError as error:
        if error.name is None or error.name.split(".")[0] not in ("pygls", "lsprotocol"):
            raise
        message = "the language server needs an extra: pip install 'cyclechart[editor]'"
        raise CannotRun(message) from error
    # A piece is tens of thousands of small values: to look at them all every few hundred new ones
    # would take longer than to read what was written.
    gc.set_threshold(100_000, 20, 20)
    piece_server().start_io()
