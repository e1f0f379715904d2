"""The command ``rehearse``: a folder with sound files and a page to practise a piece with."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import (
    BALANCE,
    FONT,
    PLAIN,
    SOUND_KIND,
    TO,
    CannotRun,
    cannot,
    hint,
    read_whole,
    sound_options,
    status,
)
from cyclechart.commands.completion import completing
from cyclechart.commands.reporting import (
    ADVICE,
    VERBOSE,
    file_progress,
    print_findings,
    print_folder,
    print_sentences,
    print_summary,
)

if TYPE_CHECKING:
    from cyclechart.arrange.rehearse.recipes import Rendering
    from cyclechart.write.audio.sound_options import Balance

FOLDER = "rehearsal"
README = "README.txt"


@click.command()
@click.argument("piece", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@TO
@SOUND_KIND
@BALANCE
@FONT
@click.option(
    "--only",
    "wanted",
    multiple=True,
    metavar="NAME",
    help="Only these files, by the beginning of their names (slow, loop, drone), separated by "
    "commas.",
)
@click.option(
    "--band", default="", help="The artist in the tags of the files, instead of the composer."
)
@click.option(
    "--tonic",
    help="Move the piece to another Sa (tonic): D, Eb or F#.",
    shell_complete=completing("tonic"),
)
@click.option(
    "--list", "listed", is_flag=True, help="List the files and their lengths without writing them."
)
@PLAIN
@ADVICE
@VERBOSE
def rehearse(
    piece: Path,
    folder: Path,
    kind: str,
    balance: Balance,
    font: Path | None,
    wanted: tuple[str, ...],
    band: str,
    tonic: str | None,
    listed: bool,
    plain: bool,
    advice: bool,
    verbose: bool,
) -> None:
    """Make a rehearsal page and sound files of PIECE for the band to practise with.

    The page comes first, then the whole piece, then files without each player, slower, of each
    line, of its sections in loops, of call and response, of the claps and of the drone (as FLAC and
    WAV one round of it, to be repeated: it has no seam). Files that are up to date are kept. A
    piece with errors is still made, so that you can hear it; only a piece that cannot be
    read completely is not.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    from cyclechart.arrange.rehearse.recipes import renderings_of
    from cyclechart.produce.rehearsal_audio import font_sentences, in_format, jobs_of, minutes
    from cyclechart.produce.rehearsal_folder import make
    from cyclechart.produce.rehearsal_page import PAGE, page_job
    from cyclechart.produce.rehearsal_readme import listed_files, readme
    from cyclechart.rules.judge import in_order, judge
    from cyclechart.write.audio.encoders import FORMATS
    from cyclechart.write.files.manifest import write_files

    read = read_whole(piece, tonic)
    made = read.piece
    findings = in_order([*read.findings, *judge(made)])
    options = sound_options(balance, font)
    where = folder / piece.stem / f"{FOLDER}{options.in_folder}"
    everything = renderings_of(made, plain=plain)
    chosen = {one.name for one in _chosen(everything, wanted)}
    sound = next(one for one in FORMATS if one == kind)
    in_sound = [in_format(one, sound) for one in everything]
    jobs = jobs_of(in_sound, where, sound, band, options, plain=plain)
    if listed:
        for one, job in zip(in_sound, jobs, strict=True):
            if one.name in chosen:
                click.echo(f"{job.path.name:<36}{minutes(job.seconds):>6}  {one.about}")
        return
    mine = [job for one, job in zip(everything, jobs, strict=True) if one.name in chosen]
    with_page = not wanted or PAGE.startswith(tuple(_names(wanted)))
    try:
        page = page_job(made, where, plain=plain) if with_page else None
        with file_progress("making", PAGE) as (show, finished):
            keep = [PAGE, *(job.path.name for job in jobs)]
            fresh, sentences = make(mine, where, show, keep=keep, page=page, finished=finished)
        files = list(listed_files(where, list(zip(everything, jobs, strict=True))))
        text = readme(made, files, PAGE if (where / PAGE).is_file() else "")
        sentences += font_sentences(jobs[:1], options)
        if options.font and page is not None:
            sentences += (f"{PAGE} keeps voices of its own: a font is for the recordings",)
        sentences += write_files(where, {"readme": {README: text.encode()}})
    except OSError as error:
        raise cannot(error, where) from error
    kept = len(mine) + with_page - len(fresh)
    what = f"{len(fresh)} written" + (f", {kept} up to date" if kept else "")
    print_folder(where, what, fresh, verbose=verbose)
    print_sentences({piece.stem: sentences})
    if findings:
        print_findings(findings, read.sources, advice=advice)
        print_summary(findings, 1, advice=advice)
    if fresh:
        from cyclechart.write.files.cautions import LEVEL

        click.echo(LEVEL, err=True)
    sys.exit(status(findings, strict=False))


def _names(wanted: Sequence[str]) -> list[str]:
    """Return the wanted names, split at commas."""
    return [name.strip() for one in wanted for name in one.split(",") if name.strip()]


def _chosen(everything: Sequence[Rendering], wanted: Sequence[str]) -> Sequence[Rendering]:
    """Return the renderings whose names begin with one of the wanted names."""
    from cyclechart.produce.rehearsal_page import PAGE

    if wanted and not _names(wanted):
        raise CannotRun("--only needs a name; --list shows all names")
    names = [name for name in _names(wanted) if not PAGE.startswith(name)]
    if not names:
        return () if wanted else everything
    for name in names:
        if not any(one.name.startswith(name) for one in everything):
            known = [one.name for one in everything]
            raise CannotRun(f"there is no file named '{name}'{hint(name, known)}")
    return [one for one in everything if any(one.name.startswith(name) for name in names)]
