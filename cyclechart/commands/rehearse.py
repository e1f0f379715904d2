"""The command ``rehearse``: a folder with sound files and a page to practise a piece with."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import (
    BALANCE,
    FONT,
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
    print_findings,
    print_folder,
    print_sentences,
    print_summary,
    progress,
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
    advice: bool,
    verbose: bool,
) -> None:
    """Make a rehearsal page and sound files of PIECE for the band to practise with.

    There are files of the whole piece, without each player, of each line, slower, of its sections
    in loops, of call and response, of the claps and of the drone. Files that are up to date are
    kept. A piece with errors is still made, so that you can hear it; only a piece that cannot be
    read completely is not.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    from cyclechart.arrange.rehearse.recipes import renderings_of
    from cyclechart.produce.rehearsal_audio import font_sentences, jobs_of, make
    from cyclechart.produce.rehearsal_page import PAGE, write_page
    from cyclechart.produce.rehearsal_readme import readme
    from cyclechart.rules.judge import in_order, judge
    from cyclechart.write.audio.encoders import FORMATS
    from cyclechart.write.files.manifest import write_files
    from cyclechart.write.files.workers import cores_here

    read = read_whole(piece, tonic)
    made = read.piece
    findings = in_order([*read.findings, *judge(made)])
    options = sound_options(balance, font)
    where = folder / piece.stem / f"{FOLDER}{options.in_folder}"
    everything = renderings_of(made)
    chosen = _chosen(everything, wanted)
    sound = next(one for one in FORMATS if one == kind)
    jobs = jobs_of(everything, where, sound, band, options)
    if listed:
        for one, job in zip(everything, jobs, strict=True):
            if one in chosen:
                minutes, seconds = divmod(round(job.seconds), 60)
                click.echo(f"{job.path.name:<36}{minutes:>3}:{seconds:02}  {one.about}")
        return
    mine = [job for one, job in zip(everything, jobs, strict=True) if one in chosen]
    asked = len(mine)
    try:
        with progress("rendering sound") as show:
            fresh, sentences = make(
                mine, where, show, keep=[PAGE, *(job.path.name for job in jobs)]
            )
        sentences += font_sentences(jobs[:1], options)
        if not wanted or PAGE.startswith(tuple(_names(wanted))):
            asked += 1
            page_made, more = write_page(made, where, cores_here())
            fresh += [where / PAGE] if page_made else []
            sentences += more
            if options.font:
                sentences += (f"{PAGE} keeps voices of its own: a font is for the recordings",)
        about = {
            one.name: (one.about, job.seconds) for one, job in zip(everything, jobs, strict=True)
        }
        text = readme(
            made, list(_sound_files(where, about)), PAGE if (where / PAGE).is_file() else ""
        )
        sentences += write_files(where, {"readme": {README: text.encode()}})
    except OSError as error:
        raise cannot(error, where) from error
    kept = asked - len(fresh)
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


def _sound_files(
    where: Path, about: Mapping[str, tuple[str, float]]
) -> Iterator[tuple[str, str, float]]:
    """The files of sound that lie in the folder, of every kind, in the order of the renderings."""
    from cyclechart.write.audio.encoders import FORMATS

    for name, (what, seconds) in about.items():
        for kind in FORMATS:
            if (where / f"{name}.{kind}").is_file():
                yield f"{name}.{kind}", what, seconds


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
