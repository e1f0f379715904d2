"""The command ``drill``: practice patterns in a mode, as a piece file."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from cyclechart.commands.completion import completing
from cyclechart.theory.exact import parse_exact


def _tempo(_context: object, _option: object, value: str) -> Fraction:
    try:
        tempo = parse_exact(value)
    except ValueError as error:
        raise click.BadParameter(str(error)) from error
    if not 4 <= tempo <= 1000:
        raise click.BadParameter(f"must be 4 to 1000 beats a minute, not {value}")
    return tempo


@click.command()
@click.argument("mode", shell_complete=completing("mode"))
@click.option(
    "--cycle",
    default="tintal",
    show_default=True,
    help="The cycle of the patterns.",
    shell_complete=completing("cycle"),
)
@click.option(
    "--tonic",
    default="C",
    show_default=True,
    help="The letter of Sa, the tonic.",
    shell_complete=completing("tonic"),
)
@click.option("--tempo", default="72", show_default=True, callback=_tempo, help="Beats a minute.")
def drill(mode: str, cycle: str, tonic: str, tempo: Fraction) -> None:
    """Write practice patterns (palta, alankar) in MODE as a piece file, to standard output.

    The patterns go up and down in single tones, twos, threes and fours, with skips and turns, one
    group to the beat; then the paths in pieces, the mode's own phrases and long tones, with a rest
    after each. Each ends on the first beat of the cycle. Patterns that go against the mode's own
    movement are left out. Save the output as a file, then `arrange` it for charts and MIDI.
    """
    from cyclechart.catalog.library import Library
    from cyclechart.commands.cadence_answers import cycle_named
    from cyclechart.commands.common import cannot, letter_of
    from cyclechart.finding import Spot
    from cyclechart.theory.drill import drills
    from cyclechart.write.terminal.drill_yaml import as_piece

    letter_of(tonic)
    try:
        found, findings = Library.beside(Path.cwd()).mode(mode, Spot("MODE", 1, 1, len(mode)))
    except OSError as error:
        raise cannot(error, Path("shared")) from error
    if found is None:
        near = [suggestion for finding in findings for suggestion in finding.tries]
        hint = f"; did you mean {', '.join(near)}?" if near else ""
        raise click.UsageError(f"{findings[0].message}{hint}")
    beats = cycle_named(cycle).beats
    fitting = drills(found, beats)
    if not fitting:
        raise click.UsageError(f"no pattern fits the paths of {found.name} in this cycle")
    title = f"Practice in {found.name}"
    click.echo(
        as_piece(fitting, title=title, tonic=tonic, mode=mode, cycle=cycle, tempo=tempo), nl=False
    )
