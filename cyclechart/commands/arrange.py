"""The command ``arrange``: a folder of files for each piece."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cyclechart.commands.common import (
    HEADING,
    PAPER,
    PLAIN,
    TO,
    as_taken,
    cannot,
    status,
)
from cyclechart.commands.judging import PIECES, TONIC, cadences_of, judged
from cyclechart.commands.reporting import (
    ADVICE,
    VERBOSE,
    counted_files,
    in_progress,
    print_findings,
    print_folder,
    print_sentences,
    print_summary,
)
from cyclechart.finding import Finding
from cyclechart.produce.piece_folder import FILE_KINDS
from cyclechart.rules.judge import in_order
from cyclechart.text.source import Source

NAMES = ("sargam", "letters", "degrees", "solfa16", "none")
SIGNATURES = ("nearest", "own", "none")


def _kinds(_context: object, _option: object, value: str) -> tuple[str, ...]:
    chosen = tuple(dict.fromkeys(part.strip() for part in value.split(",") if part.strip()))
    for kind in chosen:
        if kind not in FILE_KINDS:
            raise click.BadParameter(f"'{kind}' is not one of {', '.join(FILE_KINDS)}")
    if not chosen:
        raise click.BadParameter(f"name at least one of {', '.join(FILE_KINDS)}")
    return chosen


@click.command()
@PIECES
@TO
@click.option(
    "--only",
    "kinds",
    callback=_kinds,
    default=",".join(FILE_KINDS),
    show_default=True,
    help="The kinds of files to write, separated by commas.",
)
@click.option("--png", is_flag=True, help="Also write each page as a PNG picture.")
@PAPER
@click.option(
    "--names",
    type=click.Choice(NAMES),
    default="sargam",
    show_default=True,
    help="The names of the tones under the notes.",
)
@click.option(
    "--signature",
    type=click.Choice(SIGNATURES),
    default="nearest",
    show_default=True,
    help="The key signature: the standard one nearest to the mode, the mode's own, or none.",
)
@HEADING
@click.option(
    "--pages",
    type=click.IntRange(1, 99),
    help="The number of pages that every part should have, as far as readable sizes allow it.",
)
@PLAIN
@TONIC
@ADVICE
@VERBOSE
@click.option("--strict", is_flag=True, help="Exit with status 1 for warnings too.")
def arrange(
    pieces: tuple[Path, ...],
    folder: Path,
    kinds: tuple[str, ...],
    png: bool,
    paper: str,
    names: str,
    signature: str,
    heading: str,
    pages: int | None,
    plain: bool,
    tonic: str | None,
    advice: bool,
    verbose: bool,
    strict: bool,
) -> None:
    """Write MIDI, MusicXML, lead sheet, parts, score and grid of PIECES into a folder for each.

    A piece that cannot be read completely gets findings and no files; its old files stay as they
    are. A piece with other errors is still written, so that you can hear and see it while you fix
    it.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    targets: dict[str, Path] = {}
    for path in pieces:
        if not path.stem.strip("."):
            raise click.UsageError(f"{path} has no file name to name its folder after")
        if path.stem in targets and targets[path.stem] != path:
            where = folder / path.stem
            raise click.UsageError(f"{targets[path.stem]} and {path} would both write to {where}")
        targets[path.stem] = path
    from cyclechart.produce.piece_folder import write_outputs
    from cyclechart.write.files.paper_sizes import PAPERS, Look

    look = Look(PAPERS[paper], names, png, signature, heading, pages or 0)
    findings: list[Finding] = []
    sources: dict[str, Source] = {}
    cadences = ""
    sentences: dict[str, tuple[str, ...]] = {}
    for path in in_progress("arranging", list(targets.values())):
        loaded, found = judged(path, tonic)
        findings += found
        sources |= loaded.sources
        cadences += cadences_of(loaded) if verbose else ""
        if loaded.piece is None or any(f.severity == "error" for f in loaded.findings):
            continue
        try:
            piece = as_taken(loaded.piece, found)
            made = write_outputs(piece, folder / path.stem, path.stem, kinds, look, plain=plain)
        except OSError as error:
            raise cannot(error, folder / path.stem) from error
        what = counted_files(len(made.files))
        print_folder(folder / path.stem, what, made.files, verbose=verbose)
        sentences[path.stem] = made.sentences + (made.details if verbose else ())
    print_sentences(sentences)
    print_findings(in_order(findings), sources, advice=advice)
    if cadences:
        click.echo(cadences, err=True)
    print_summary(findings, len(targets), advice=advice)
    sys.exit(status(findings, strict))
