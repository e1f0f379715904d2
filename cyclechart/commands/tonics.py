"""The command ``tonics``: ranks the places for Sa, the tonic, by how well they suit the band."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from cyclechart.commands.common import FORMATS, on_sa

if TYPE_CHECKING:
    from cyclechart.piece.model import Piece
    from cyclechart.piece.player import Player
    from cyclechart.rules.piece.players import PlayerLine
    from cyclechart.theory.ranges import Lie
    from cyclechart.theory.spelling import Tonic

CAUTION = (
    "Ranges come from handbooks: voices and hands differ, and the player's own word comes first. "
    "Nobody should play or sing what hurts."
)


class Row(NamedTuple):
    """One Sa: the shares of time out of range and strained by player, and the signs to read."""

    tonic: Tonic
    beyond: dict[str, Fraction]
    strained: dict[str, Fraction]
    signs: int
    away: int


@click.command()
@click.argument("piece", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--format", "form", type=FORMATS, default="text", help="The format of the ranking.")
def tonics(piece: Path, form: str) -> None:
    """Rank the twelve places for Sa (the tonic) by how well PIECE fits its players there.

    First come those where every note is in range, then those that strain the players for the least
    time, then those that are easy to read (signs: the sharps and flats of the key signatures of all
    parts, added up), then those near to the written Sa.

    Exit status: 0 ranked, 1 the piece cannot be read completely, 2 the command itself could not
    run.
    """
    read = on_sa(piece, None)
    rows = ranked(read)
    if form == "json":
        _print_json(rows)
    else:
        click.echo("Sa   signs  players")
        for row in rows:
            here = "  (as written)" if row.tonic.semitone == read.tonic.semitone else ""
            click.echo(f"{row.tonic!s:<3}  {row.signs:>5}  {_strain(row)}{here}")
        click.echo(CAUTION)


def ranked(piece: Piece) -> list[Row]:
    """Return a row for every Sa, the most suitable first."""
    from cyclechart.theory.spelling import TONICS, readable_tonic

    tones = piece.mode.up | piece.mode.down
    as_written = {piece.tonic.semitone: piece.tonic}
    places = [as_written.get(one.semitone, readable_tonic(one, tones)) for one in TONICS]
    rows = [_row(piece, tonic) for tonic in places]
    return sorted(
        rows,
        key=lambda row: (
            bool(row.beyond),
            sum(row.beyond.values()),
            round(sum(row.strained.values()) * 50),
            row.signs,
            row.away,
            row.tonic.semitone,
        ),
    )


def _row(piece: Piece, tonic: Tonic) -> Row:
    from cyclechart.arrange.transpose import transposed
    from cyclechart.rules.piece.players import player_lines
    from cyclechart.theory.spelling import nearest_signature, readable_tonic, written_for

    there = transposed(piece, tonic)
    beyond: dict[str, Fraction] = {}
    strained: dict[str, Fraction] = {}
    signs = 0
    tones = piece.mode.up | piece.mode.down
    parts = list(player_lines(there, everybody=True))
    for player in there.players:
        if not player.role.reads_pitches:
            continue
        written = readable_tonic(written_for(tonic, player.as_read.transposes), tones)
        signs += abs(nearest_signature(written, tones))
        found = _lie(player, [part for part in parts if part.player.name == player.name])
        if found is not None and found.beyond:
            beyond[player.name] = found.beyond
        if found is not None and found.strained:
            strained[player.name] = found.strained
    away = abs((tonic.semitone - piece.tonic.semitone + 6) % 12 - 6)
    return Row(tonic, beyond, strained, signs, away)


def _lie(player: Player, parts: Sequence[PlayerLine]) -> Lie | None:
    """Return how well a player's lines lie on their instrument.

    Players that the piece does not name may take them in any octave: their instruments are only
    stand-ins."""
    from cyclechart.rules.piece.players import range_of
    from cyclechart.theory.ranges import OCTAVES, lie

    keys = [sounding for part in parts for sounding in part.sounding]
    octaves = (0,) if player.spot.file else OCTAVES
    lies = [
        found
        for octave in octaves
        if (found := lie([(key + 12 * octave, time) for key, time in keys], range_of(player)))
    ]
    return min(lies, key=lambda one: (one.beyond, one.strained), default=None)


def _strain(row: Row) -> str:
    strains = [
        f"{name} out of range {_share(part)} of the time" for name, part in row.beyond.items()
    ]
    strains += [
        f"{name} strained {_share(part)} of the time" for name, part in row.strained.items()
    ]
    return "; ".join(strains) or "comfortable for everybody"


def _share(part: Fraction) -> str:
    return f"{max(1, round(part * 100))}%"


def _print_json(rows: list[Row]) -> None:
    import json

    made = [
        {
            "tonic": str(row.tonic),
            "out-of-range": {name: round(float(part), 4) for name, part in row.beyond.items()},
            "strained": {name: round(float(part), 4) for name, part in row.strained.items()},
            "signs": row.signs,
        }
        for row in rows
    ]
    click.echo(json.dumps(made, indent=2, ensure_ascii=False))
