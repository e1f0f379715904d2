"""The head of a piece, above its lines: tonic, mode, cycle, tempo."""

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

FINEST_EDUPPU = 64
"""An eduppu is in such parts of a beat at the finest."""

LONGEST_DATE = 40
"""Letters of a date or a version: they stand in one line with a title."""

_TONIC = re.compile(r"([A-Ga-g])\s*([#b♯♭]?)")


def read_tonic(text: str) -> Tonic | None:
    """Return the Sa of a letter name, or None."""
    match = _TONIC.fullmatch(text.strip())
    if match is None:
        return None
    return Tonic(match[1].upper(), {"#": 1, "♯": 1, "b": -1, "♭": -1}.get(match[2], 0))


def tonic_from(node: Node | None) -> tuple[Tonic, list[Finding]]:
    """Return Sa from a letter name: D, Eb, F#, E♭, F♯."""
    # An empty text has its finding from the piece's shape.
    if not isinstance(node, Scalar) or not node.text.strip():
        return Tonic("C"), []
    tonic = read_tonic(node.text)
    if tonic is not None:
        return tonic, []
    message = f"'{clip(node.text)}' is not a letter name for Sa"
    near = _near_tonic(node.text[:LONGEST_DATE])
    tries = [f"tonic: {near}"] if near else ["tonic: D", "tonic: Eb", "tonic: F#"]
    return Tonic("C"), [reading_rules.wrong_value(node.spot, message, tries)]


def _near_tonic(text: str) -> str:
    """Return the letter that is meant by a text that says it in words or has more beside it: ``D
    minor``, ``f sharp``, ``Sa = D``; "" where there is none."""
    found = re.search(r"(?<!\w)([A-Ga-g])(?:[ -]*(sharp|flat|[#b♯♭]))?(?!\w)", text)
    if found is None:
        return ""
    sign = {"sharp": "#", "flat": "b", "♯": "#", "♭": "b"}.get(found[2], found[2] or "")
    return found[1].upper() + sign


def mode_of(node: Node | None, library: Library) -> tuple[Mode | None, list[Finding]]:
    """Return the piece's mode, given by name or written out."""
    return _defined(node, mode_from, library.mode, ("mode", "charukeshi"))


def cycle_of(node: Node | None, library: Library) -> tuple[Cycle | None, list[Finding]]:
    """Return the piece's cycle, given by name or written out."""
    return _defined(node, cycle_from, library.cycle, ("cycle", "jhaptal"))


def _defined(
    node: Node | None,
    written_out: Callable[[Node], tuple[Made | None, list[Finding]]],
    by_name: Callable[[str, Spot], tuple[Made | None, list[Finding]]],
    example: tuple[str, str],
) -> tuple[Made | None, list[Finding]]:
    """Return a mode or a cycle that is written out, or the one of a name."""
    if isinstance(node, Mapping):
        return written_out(node)
    if isinstance(node, Scalar) and node.text.strip():
        definition, findings = by_name(node.text.strip(), node.spot)
        # What is odd about a printed form is said by `show`: the writer of a piece can do nothing.
        return definition, [
            finding
            for finding in findings
            if finding.counts or not finding.spot.file.startswith(CATALOGUE)
        ]
    return None, _no_definition(node, *example)


def _no_definition(node: Node | None, key: str, example: str) -> list[Finding]:
    """Return the finding on a list or an empty text in place of a name; None has one already."""
    if node is None:
        return []
    if isinstance(node, Scalar):
        comment = comment_after(node)
        what = f"'{key}' is empty"
        if comment:
            what = f"{key}: YAML takes '{clip(comment)}' as a comment"
        return [reading_rules.wrong_value(node.spot, what, [f"{key}: {example}"])]
    what = f"a {key} must be a name, or a mapping of its keys, not a list"
    return [reading_rules.wrong_value(node.spot, what, [f"{key}: {example}"])]


def tempo_from(
    value: Fraction, node: Node | None, tries: Iterable[str] = ("tempo: 92",)
) -> tuple[Fraction, list[Finding]]:
    """Return beats a minute within what can be written and played; 60 in place of any other."""
    if SLOWEST <= value <= FASTEST:
        return value, []
    if node is None:
        return Fraction(60), []
    message = f"a tempo must be {SLOWEST} to {FASTEST} beats a minute, not {show_exact(value)}"
    return Fraction(60), [reading_rules.wrong_value(node.spot, message, tries)]


def edition_of(
    root: Mapping, version: str, date: str, most: int = LONGEST_DATE
) -> tuple[str, list[Finding]]:
    """Return the version and the date of a piece or a set as one text for the foot of its pages."""
    findings = []
    for key, text in (("version", version), ("date", date)):
        if len(text) > most:
            message = f"a {key} has at most {most} letters, not {len(text)}"
            findings.append(reading_rules.too_long(root.pairs[key][1].spot, message))
    version, date = (clip(" ".join(text.split()), most) for text in (version, date))
    if version[:1].isdigit():
        version = f"version {version}"
    return " · ".join(filter(None, [version, date])), findings


def eduppu_from(
    value: Fraction | None, node: Node | None, usual: Fraction = Fraction(0)
) -> tuple[Fraction, list[Finding]]:
    """Return by how many beats lines come home after the first beat; ``usual`` where none are said.

    Whether a cycle has so many beats is seen where it is known which one a line is played in.
    """
    if value is None or node is None:
        return usual, []
    if value >= 0 and value.denominator <= FINEST_EDUPPU:
        return value, []
    message = (
        f"an eduppu is the beats from the first beat to where lines come home, 0 or more, in "
        f"{FINEST_EDUPPU}ths at the finest, not {show_exact(value)}"
    )
    return usual, [reading_rules.wrong_value(node.spot, message, ["eduppu: 1 1/2"])]
