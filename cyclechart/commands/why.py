"""The command ``why``: explains a rule."""

from __future__ import annotations

import click

from cyclechart.commands.common import no_such
from cyclechart.rules.judge import help_texts


@click.command()
@click.argument("rule", required=False)
def why(rule: str | None) -> None:
    """Explain RULE with a wrong and a right example; without RULE, list all rules."""
    texts = help_texts()
    if rule is None:
        for name, text in texts.items():
            click.echo(f"{name}: {text.splitlines()[0]}")
        return
    if rule not in texts:
        raise click.UsageError(no_such("rule", rule, texts))
    click.echo(f"{rule} {texts[rule]}")
