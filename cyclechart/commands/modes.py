"""The command ``modes``: finds modes by name, by tones or by a line, or lists them."""

from __future__ import annotations

import re
import textwrap
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import FORMATS, CannotRun, cannot
from cyclechart.commands.completion import completing

if TYPE_CHECKING:
    from cyclechart.catalog.library import Library
    from cyclechart.catalog.search import ModeEntry, ModeMatch
    from cyclechart.text.scripts import Script
    from cyclechart.text.timing import Strike
    from cyclechart.theory.likeness import Heard

DEFERS = "Grammars differ by teacher and lineage; your own teacher's comes first."
WIDTH = 100
MOST_NOTES = 5000
"""The most notes of a line; longer music is compared with its mode by ``check``."""
_DEGREE = re.compile(r"[b#♭♯]?[1-7][',]*")
_BETWEEN = re.compile(r"[\s|,]+")


@click.command()
@click.argument("name", required=False, shell_complete=completing("mode"))
@click.option(
    "--tones", help='The tones of the mode: "S R G P D", "1 2 3 5 6", or letters with --tonic.'
)
@click.option("--fits", help='A line that the mode must fit: "G R S D, S R G".')
@click.option(
    "--tonic", help="The letter of Sa (the tonic), for tones or a line in letters: D E F# A B."
)
@click.option(
    "--most",
    type=click.IntRange(min=1),
    default=12,
    show_default=True,
    help="The most modes to print.",
)
@click.option("--format", "form", type=FORMATS, default="text", help="The format of the answer.")
def modes(
    name: str | None, tones: str | None, fits: str | None, tonic: str | None, most: int, form: str
) -> None:
    """Find modes by NAME in any spelling (jazz scales too), by tones, or by a line.

    The most likely modes come first, each with the reasons. A mode must meet all conditions that
    you give. The modes are the band's own in ./shared, the catalogue's and the 72 melas (the parent
    scales of the South). Without conditions all modes are listed by family.

    Exit status: 0 something found, 1 nothing found, 2 the command itself could not run.
    """
    from cyclechart.catalog.fitting import by_line
    from cyclechart.catalog.library import Library
    from cyclechart.catalog.search import by_name, by_tones, entries, together
    from cyclechart.write.terminal import findings as report

    if tonic is not None and tones is None and fits is None:
        raise click.UsageError("--tonic goes with --tones or --fits")
    try:
        library = Library.beside(Path.cwd())
    except OSError as error:
        raise cannot(error, Path("shared")) from error
    known, wrong = entries(library)
    searches = []
    if name is not None:
        searches.append(by_name(known, name))
    if tones is not None:
        heard = _heard(tones, "--tones", tonic)
        searches.append(by_tones(known, frozenset(heard.shares)))
    if fits is not None:
        searches.append(by_line(known, _heard(fits, "--fits", tonic)))
    if library.findings or wrong:
        sources = {source.file: source for source in library.sources}
        click.echo(report.as_text([*library.findings, *wrong], sources), err=True)
    if not searches:
        _list_all(library, known, form)
        return
    found = together(searches)
    if form == "json":
        _print_json(found[:most])
    else:
        _print_text(found, most)
    if not found:
        click.echo(_nothing(known, name, tones, fits), err=True)
        raise SystemExit(1)


def _heard(text: str, option: str, tonic: str | None) -> Heard:
    """Return what a listener notices of a line: the time of each tone, its rests, its breaths."""
    from cyclechart.theory.likeness import hear

    breaths: list[list[tuple[int, Fraction]]] = []
    end: Fraction | None = None
    for strike in _strikes(text, option, tonic):
        assert isinstance(strike.value, int)
        if strike.start != end:
            breaths.append([])
        breaths[-1].append((strike.value, strike.length))
        end = strike.start + strike.length
    return hear(breaths)


