"""The command ``new``: a first piece, with comments, to change as you like."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from cyclechart.commands.common import CannotRun, cannot
from cyclechart.commands.completion import completing
from cyclechart.commands.reporting import print_findings

if TYPE_CHECKING:
    from cyclechart.catalog.library import Library
    from cyclechart.draft.first_band import Band
    from cyclechart.theory.cycle import Cycle
    from cyclechart.theory.mode import Mode
    from cyclechart.theory.spelling import Tonic

Answer = TypeVar("Answer")

MOST_SEED = 1_000_000
TEMPOS = (4, 1000)
LONGEST_TITLE = 120
LONGEST_FILE_NAME = 60
TITLE, CYCLE, TEMPO = "First Piece", "tintal", "96"
NORTHERN, SOUTHERN = "flute, double-bass, tabla, tanpura", "flute, double-bass, mridangam, tanpura"
"""The bands of those who name nobody, by where the cycle comes from."""


@click.command()
@click.option("--title", help=f"The title.  [default: {TITLE}]")
@click.option(
    "--mode",
    help="The mode (raga): yaman, bhimpalasi; `modes` lists them.",
    shell_complete=completing("mode"),
)
@click.option(
    "--cycle", help=f"The cycle (tala).  [default: {CYCLE}]", shell_complete=completing("cycle")
)
@click.option(
    "--tonic",
    help="The letter of Sa.  [default: one that suits the players]",
    shell_complete=completing("tonic"),
)
@click.option("--tempo", help=f"Beats a minute.  [default: {TEMPO}]")
@click.option(
    "--player",
    "players",
    multiple=True,
    shell_complete=completing("band"),
    help="Who plays: an instrument or several with commas, or an ensemble of ./shared. Repeatable.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, MOST_SEED),
    default=0,
    show_default=True,
    help="Another number, another piece.",
)
@click.option(
    "--to",
    "file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="The file to write.  [default: the title, here]",
)
def new(
    title: str | None,
    mode: str | None,
    cycle: str | None,
    tonic: str | None,
    tempo: str | None,
    players: tuple[str, ...],
    seed: int,
    file: Path | None,
) -> None:
    """Write a first piece with comments: a head, an answer, a tihai and a form with a solo.

    On a terminal it asks for what the options do not say. The lines are put together from the
    mode's own phrases and paths and are judged as `check` judges them. The same answers give the
    same piece; another --seed gives another. An existing file is never overwritten.
    """
    from cyclechart.catalog.known_names import known_name
    from cyclechart.catalog.library import Library
    from cyclechart.draft.first_band import best_tonic, placed
    from cyclechart.draft.first_piece import Wish, first_piece

    folder = file.parent if file is not None else Path()
    try:
        library = Library.beside(folder)
    except OSError as error:
        raise cannot(error, folder) from error
    print_findings(library.findings, {source.file: source for source in library.sources})
    ask = _Questions(library)
    called = ask("Title", "--title", title, _title, TITLE)
    path = _free_place(file if file is not None else Path(f"{_file_name(called)}.yaml"))
    in_mode = ask("Mode (raga)", "--mode", mode, lambda text: _mode(library, text), None)
    in_cycle = ask("Cycle (tala)", "--cycle", cycle, lambda text: _cycle(library, text), CYCLE)
    usual = SOUTHERN if in_cycle[1].southern else NORTHERN
    said = ", ".join(players) if players else None
    band = ask("Who plays", "--player", said, lambda text: _band(library, text), usual)
    sa = ask("Sa on", "--tonic", tonic, _tonic, str(best_tonic(band)))
    speed = ask("Beats a minute", "--tempo", tempo, _tempo, TEMPO)
    on_sa = placed(band, sa)
    if on_sa is None:
        raise click.UsageError(
            "the players of melodies share too small a range on this Sa; name another --tonic or "
            "fewer of them"
        )
    wish = Wish(
        title=called,
        mode_name=known_name(library.modes, in_mode[0]),
        mode=in_mode[1],
        cycle_name=known_name(library.cycles, in_cycle[0]),
        cycle=in_cycle[1],
        tonic=sa,
        tempo=speed,
        placed=on_sa,
        seed=seed,
    )
    try:
        drafted = first_piece(wish, path)
        if drafted is None or any(one.severity == "error" for one in drafted.findings):
            raise CannotRun(
                f"no line was found in {wish.mode.name} that keeps to the mode in this cycle and "
                "in these players' range; try another --cycle, --tonic or --player"
            )
        _write(path, drafted.text)
    except OSError as error:
        raise cannot(error, path) from error
    shown = f'"{path}"' if " " in str(path) else path
    click.echo(f"{path} is written. Open it in any editor; then: cyclechart check {shown}")
    click.echo(f"For MIDI, the parts and a score: cyclechart arrange {shown}")


class _Questions:
    """Asks on a terminal for what no option says; elsewhere takes defaults, or refuses."""

    def __init__(self, library: Library) -> None:
        self.library = library

    @staticmethod
    def is_terminal() -> bool:
        """Return whether somebody can be asked."""
        return sys.stdin.isatty()

    def __call__(
        self,
        question: str,
        option: str,
        said: str | None,
        read: Callable[[str], Answer],
        default: str | None,
    ) -> Answer:
        """Return what an option says, or the answer to a question."""
        if said is not None:
            try:
                return read(said)
            except click.UsageError as error:
                raise click.BadParameter(error.message, param_hint=f"'{option}'") from error
        if self.is_terminal():
            return self._asked(question, option, read, default)
        if default is None:
            raise click.UsageError(f"say {option}: without a terminal nobody can be asked")
        return read(default)

    def _asked(
        self, question: str, option: str, read: Callable[[str], Answer], default: str | None
    ) -> Answer:
        """Ask until the answer can be read; a question mark lists the names that there are."""
        known = _known(self.library, option)
        hint = f"{question} (? lists them)" if known else question
        while True:
            answer = click.prompt(
                hint,
                default=default,
                value_proc=lambda text: None if known and text.strip() == "?" else read(text),
            )
            if answer is not None:
                found: Answer = answer
                return found
            for row in textwrap.wrap(", ".join(known), 96, break_on_hyphens=False):
                click.echo(row)


def _known(library: Library, option: str) -> list[str]:
    """Return the names that answer the question of an option; none where any text may."""
    if option == "--mode":
        return [name for shelf in library.modes for name in shelf.names()]
    if option == "--cycle":
        return [name for shelf in library.cycles for name in shelf.names()]
    if option == "--player":
        from cyclechart.catalog.instruments import instrument_names

        return [*instrument_names(), *(one for bands in library.bands for one in bands.pairs)]
    return []


def _title(text: str) -> str:
    title = " ".join("".join(sign for sign in text if sign.isprintable() or sign == " ").split())
    if not title:
        raise click.UsageError("a title needs a letter")
    if len(title) > LONGEST_TITLE:
        raise click.UsageError(f"a title has at most {LONGEST_TITLE} letters, not {len(title)}")
    return title


def _file_name(title: str) -> str:
    words = "".join(sign if sign.isalnum() else " " for sign in title.lower()).split()
    return "-".join(words)[:LONGEST_FILE_NAME].rstrip("-") or "first-piece"


def _free_place(path: Path) -> Path:
    """Return the path of the new file; refuse one that is taken, or that is no YAML."""
    if path.suffix not in (".yaml", ".yml"):
        raise click.UsageError(f"a piece is a file that ends in .yaml, not {path.name}")
    if path.exists() or path.is_symlink():
        raise click.UsageError(f"{path} is there already; give another --title, or --to FILE")
    return path


def _mode(library: Library, text: str) -> tuple[str, Mode]:
    from cyclechart.catalog.search import entries, near_names
    from cyclechart.finding import Spot
    from cyclechart.text.excerpts import clip

    mode, findings = library.mode(text, Spot("", 1, 1))
    if mode is not None:
        return text, mode
    wrong = [one for one in findings if one.rule != "unknown-name"]
    if wrong:
        raise click.UsageError(f"{clip(text)}: {wrong[0].message}")
    near = near_names(entries(library)[0], text)
    hint = f"; did you mean {', '.join(near)}?" if near else "; `cyclechart modes` lists all"
    raise click.UsageError(f"there is no mode '{clip(text)}'{hint}")


def _cycle(library: Library, text: str) -> tuple[str, Cycle]:
    from cyclechart.finding import Spot

    cycle, findings = library.cycle(text, Spot("", 1, 1))
    if cycle is not None:
        return text, cycle
    first = findings[0]
    if first.rule != "unknown-name":
        raise click.UsageError("; try: ".join([first.message, *first.tries[:1]]))
    if first.message.endswith("?"):  # a time signature: names by their beats, and one written out
        named = [one for one in first.tries if one.startswith("of ")]
        raise click.UsageError(f"{first.message} {'; '.join(named)}")
    near = f"; did you mean {', '.join(first.tries)}?" if first.tries else ""
    raise click.UsageError(f"{first.message}{near or '; `cyclechart show cycles` lists all'}")


def _tonic(text: str) -> Tonic:
    from cyclechart.commands.common import letter_of

    return letter_of(text.strip())


def _tempo(text: str) -> Fraction:
    from cyclechart.theory.exact import parse_exact

    low, high = TEMPOS
    try:
        tempo = parse_exact(text)
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    if not low <= tempo <= high:
        raise click.UsageError(f"a tempo is {low} to {high} beats a minute, not {text.strip()}")
    return tempo


def _band(library: Library, text: str) -> Band:
    """Return the band of some instruments, or of one ensemble."""
    from cyclechart.catalog.instrument_words import meant_instruments
    from cyclechart.catalog.instruments import instrument, instrument_names
    from cyclechart.commands.common import did_you_mean, no_such
    from cyclechart.draft.first_band import band_of
    from cyclechart.piece.players import MOST_PLAYERS

    names = [" ".join(name.split()) for name in text.split(",") if name.strip()]
    if not names or len(names) > MOST_PLAYERS:
        raise click.UsageError(f"a band has 1 to {MOST_PLAYERS} players, not {len(names)}")
    known = [instrument(name) for name in names]
    ensembles = [one for bands in library.bands for one in bands.pairs]
    if known == [None] and (band := _ensemble(library, names[0])) is not None:
        return _with_melody(band)
    for name, on in zip(names, known, strict=True):
        if on is None:
            meant = did_you_mean(meant_instruments(name))
            known_names = [] if meant else [*instrument_names(), *ensembles]
            raise click.UsageError(no_such("instrument", name, known_names) + meant)
    return _with_melody(band_of(on for on in known if on is not None))


def _ensemble(library: Library, name: str) -> Band | None:
    from cyclechart.draft.first_band import ensemble_of
    from cyclechart.finding import Finding, Spot
    from cyclechart.piece.players import players_from

    found = library.ensemble(name, Spot("", 1, 1))
    if isinstance(found, Finding):
        return None
    players, findings = players_from(found, library)
    if any(one.severity == "error" for one in findings):
        raise click.UsageError(findings[0].message)
    return ensemble_of(name, players)


def _with_melody(band: Band) -> Band:
    if not band.melodic:
        raise click.UsageError(
            "nobody of these plays melodies; name somebody who does too, such as flute"
        )
    return band


def _write(path: Path, text: str) -> None:
    from cyclechart.write.files.atomic import put_new

    try:
        put_new(path, text.encode())
    except FileExistsError as error:
        raise click.UsageError(f"{path} is there already; give another name") from error
