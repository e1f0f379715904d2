"""The command ``tidy``: lines up the cells of a piece's texts under each other."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import cannot
from cyclechart.commands.judging import PIECES

if TYPE_CHECKING:
    from cyclechart.text.source import Source


@click.command()
@PIECES
@click.option("--write", is_flag=True, help="Change the files, in place of showing a diff.")
@click.option("--check", is_flag=True, help="Only exit with status 1 if something would change.")
def tidy(pieces: tuple[Path, ...], write: bool, check: bool) -> None:
    """Line up the cells of PIECES under each other: show a diff, or change the files.

    Only the white space between cells changes, in texts of several rows and in blocks.
    """
    from cyclechart.draft.tidy import tidy as edits_of
    from cyclechart.text.edits import with_edits_in_file
    from cyclechart.write.files.atomic import put_all
    from cyclechart.write.terminal.colours import painter_for
    from cyclechart.write.terminal.difference import as_text

    if write and check:
        raise click.UsageError("--check changes nothing: give it without --write")
    untidy: dict[Path, bytes] = {}
    unread = 0
    for path in pieces:
        data, source = _read(path)
        if source is None:
            unread += 1
            continue
        edits = edits_of(source)
        if not edits:
            continue
        untidy[path] = with_edits_in_file(data, edits)
        if not (write or check):
            shown = as_text(str(path), data, untidy[path], painter_for(sys.stdout))
            click.echo(shown, nl=False)
    if write:
        try:
            put_all({path.resolve(): data for path, data in untidy.items()})
        except OSError as error:
            raise cannot(error, Path(error.filename or pieces[0])) from error
    _print_result(list(untidy), len(pieces) - unread, write)
    sys.exit(1 if unread or (check and untidy) else 0)


def _read(path: Path) -> tuple[bytes, Source | None]:
    """Return a file's bytes and its text; None with its findings printed where YAML cannot read
    it."""
    from cyclechart.commands.reporting import print_findings
    from cyclechart.text.nodes import read
    from cyclechart.text.source import bytes_of, decode

    try:
        data = bytes_of(path)
    except OSError as error:
        raise cannot(error, path) from error
    source, findings = decode(str(path), data)
    if source is not None:
        root, more = read(source)
        findings = [*findings, *more]
        if root is not None:
            return data, source
    print_findings(findings, {str(path): source} if source else {})
    click.echo(f"{path}: cannot be read, so it is left as it is", err=True)
    return data, None


def _print_result(untidy: list[Path], count: int, write: bool) -> None:
    """Print what was changed, or would be, of so many pieces that could be read."""
    if not count:
        return
    if write:
        for path in untidy:
            click.echo(path)
    done = "tidied" if write else "would change"
    pieces = "1 piece" if count == 1 else f"{count} pieces"
    said = f"{len(untidy)} {done}" if untidy else "tidy"
    click.echo(f"{pieces}: {said}", err=True)
