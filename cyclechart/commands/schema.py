"""The command ``schema``: the JSON Schema of a piece file."""

from __future__ import annotations

import click


@click.command()
def schema() -> None:
    """Print the JSON Schema of a piece file, for editors that check as you type."""
    import json

    from cyclechart.piece.schema import schema as piece_schema

    click.echo(json.dumps(piece_schema(), indent=2))
