"""``under``: the lines that players loop beneath whatever happens while they have no other line.

On the piece or on a step; a player's lines stay until another step changes them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from cyclechart.finding import Finding, Findings
from cyclechart.piece.line import Line
from cyclechart.piece.player import Player
from cyclechart.piece.player_of_line import cannot_play
from cyclechart.piece.steps import Play, Solo, Step, Under
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping as MappingNode
from cyclechart.text.nodes import Node, Scalar, Sequence

NONE = "none"
MAX_LINES = 32
"""The most lines that one player loops in turn."""
_EXAMPLE = "under: {double-bass: riff}"


def read_under(
    node: Node, before: tuple[Under, ...] = ()
) -> tuple[tuple[Under, ...], list[Finding]]:
    """Return what is looped from here on, and what is wrong with the text of it.

    ``before``: what was looped so far; it goes on for players who are not named. Whether lines and
    players exist is not looked at here.
    """
    if isinstance(node, Scalar) and node.text.strip() == NONE:
        return (), []
    if not isinstance(node, MappingNode):
        message = "'under' needs a line for each player who loops one, or none"
        tries = [_EXAMPLE, "under: none"]
        return before, [reading_rules.wrong_value(node.spot, message, tries)]
    findings = Findings()
    looped = {one.player: one for one in before}
    for player, (key, below) in node.pairs.items():
        lines = findings.take(_lines(player, below))
        if lines == (NONE,):
            looped.pop(player, None)
        elif lines:
            looped[player] = Under(player, lines, key.spot)
    return tuple(looped.values()), findings


def _lines(player: str, node: Node) -> tuple[tuple[str, ...], list[Finding]]:
    """Return the lines of one player: a name, or a list of names."""
    items = node.items if isinstance(node, Sequence) else (node,)
    names = [item.text.strip() for item in items if isinstance(item, Scalar)]
    if len(names) != len(items) or not 1 <= len(names) <= MAX_LINES or not all(names):
        message = f"{clip(player)} needs a line to loop, or a list of 1 to {MAX_LINES} lines"
        return (), [reading_rules.wrong_value(node.spot, message, [f"{clip(player)}: riff"])]
    return tuple(names), []


def playable_under(
    every: Iterable[tuple[Under, ...]],
    lines: Mapping[str, Line | None],
    band: Mapping[str, Player],
) -> tuple[frozenset[Under], list[Finding]]:
    """Return what can be played of all that the piece and its steps loop, and the findings on the
    rest, each once."""
    findings: list[Finding] = []
    playable = set()
    for one in dict.fromkeys(below for some in every for below in some):
        faults = list(_faults(one, lines, band))
        findings += faults
        if not faults and all(lines.get(name) is not None for name in one.lines):
            playable.add(one)
    return frozenset(playable), findings


def _faults(
    one: Under, lines: Mapping[str, Line | None], band: Mapping[str, Player]
) -> Iterable[Finding]:
    """Yield what is wrong with the lines of one player."""
    if one.player not in band:
        yield reading_rules.unknown_name(one.spot, "player", one.player, band)
        return
    for name in dict.fromkeys(one.lines):
        if name not in lines:
            yield reading_rules.unknown_line(one.spot, name, lines)
        elif (line := lines[name]) is not None:
            fault = cannot_play(
                band[one.player], line, band.values(), one.spot, "under: {{}: " + name + "}"
            )
            if fault is not None:
                yield fault


def beneath(step: Step, playable: Collection[Under]) -> tuple[Under, ...]:
    """Return what is looped beneath a step: not by those who have something else to play in it,
    and nothing beneath a passage without meter."""
    if not step.keeps_time:
        return ()
    busy: set[str] = set()
    if isinstance(step, Play):
        busy |= set(step.names)
    elif isinstance(step, Solo):
        busy |= {step.player, *step.by}
    return tuple(one for one in step.state.under if one in playable and one.player not in busy)
