"""The options of the command ``cadence``; its answers are in ``cadence_answers``."""

from __future__ import annotations

import re
import sys
from fractions import Fraction
from typing import Any

import click

from cyclechart.commands.common import FORMATS
from cyclechart.commands.completion import completing
from cyclechart.theory.cadence import YATIS
from cyclechart.theory.exact import parse_exact, parse_many, show_exact

LONGEST = 1000
"""The most beats; anything longer is a slip."""

MOST_STATEMENTS = 27
FASTEST, FINEST = 16, 64

_NUMBER = re.compile(r"(?=.*\d)[\d\s./,−¼½¾⅓⅔⅛-]+")
"""A number, possibly mistyped; never music, which has letters."""

ABOVE_NOTHING = ("phrase", "room", "by")


def _beats(_context: object, option: click.Parameter, value: str | None) -> Fraction | None:
    """An exact number of beats; from 1 where it is a beat of the cycle."""
    if value is None:
        return None
    try:
        beats = parse_exact(value)
    except ValueError as error:
        raise click.BadParameter(str(error)) from error
    if option.name in ABOVE_NOTHING and beats == 0:
        raise click.BadParameter("must be more than 0 beats")
    least = 1 if option.name == "begins" else 0
    if option.name == "early" and beats < 0:
        raise click.BadParameter(
            f"must be 0 or more; to land after sam give --late {show_exact(-beats)}"
        )
    if not least <= beats <= LONGEST:
        raise click.BadParameter(f"must be {least} to {LONGEST}, not {show_exact(beats)}")
    return beats


def _beats_or_text(
    context: object, option: click.Parameter, value: str | None
) -> Fraction | str | None:
    if value is None or not _NUMBER.fullmatch(value):
        return value
    return _beats(context, option, value)


def _numbers(
    _context: object, option: click.Parameter, value: str | None
) -> tuple[Fraction, ...] | None:
    """Exact numbers above 0: speeds, or lengths in beats."""
    if value is None:
        return None
    try:
        numbers = parse_many(value)
    except ValueError as error:
        raise click.BadParameter(str(error)) from error
    most = FASTEST if option.name == "speeds" else LONGEST
    if not 1 <= len(numbers) <= MOST_STATEMENTS:
        raise click.BadParameter(f"must be 1 to {MOST_STATEMENTS} numbers, not {len(numbers)}")
    for number in numbers:
        if not 0 < number <= most or number.denominator > FINEST:
            shown = show_exact(number)
            raise click.BadParameter(
                f"must be above 0, at most {most}, in {FINEST}ths at the finest, not {shown}"
            )
    return numbers


@click.command()
@click.argument("cycle", shell_complete=completing("cycle"))
@click.option(
    "--phrase",
    metavar="BEATS|TEXT",
    callback=_beats_or_text,
    help="The phrase of each statement: its length in beats (5), or its text in sargam or strokes "
    '("P m GR G").',
)
@click.option(
    "--room",
    metavar="BEATS",
    callback=_beats,
    help="Instead of a phrase: the beats left before sam (the first beat), to be filled.",
)
@click.option(
    "--body",
    metavar="BEATS|TEXT",
    callback=_beats_or_text,
    help="Music before the statements of each round: its beats (12), or its text. Without --phrase "
    "and --room, find phrases that can follow it.",
)
@click.option(
    "--times",
    type=click.IntRange(1, MOST_STATEMENTS),
    help="Number of statements.  [default: 3; 5 for a yati that turns; one for each speed]",
)
@click.option(
    "--gap", metavar="BEATS", callback=_beats, help="Beats after each statement: 2, 2 1/2 or 5/2."
)
@click.option(
    "--begins", metavar="BEAT", callback=_beats, help="The beat of the cycle to begin on."
)
@click.option(
    "--yati",
    type=click.Choice(YATIS),
    help="The shape of the statements: sama (equal), srotovaha (growing), gopuccha (shrinking), "
    "mridanga (growing, then shrinking), damaru (shrinking, then growing). The phrase is the "
    "longest; the others leave out beats at its front.",
)
@click.option(
    "--by",
    metavar="BEATS",
    callback=_beats,
    help="How much longer or shorter each statement of a yati is than the one before.  "
    "[default: 1]",
)
@click.option(
    "--speeds",
    metavar="SPEEDS",
    callback=_numbers,
    help='Say each statement at a speed of its own: "1 3/2 2" (tripalli), "1 3/2 2 3" (chaupalli).',
)
@click.option(
    "--first",
    metavar="BEATS",
    callback=_numbers,
    help='The first part of a korvai, phrase by phrase: "9 7 5 3".',
)
@click.option(
    "--first-gap", metavar="BEATS", callback=_beats, help="Beats after each phrase of --first."
)
@click.option(
    "--rounds",
    type=click.IntRange(1, 9),
    default=1,
    show_default=True,
    help="How many times body and statements are played; 3 for a chakradar.",
)
@click.option("--round-gap", metavar="BEATS", callback=_beats, help="Beats after each round.")
@click.option(
    "--early",
    metavar="BEATS",
    callback=_beats,
    default="0",
    help="Land this long before sam (anagat).",
)
@click.option(
    "--late", metavar="BEATS", callback=_beats, default="0", help="Land this long after sam (atit)."
)
@click.option(
    "--eduppu",
    metavar="BEATS",
    callback=_beats,
    default="0",
    help="Where the song comes home to, if not to sam: so many beats after it.",
)
@click.option(
    "--within",
    type=click.IntRange(1, 256),
    help="The most cycles it may take.  [default: 4 for each round]",
)
@click.option(
    "--most",
    type=click.IntRange(1, 10_000),
    help="The most answers to print.  [default: 20 in a table, all in JSON]",
)
@click.option("--format", "form", type=FORMATS, default="text", help="How to print the answers.")
def cadence(**options: Any) -> None:
    """Find cadences (tihai, nauhakka, chakradar) that land on the first beat of CYCLE.

    A tihai is a phrase played three times so that its last stroke falls on the first beat (sam); a
    nauhakka has nine statements in three groups; a chakradar is a passage with its tihai, played
    three times; a korvai is a first part, phrase by phrase, with its tihai.

    The plainest answers come first: gaps in whole beats, then in half beats, then in the pulses of
    the cycle's gati (pulses in a beat), then in thirds and quarters; small gaps first; then answers
    that begin on sam, on a stressed beat or the eduppu, on another beat; then those of fewer
    cycles. With --room, long phrases come before short ones with the same gap. With --body alone,
    farmaishi and kamali (chakradars with chosen strokes on first beats) come first. With --body or
    --first alone, answers begin on sam unless --begins says otherwise. Phrases that are searched
    for are whole beats long.

    A statement of a yati grows or shrinks at its front: its last stroke stays at the same distance
    from its end. The gap of a korvai's first part stands after each of its phrases, the last
    included. --early and --late count from the eduppu where there is one. (In the South the two
    words are used of a song's beginning, and the other way round: anagata begins after sam, atita
    before it.) A phrase given in beats has its last stroke on its last beat; as a kamali it closes
    with one stroke for each round, a beat each.

    Landing just before sam is called anagat here, just after it atit. In the South the words are
    said of where a song begins, and the other way round: anagata after sam, atita before it.

    Exit status: 0 answers found, 1 none found (or a text cannot be read), 2 the options do not fit
    together.
    """
    from cyclechart.commands.cadence_answers import Asked, ask

    sys.exit(ask(Asked(**options)))
