"""Findings as a log in SARIF 2.1.0, the OASIS standard for results of static analysis."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from itertools import groupby
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from cyclechart import __version__
from cyclechart.finding import Edit, Finding, Severity, Spot, Suggestion
from cyclechart.text.source import Source
from cyclechart.write.reports.regions import region_of
from cyclechart.write.terminal.findings import show_place

_SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
_LEVELS: dict[Severity, str] = {"error": "error", "warning": "warning", "advice": "note"}


def as_sarif(
    findings: Iterable[Finding], sources: Mapping[str, Source], helps: Mapping[str, str]
) -> str:
    """Return findings as a SARIF log with one run.

    ``helps`` are the texts of every rule. Columns count code points, and a byte-order mark is not
    one of them. A finding that a liberty covers is suppressed in the source.
    """
    rules = list(helps)
    run = {
        "tool": {
            "driver": {
                "name": "cyclechart",
                "version": __version__,
                "rules": [_rule(name, text) for name, text in helps.items()],
            }
        },
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, sources, rules) for finding in findings],
    }
    log = {"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(log, ensure_ascii=False, indent=2)


def _rule(name: str, text: str) -> dict[str, Any]:
    """Return a rule with its help; the text of ``why`` begins with its severity in brackets."""
    severity, _, words = text.removeprefix("(").partition(") ")
    first = " ".join(words.split("\n\n")[0].split())
    level = next((level for known, level in _LEVELS.items() if known == severity), "warning")
    return {
        "id": name,
        "shortDescription": {"text": first},
        "help": {"text": words},
        "defaultConfiguration": {"level": level},
    }


def _result(finding: Finding, sources: Mapping[str, Source], rules: list[str]) -> dict[str, Any]:
    result: dict[str, Any] = {"ruleId": finding.rule}
    if finding.rule in rules:
        result["ruleIndex"] = rules.index(finding.rule)
    result["level"] = _LEVELS[finding.severity]
    result["message"] = {"text": finding.message}
    location: dict[str, Any] = {
        "physicalLocation": {
            "artifactLocation": _artifact(finding.spot.file),
            "region": _region(finding.spot, sources),
        }
    }
    if finding.place is not None:
        location["logicalLocations"] = [{"fullyQualifiedName": show_place(finding.place)}]
    result["locations"] = [location]
    fixes = [_fix(one, sources) for one in finding.suggestions if one.edits]
    if fixes:
        result["fixes"] = fixes
    if finding.liberty is not None:
        result["suppressions"] = [{"kind": "inSource", "justification": finding.liberty}]
    if finding.tries:
        result["properties"] = {"try": list(finding.tries)}
    return result


def _fix(suggestion: Suggestion, sources: Mapping[str, Source]) -> dict[str, Any]:
    by_file = groupby(suggestion.edits, key=lambda edit: edit.spot.file)
    return {
        "description": {"text": suggestion.text},
        "artifactChanges": [
            {
                "artifactLocation": _artifact(file),
                "replacements": [_replacement(edit, sources) for edit in edits],
            }
            for file, edits in by_file
        ],
    }


def _replacement(edit: Edit, sources: Mapping[str, Source]) -> dict[str, Any]:
    replacement: dict[str, Any] = {"deletedRegion": _region(edit.spot, sources)}
    if edit.text:
        replacement["insertedContent"] = {"text": edit.text}
    return replacement


def _region(spot: Spot, sources: Mapping[str, Source]) -> dict[str, int]:
    line, column, end_line, end_column = region_of(spot, sources)
    return {
        "startLine": line,
        "startColumn": column,
        "endLine": end_line,
        "endColumn": end_column,
    }


def _artifact(file: str) -> dict[str, str]:
    path = PurePath(file)
    return {"uri": path.as_uri() if path.is_absolute() else quote(path.as_posix())}
