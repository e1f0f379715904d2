"""Helpers of the tests of line texts: a text as a passage, as a tree, as timed strikes."""

from __future__ import annotations

from cyclechart.finding import Finding
from cyclechart.text.line_tree import Item
from cyclechart.text.nodes import Mapping, Node, Scalar, read
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT, Script, strokes_script
from cyclechart.text.source import PlacedText, Source, decode
from cyclechart.text.timing import Timed, time_line

FILE = "piece.yaml"

SYLLABLES = ("ti", "ta", "tit", "a", "dha", "ge", "na")
"""A made-up drum language in which ``tita`` is ti ta or tit a."""


def cut(run: str) -> list[tuple[str, ...]]:
    """Every way of cutting a run into the made-up syllables, by plain recursion."""
    if not run:
        return [()]
    return [
        (syllable, *rest)
        for syllable in SYLLABLES
        if run.startswith(syllable)
        for rest in cut(run[len(syllable) :])
    ]


STROKES = strokes_script(cut, SYLLABLES)


def passage(text: str) -> PlacedText:
    """A text that is a file of its own."""
    return PlacedText(Source.of(FILE, text), text, 0)


def read_text(text: str, script: Script = SARGAM_SCRIPT) -> tuple[tuple[Item, ...], list[Finding]]:
    """The tree of a line's text, and what is wrong in it."""
    return read_line(passage(text), script)


def timed_text(text: str, script: Script = SARGAM_SCRIPT) -> tuple[Timed, list[Finding]]:
    """A line's strikes; the text itself must be sound, timing may find fault."""
    items, wrong = read_text(text, script)
    assert wrong == []
    return time_line(items, passage(text))


def compose_text(text: str | bytes) -> tuple[Node | None, list[Finding]]:
    """A whole file as nodes."""
    data = text.encode() if isinstance(text, str) else text
    source, findings = decode(FILE, data)
    if source is None:
        return None, findings
    root, more = read(source)
    return root, findings + more


def mapping(text: str) -> Mapping:
    """A whole file that is a sound mapping."""
    root, findings = compose_text(text)
    assert findings == []
    assert isinstance(root, Mapping)
    return root


def scalar(node: Node | None) -> Scalar:
    """A node that must be a text."""
    assert isinstance(node, Scalar)
    return node


def finding_places(findings: list[Finding]) -> list[tuple[str, int, int]]:
    """(rule, line, column) of each finding."""
    return [(found.rule, found.spot.line, found.spot.column) for found in findings]
