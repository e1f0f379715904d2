"""What commands print: findings, summaries, the folders written, progress."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from cyclechart.finding import Finding
    from cyclechart.text.source import Source
    from cyclechart.write.files.progress import Finished, Show

ADVICE = click.option(
    "--advice",
    is_flag=True,
    help="Also show advice, and the liberties taken; without it they are only counted.",
)

VERBOSE = click.option(
    "--verbose", is_flag=True, help="List every file, and say more about what was written."
)


def print_findings(
    findings: Sequence[Finding],
    sources: Mapping[str, Source],
    *,
    advice: bool = True,
    err: bool = True,
) -> None:
    """Print findings, on stderr or stdout, each with its line; nothing where there are none.

    Without ``advice`` only errors and warnings that no liberty covers.
    """
    shown = [one for one in findings if advice or is_pressing(one)]
    if shown:
        from cyclechart.write.terminal.colours import painter_for
        from cyclechart.write.terminal.findings import as_text

        paint = painter_for(sys.stderr if err else sys.stdout)
        click.echo(as_text(shown, sources, paint), err=err)


def is_pressing(finding: Finding) -> bool:
    """Return whether a finding is shown unasked: an error or a warning that no liberty covers."""
    return finding.severity != "advice" and finding.liberty is None


def print_summary(
    findings: Sequence[Finding], pieces: int, *, advice: bool = True, err: bool = True
) -> None:
    """Print how many findings there are in so many pieces; without ``advice`` also how the rest
    is shown."""
    from cyclechart.write.terminal.findings import summary

    hidden = not advice and not all(map(is_pressing, findings))
    more = "; --advice shows all" if hidden else ""
    click.echo(summary(findings, pieces) + more, err=err)


def print_folder(folder: Path, what: str, files: Iterable[Path], *, verbose: bool) -> None:
    """Print a folder with what became of it; if ``verbose``, every file that was written, and the
    folder on stderr."""
    for path in files if verbose else ():
        click.echo(path)
    click.echo(f"{folder}: {what}", err=verbose)


def counted_files(number: int) -> str:
    return "1 file" if number == 1 else f"{number} files"


def print_sentences(sentences: Mapping[str, Sequence[str]]) -> None:
    """Print on stderr each sentence once; before one that is true of some of several pieces only,
    their names."""
    of: dict[str, list[str]] = {}
    for name, said in sentences.items():
        for sentence in said:
            of.setdefault(sentence, []).append(name)
    for sentence, names in of.items():
        whose = ", ".join(names) if len(names) <= MOST_NAMES else f"{len(names)} pieces"
        click.echo(f"{whose}: {sentence}" if len(sentences) > 1 else sentence, err=True)


MOST_NAMES = 3
"""The most pieces that are named before a sentence; of more, the number is."""


@contextmanager
def progress(label: str) -> Iterator[Show]:
    """Yield what moves a progress bar on stderr, with the time left; without a terminal there is
    none to move."""
    if not sys.stderr.isatty():
        from cyclechart.write.files.progress import show_nothing

        yield show_nothing
        return
    from cyclechart.commands.progress_bar import bar

    with bar(label) as (show, _):
        yield show


@contextmanager
def file_progress(label: str, announced: str) -> Iterator[tuple[Show, Finished]]:
    """Yield what moves a progress bar on stderr, and what is to be called for each finished file.

    Without a terminal each finished file is a line on stderr, so that a long run is not silent. On
    one only the file named ``announced`` is: it can be used while the others are made.
    """
    if not sys.stderr.isatty():
        from cyclechart.write.files.progress import show_nothing

        yield show_nothing, lambda name, length: click.echo(f"{name}  {length}", err=True)
        return
    from cyclechart.commands.progress_bar import bar

    with bar(label) as (show, console):

        def finished(name: str, length: str) -> None:
            if name == announced:
                console.print(f"{name}  {length}, ready to be used", markup=False)

        yield show, finished


def in_progress(label: str, paths: Sequence[Path]) -> Iterator[Path]:
    """Yield the paths, with a bar that names each and reckons by the sizes of the files."""
    sizes = [path.stat().st_size if path.is_file() else 0 for path in paths]
    with progress(label) as show:
        for number, path in enumerate(paths):
            show(sum(sizes[:number]), sum(sizes), path.stem)
            yield path
