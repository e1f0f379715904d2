"""The command ``why``: explains a rule, or a word of the trade."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

import click

from cyclechart.commands.completion import completing


@click.command()
@click.argument("words", nargs=-1, metavar="[RULE|WORD]", shell_complete=completing("explained"))
def why(words: tuple[str, ...]) -> None:
    """Explain a RULE with a wrong and a right example, or a WORD of the trade (tihai, sam, khali).

    Words are found in any usual spelling. Without a name all rules are listed, and all words.
    """
    from cyclechart.catalog.glossary import term
    from cyclechart.rules.judge import help_texts
    from cyclechart.write.terminal.glossary_card import term_card

    name = " ".join(words)
    if not name:
        for line in _all_there_is():
            click.echo(line)
        return
    texts = help_texts()
    rule = "-".join(name.lower().replace("_", "-").split())
    word = term(name)
    if rule not in texts and word is None:
        raise click.UsageError(_nothing(name, tuple(texts)))
    answers = [f"{rule} {texts[rule]}"] if rule in texts else []
    answers += ["\n".join(term_card(word))] if word is not None else []
    click.echo("\n\n".join(answers))


def _all_there_is() -> Iterator[str]:
    """Yield the rules by family, then the words."""
    from cyclechart.rules.judge import families, help_texts
    from cyclechart.write.terminal.glossary_card import term_list

    texts = help_texts()
    for family, names in families().items():
        yield f"{family}:"
        for name in names:
            first = " ".join(texts[name].split("\n\n")[0].split())
            yield from textwrap.wrap(
                f"{name}: {first}",
                100,
                initial_indent="  ",
                subsequent_indent=" " * 6,
                break_on_hyphens=False,
            )
    yield "words of the trade:"
    yield from term_list()


def _nothing(name: str, rules: tuple[str, ...]) -> str:
    from cyclechart.catalog.glossary import nearest_terms
    from cyclechart.text.excerpts import clip

    near = nearest_terms(name, rules)
    hint = f"; did you mean {', '.join(near)}?" if near else ""
    return f"there is no rule and no word '{clip(name)}'{hint}"