def _strikes(text: str, option: str, tonic: str | None) -> list[Strike]:
    """Return the struck notes of a line; raise a usage error where it cannot be read."""
    from cyclechart.text.reading import read_line
    from cyclechart.text.source import MAX_BYTES, PlacedText, Source
    from cyclechart.text.timing import time_line
    from cyclechart.write.terminal import findings as report

    if len(text) > MAX_BYTES:
        raise click.BadParameter("the text is too long", param_hint=f"'{option}'")
    source = Source.of(option, text)
    passage = PlacedText(source, text, 0)
    items, wrong = read_line(passage, _script(text, tonic))
    timed, late = time_line(items, passage)
    if wrong or late:
        raise CannotRun(report.as_text([*wrong, *late], {option: source}))
    strikes = [strike for strike in timed.strikes if isinstance(strike.value, int)]
    if not strikes:
        raise click.BadParameter("there are no tones in it", param_hint=f"'{option}'")
    if len(strikes) > MOST_NOTES:
        what = f"it has {len(strikes):,} notes; a line can have at most {MOST_NOTES:,}"
        raise click.BadParameter(what, param_hint=f"'{option}'")
    return strikes


def _script(text: str, tonic: str | None) -> Script:
    """Return letters where Sa is named, degrees where the text is all numbers, otherwise sargam."""
    from cyclechart.piece.heading import read_tonic
    from cyclechart.text.excerpts import clip
    from cyclechart.text.scripts import DEGREES_SCRIPT, SARGAM_SCRIPT, letters_script

    if tonic is not None:
        letter = read_tonic(tonic)
        if letter is None:
            what = f"'{clip(tonic)}' is not a letter name; write one such as D, Eb or F#"
            raise click.BadParameter(what, param_hint="'--tonic'")
        return letters_script(letter)
    words = [word for word in _BETWEEN.split(text) if word not in ("", "-", "z")]
    if words and all(_DEGREE.fullmatch(word) for word in words):
        return DEGREES_SCRIPT
    return SARGAM_SCRIPT


def _nothing(known: list[ModeEntry], name: str | None, tones: str | None, fits: str | None) -> str:
    """Return the message for a search without results, with similar names."""
    from cyclechart.catalog.library import fold
    from cyclechart.catalog.search import near_names
    from cyclechart.text.excerpts import clip

    if sum(asked is not None for asked in (name, tones, fits)) > 1:
        return "No mode meets all of these conditions; give fewer."
    if tones is not None:
        return "No mode has these tones, even nearly; give fewer."
    if fits is not None:
        return "No mode fits this line: in each of them too many of its notes are wrong."
    assert name is not None
    if not fold(name):
        return "Write the name in Latin letters; `cyclechart modes` alone lists all modes."
    close = near_names(known, name)
    near = f"did you mean {', '.join(close)}?" if close else "`cyclechart modes` lists all modes."
    return f"There is no mode '{clip(name)}'; {near}"


def _list_all(library: Library, known: list[ModeEntry], form: str) -> None:
    """Every mode by family, the melas by their number alone."""
    from cyclechart.catalog.search import MELAS, ModeMatch, by_family

    own = frozenset(name for shelf in library.modes[:-1] for name in shelf.names())
    families = by_family(known, own)
    if form == "json":
        rows = [
            ModeMatch(entry.key, entry.mode, 1.0, (family,))
            for family, members in families.items()
            for entry in members
        ]
        _print_json(rows)
        return
    for family, members in families.items():
        names = ", ".join(entry.key for entry in members)
        if family == MELAS:
            names = "by name or number, as in: show Kanakangi, show 'mela 1'"
        for line in textwrap.wrap(
            f"{family}: {names}", WIDTH, subsequent_indent="    ", break_on_hyphens=False
        ):
            click.echo(line)
    click.echo(DEFERS)


def _print_json(found: list[ModeMatch]) -> None:
    import json

    rows = [
        {"mode": one.key, "score": round(one.score, 3), "reasons": list(one.reasons)}
        for one in found
    ]
    click.echo(json.dumps(rows, indent=2, ensure_ascii=False))


def _print_text(found: list[ModeMatch], most: int) -> None:
    from cyclechart.theory.tones import show_path

    for one in found[:most]:
        paths = f"{show_path(one.mode.ascent)} / {show_path(one.mode.descent)}"
        click.echo(f"{one.score:.3f}  {one.key}: {paths}")
        reasons = "; ".join(one.reasons)
        for line in textwrap.wrap(reasons, WIDTH - 7, break_on_hyphens=False):
            click.echo(f"       {line}")
    if len(found) > most:
        click.echo(f"{len(found) - most} more: --most {len(found)} shows them all")
    if found:
        click.echo(DEFERS)
