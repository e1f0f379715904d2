"""The command ``new``: a first piece, with comments, to change as you like."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from cyclechart.commands.common import CannotRun, cannot
from cyclechart.commands.completion import completing
from cyclechart.commands.reporting import print_findings

if TYPE_CHECKING:
    from cyclechart.catalog.library import Library
    from cyclechart.draft.first_band import Band

Answer = TypeVar("Answer")

MOST_SEED = 1_000_000
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
    from cyclechart.catalog.library import Library
    from cyclechart.draft import answers
    from cyclechart.draft.first_band import best_tonic, placed
    from cyclechart.draft.first_piece import Wish, first_piece

    folder = file.parent if file is not None else Path()
    try:
        library = Library.beside(folder)
    except OSError as error:
        raise cannot(error, folder) from error
    print_findings(library.findings, {source.file: source for source in library.sources})
    ask = _Questions(library)
    called = ask("Title", "--title", title, answers.title_in, TITLE)
    path = _free_place(file if file is not None else Path(f"{answers.file_name_of(called)}.yaml"))
    mode_name, in_mode = ask("Mode (raga)", "--mode", mode, partial(answers.mode_in, library), None)
    cycle_name, in_cycle = ask(
        "Cycle (tala)", "--cycle", cycle, partial(answers.cycle_in, library), CYCLE
    )
    usual = SOUTHERN if in_cycle.southern else NORTHERN
    said = ", ".join(players) if players else None

    def band_in(text: str) -> Band:
        return answers.band_in(library, _names(text))

    band = ask("Who plays", "--player", said, band_in, usual)
    sa = ask("Sa on", "--tonic", tonic, answers.tonic_in, str(best_tonic(band)))
    speed = ask("Beats a minute", "--tempo", tempo, answers.tempo_in, TEMPO)
    on_sa = placed(band, sa)
    if on_sa is None:
        raise click.UsageError(
            "the players of melodies share too small a range on this Sa; name another --tonic or "
            "fewer of them"
        )
    wish = Wish(
        title=called,
        mode_name=mode_name,
        mode=in_mode,
        cycle_name=cycle_name,
        cycle=in_cycle,
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
            except ValueError as error:
                raise click.BadParameter(str(error), param_hint=f"'{option}'") from error
        if self.is_terminal():
            return self._asked(question, option, read, default)
        if default is None:
            raise click.UsageError(f"say {option}: without a terminal nobody can be asked")
        return read(default)

    @staticmethod
    def _read(read: Callable[[str], Answer], text: str) -> Answer:
        """Return what an answer means; the prompt asks again where that is nothing."""
        try:
            return read(text)
        except ValueError as error:
            raise click.UsageError(str(error)) from error

    def _asked(
        self, question: str, option: str, read: Callable[[str], Answer], default: str | None
    ) -> Answer:
        """Ask until the answer can be read; a question mark lists the names that there are."""
        known = _known(self.library, option)
        hint = f"{question} (? lists them)" if known else question

        def meant(text: str) -> Answer | None:
            return None if known and text.strip() == "?" else self._read(read, text)

        while True:
            answer = click.prompt(hint, default=default, value_proc=meant)
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


def _free_place(path: Path) -> Path:
    """Return the path of the new file; refuse one that is taken, or that is no YAML."""
    if path.suffix not in (".yaml", ".yml"):
        raise click.UsageError(f"a piece is a file that ends in .yaml, not {path.name}")
    if path.exists() or path.is_symlink():
        raise click.UsageError(f"{path} is there already; give another --title, or --to FILE")
    return path


def _names(text: str) -> list[str]:
    """Return names that are separated by commas."""
    return [" ".join(name.split()) for name in text.split(",") if name.strip()]


def _write(path: Path, text: str) -> None:
    from cyclechart.write.files.atomic import put_new

    try:
        put_new(path, text.encode())
    except FileExistsError as error:
        raise click.UsageError(f"{path} is there already; give another name") from error
