"""The command ``cadence``: its options. What it answers with is loaded when it runs."""

from __future__ import annotations

import re
import sys
from fractions import Fraction
from typing import Any

import click

from cyclechart.commands.common import FORMATS
from cyclechart.theory.exact import parse_exact, show_exact

LONGEST = 1000
"""Beats. Anything longer is a slip."""

_NUMBER = re.compile(r"(?=.*\d)[\d\s./,−¼½¾⅓⅔⅛-]+")
"""A number, or a slip in one; never music, which has letters."""

ABOVE_NOTHING = ("phrase", "room", "grows", "shrinks")


def _beats(_context: object, option: click.Parameter, value: str | None) -> Fraction | None:
    """An exact number of beats; from 1 where it is a beat of the cycle."""
    if value is None:
        return None
    try:
        beats = parse_exact(value)
    except ValueError as error:
        raise click.BadParameter(str(error)) from error
    if option.name in ABOVE_NOTHING and beats == 0:
        raise click.BadParameter("0 beats is nothing; give more")
    least = 1 if option.name == "begins" else 0
    if not least <= beats <= LONGEST:
        raise click.BadParameter(f"{show_exact(beats)} is not from {least} to {LONGEST}")
    return beats


def _beats_or_text(
    context: object, option: click.Parameter, value: str | None
) -> Fraction | str | None:
    if value is None or not _NUMBER.fullmatch(value):
        return value
    return _beats(context, option, value)


@click.command()
@click.argument("cycle")
@click.option(
    "--phrase",
    metavar="BEATS|TEXT",
    callback=_beats_or_text,
    help='What is said: its beats (5), or its text in sargam or strokes ("P m GR G").',
)
@click.option(
    "--room",
    metavar="BEATS",
    callback=_beats,
    help="In place of a phrase: the beats left before sam, to be filled.",
)
@click.option(
    "--body",
    metavar="BEATS|TEXT",
    callback=_beats_or_text,
    help="Said before the statements of each round: its beats (12), or its text. Without --phrase "
    "and --room: what can follow it.",
)
@click.option(
    "--times", type=click.IntRange(1, 27), default=3, show_default=True, help="Statements."
)
@click.option(
    "--gap", metavar="BEATS", callback=_beats, help="Added after each statement: 2, 2 1/2 or 5/2."
)
@click.option(
    "--begins", metavar="BEAT", callback=_beats, help="The beat of the cycle that it begins on."
)
@click.option(
    "--grows",
    metavar="BEATS",
    callback=_beats,
    help="Each statement is so many beats longer: 4 5 6 (srotovaha).",
)
@click.option(
    "--shrinks",
    metavar="BEATS",
    callback=_beats,
    help="Each statement is so many beats shorter: 6 5 4 (gopuccha).",
)
@click.option(
    "--rounds",
    type=click.IntRange(1, 9),
    default=1,
    show_default=True,
    help="Body and statements are said so many times; 3 for a chakradar.",
)
@click.option("--round-gap", metavar="BEATS", callback=_beats, help="Added after each round.")
@click.option(
    "--early",
    metavar="BEATS",
    callback=_beats,
    default="0",
    help="Anagat: the last stroke is so much before sam.",
)
@click.option(
    "--within",
    type=click.IntRange(1, 256),
    help="Cycles at most.  [default: 4 for each round]",
)
@click.option(
    "--most",
    type=click.IntRange(1, 10_000),
    help="Answers to print.  [default: 20 of a table, all of JSON]",
)
@click.option("--format", "form", type=FORMATS, default="text", help="How to print the answers.")
def cadence(**options: Any) -> None:
    """Find cadences (tihai, nauhakka, chakradar) that land on the first beat of CYCLE.

    All answers, the plainest first: whole-beat gaps before half-beat ones, before those in the
    pulses of the cycle's gati, before third- and quarter-beat ones; small gaps; beginning on sam,
    then on a stressed beat, then on another; few cycles. With --room: long phrases before short
    ones of the same gap. With --body alone: farmaishi and kamali first, beginning on sam unless
    --begins says otherwise. Phrases to be found are whole beats long.

    A statement that grows or shrinks does so in front: its last stroke stays as far from its end. A
    phrase given by its beats strikes the last of them; as a kamali it closes with one stroke a
    round, a beat each.

    Exit status: 0 there are answers, 1 there is none (or a text cannot be read), 2 the question
    cannot be asked.
    """
    from cyclechart.commands.cadence_answers import Asked, ask

    sys.exit(ask(Asked(**options)))
