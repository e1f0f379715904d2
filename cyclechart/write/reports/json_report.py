"""Findings as one JSON object."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from cyclechart.finding import Edit, Finding
from cyclechart.text.source import Source
from cyclechart.theory.exact import show_exact
from cyclechart.write.reports.regions import region_of


def as_json(
    findings: Iterable[Finding],
    pieces: int,
    derived: Sequence[Mapping[str, object]] = (),
    sources: Mapping[str, Source] = {},
) -> str:
    """Return the report as one JSON object (its keys are fixed: other programs read them).

    ``derived``: what lines that come from others became, where there are any.
    """
    report: dict[str, object] = {
        "pieces": pieces,
        "findings": [_plain(finding, sources) for finding in findings],
    }
    if derived:
        report["derived"] = list(derived)
    return json.dumps(report, ensure_ascii=False, indent=2)


def _plain(finding: Finding, sources: Mapping[str, Source]) -> dict[str, Any]:
    place = finding.place
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "file": finding.spot.file,
        "line": finding.spot.line,
        "column": finding.spot.column,
        "place": None
        if place is None
        else {"in": place.within, "cycle": place.cycle, "beat": show_exact(place.beat)},
        "message": finding.message,
        "try": list(finding.tries),
        "edits": [
            [_edit(edit, sources) for edit in suggestion.edits]
            for suggestion in finding.suggestions
        ],
        "liberty": finding.liberty,
    }


def _edit(edit: Edit, sources: Mapping[str, Source]) -> dict[str, Any]:
    return {**region_of(edit.spot, sources)._asdict(), "text": edit.text}
