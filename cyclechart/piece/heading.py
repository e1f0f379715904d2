"""What stands above a piece's lines: tonic, mode, cycle, tempo, tuning."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from fractions import Fraction

from cyclechart.catalog.definitions import cycle_from, mode_from
from cyclechart.catalog.library import CATALOGUE, Library, Made
from cyclechart.finding import Finding, Spot
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar, comment_after
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

SLOWEST, FASTEST = Fraction(4), Fraction(1000)
"""Beats a minute. A MIDI file's 24 bits hold no tempo under 3.58 beats a minute."""

_TONIC = re.compile(r"([A-Ga-g])\s*([#b♯♭]?)")


def read_tonic(text: str) -> Tonic | None:
    """A letter name as Sa, or None."""
    match = _TONIC.fullmatch(text.strip())
    if match is None:
        return None
    return Tonic(match[1].upper(), {"#": 1, "♯": 1, "b": -1, "♭": -1}.get(match[2], 0))


def tonic_from(node: Node | None, findings: list[Finding]) -> Tonic:
    """Sa from a letter name: D, Eb, F#, E♭, F♯."""
    if isinstance(node, Scalar):
        tonic = read_tonic(node.text)
        if tonic is not None:
            return tonic
        if not node.text.strip():  # told of by the piece's shape
            return Tonic("C")
        what = f"'{clip(node.text)}' is no letter name for Sa"
        findings.append(
            reading_rules.wrong_value(node.spot, what, ["tonic: D", "tonic: Eb", "tonic: F#"])
        )
    return Tonic("C")


def mode_of(node: Node | None, library: Library, findings: list[Finding]) -> Mode | None:
    """The piece's mode, by name or written out."""
    return _defined(node, mode_from, library.mode, ("mode", "charukeshi"), findings)


def cycle_of(node: Node | None, library: Library, findings: list[Finding]) -> Cycle | None:
    """The piece's cycle, by name or written out."""
    return _defined(node, cycle_from, library.cycle, ("cycle", "jhaptal"), findings)


def _defined(
    node: Node | None,
    written_out: Callable[[Node], tuple[Made | None, list[Finding]]],
    by_name: Callable[[str, Spot], tuple[Made | None, list[Finding]]],
    example: tuple[str, str],
    findings: list[Finding],
) -> Made | None:
    if isinstance(node, Mapping):
        made, found = written_out(node)
    elif isinstance(node, Scalar) and node.text.strip():
        made, found = by_name(node.text.strip(), node.spot)
        # What is odd about a printed form is said by `show`: the writer of a piece can do nothing.
        found = [f for f in found if f.counts or not f.spot.file.startswith(CATALOGUE)]
    else:
        made, found = None, _no_definition(node, *example)
    findings.extend(found)
    return made


def _no_definition(node: Node | None, key: str, example: str) -> list[Finding]:
    """A list or an empty text where a name or a definition stands; None is told of already."""
    if node is None:
        return []
    if isinstance(node, Scalar):
        comment = comment_after(node)
        what = f"'{key}' is empty"
        if comment:
            what = f"{key}: YAML takes '{clip(comment)}' as a comment"
        return [reading_rules.wrong_value(node.spot, what, [f"{key}: {example}"])]
    what = f"a {key} is a name, or a mapping of its keys, not a list"
    return [reading_rules.wrong_value(node.spot, what, [f"{key}: {example}"])]


def tempo_from(
    value: Fraction,
    node: Node | None,
    findings: list[Finding],
    tries: Iterable[str] = ("tempo: 92",),
) -> Fraction:
    """Beats a minute, within what can be written and played."""
    if SLOWEST <= value <= FASTEST:
        return value
    if node is not None:
        what = f"a tempo is {SLOWEST} to {FASTEST} beats a minute, not {show_exact(value)}"
        findings.append(reading_rules.wrong_value(node.spot, what, tries))
    return Fraction(60)
