"""What an editor offers to do about findings: the edits of what is suggested, and liberties."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.editor.analysis import Analysis
from cyclechart.editor.liberty_edit import liberty_edit
from cyclechart.finding import Edit, Finding
from cyclechart.text.excerpts import clip

WIDEST_TITLE = 90


class Action(NamedTuple):
    """Edits under a title, for a finding; ``plain`` where it is the first thing to try."""

    title: str
    edits: tuple[Edit, ...]
    finding: Finding
    plain: bool = False


def actions(analysis: Analysis, start: int, end: int) -> Iterator[Action]:
    """Yield what can be done about the findings at a stretch of the text (offsets)."""
    here = [finding for finding in analysis.findings if _meets(analysis, finding, start, end)]
    for finding in here:
        if finding.liberty is not None:
            continue
        plain = True
        for suggestion in finding.suggestions:
            if suggestion.edits and all(one.spot.file == analysis.file for one in suggestion.edits):
                title = clip(suggestion.text.split("\n")[0], WIDEST_TITLE)
                yield Action(title, suggestion.edits, finding, plain)
                plain = False
    known: set[str] = set()
    for finding in here:
        edit = liberty_edit(analysis.source, analysis.root, finding) if analysis.root else None
        if edit is not None and edit.text not in known:
            known.add(edit.text)
            of = f" of {finding.tone}" if finding.tone else ""
            yield Action(f"take it as a liberty: {finding.rule}{of}", (edit,), finding)


def _meets(analysis: Analysis, finding: Finding, start: int, end: int) -> bool:
    """Return whether a finding of this text stands at a stretch of it."""
    spot = finding.spot
    if spot.file != analysis.file or spot.line > len(analysis.source.starts):
        return False
    first = analysis.source.starts[spot.line - 1] + spot.column - 1
    return first <= end and start <= first + spot.width
