"""The command ``check``: prints the findings on pieces."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cyclechart.commands.common import status
from cyclechart.commands.judging import PIECES, TONIC, cadences_of, derives, judged
from cyclechart.commands.reporting import ADVICE, print_findings, print_summary
from cyclechart.finding import Finding
from cyclechart.rules.judge import in_order
from cyclechart.text.source import Source


@click.command()
@PIECES
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "sarif"]),
    default="text",
    help="The format of the findings; sarif is the standard that editors and code hosts read.",
)
@TONIC
@click.option(
    "--theory",
    is_flag=True,
    help="Also say at each change of mode or Sa which phrases lead over.",
)
@ADVICE
@click.option("--strict", is_flag=True, help="Exit with status 1 for warnings too.")
def check(
    pieces: tuple[Path, ...],
    form: str,
    tonic: str | None,
    theory: bool,
    advice: bool,
    strict: bool,
) -> None:
    """Check PIECES: print each finding with its place, what is wrong and what to try.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    findings: list[Finding] = []
    sources: dict[str, Source] = {}
    cadences = derived = ""
    became: list[dict[str, object]] = []
    for path in pieces:
        loaded, found = judged(path, tonic)
        findings += found
        if theory and loaded.piece is not None:
            from cyclechart.rules.piece.mode_changes import change_of_mode

            findings += change_of_mode.check(loaded.piece, change_of_mode)
        sources |= loaded.sources
        cadences += cadences_of(loaded)
        if derives(loaded):
            from cyclechart.write.terminal import derived_lines

            assert loaded.piece is not None
            derived += derived_lines.as_text(loaded.piece)
            became += derived_lines.as_data(loaded.piece)
    findings = in_order(findings)
    if form == "json":
        from cyclechart.write.reports.json_report import as_json

        click.echo(as_json(findings, len(pieces), became, sources))
    elif form == "sarif":
        from cyclechart.rules.judge import help_texts
        from cyclechart.write.reports.sarif import as_sarif

        click.echo(as_sarif(findings, sources, help_texts()))
    else:
        print_findings(findings, sources, advice=advice or theory, err=False)
        if cadences:
            click.echo(cadences)
        if derived:
            click.echo(derived)
        print_summary(findings, len(pieces), advice=advice or theory, err=False)
    sys.exit(status(findings, strict))
