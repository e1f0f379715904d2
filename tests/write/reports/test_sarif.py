"""The SARIF log: what the standard requires of it (SARIF 2.1.0, OASIS, sections 3.13 to 3.57, from
memory: no copy of its schema is installed)."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
from support.making import findings_of, load_text, with_heading

from cyclechart.rules.judge import help_texts
from cyclechart.write.reports.sarif import as_sarif


def _object(*required: str, closed: bool = False, **properties: Any) -> dict[str, Any]:
    """The schema of an object that must have some keys."""
    return {
        "type": "object",
        "required": list(required),
        "properties": properties,
        "additionalProperties": not closed,
    }


def _list(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "minItems": 1, "items": items}


# What a reader of logs relies on, as the standard has it.
_LEVEL = {"enum": ["none", "note", "warning", "error"]}
_TEXT = _object("text", text={"type": "string"})
_ENDS = ("startLine", "startColumn", "endLine", "endColumn")
_REGION = _object(*_ENDS, closed=True, **{key: {"type": "integer", "minimum": 1} for key in _ENDS})
_ARTIFACT = _object("uri", uri={"type": "string", "pattern": r"^[^ #]*$"})
_REPLACEMENT = _object("deletedRegion", closed=True, deletedRegion=_REGION, insertedContent=_TEXT)
_CHANGE = _object(
    "artifactLocation",
    "replacements",
    artifactLocation=_ARTIFACT,
    replacements=_list(_REPLACEMENT),
)
_PLACE = _object("artifactLocation", "region", artifactLocation=_ARTIFACT, region=_REGION)
_RESULT = _object(
    "ruleId",
    "message",
    "locations",
    level=_LEVEL,
    message=_TEXT,
    locations=_list(_object("physicalLocation", physicalLocation=_PLACE)),
    fixes=_list(_object("artifactChanges", description=_TEXT, artifactChanges=_list(_CHANGE))),
    suppressions=_list(_object("kind", kind={"enum": ["inSource", "external"]})),
)
_RULE = _object(
    "id", shortDescription=_TEXT, help=_TEXT, defaultConfiguration=_object(level=_LEVEL)
)
_RUN = _object(
    "tool",
    "results",
    tool=_object("driver", driver=_object("name", "rules", rules=_list(_RULE))),
    columnKind={"enum": ["utf16CodeUnits", "unicodeCodePoints"]},
    results=_list(_RESULT),
)
_SCHEMA = _object("version", "runs", version={"const": "2.1.0"}, runs=_list(_RUN))

_PIECE = with_heading(
    "title: Two ♭ and 𝄞\nlines:\n  head: {sargam: S R | G m P | d N | S' n d}\n"
    "  meant: {sargam: S R | G m P | d N | S' n d}\n  late: {sargam: S R G}\n"
    "liberties:\n  - {rule: foreign-tone, line: meant, why: the joke of the tune}\n"
)


def _log() -> dict[str, Any]:
    found = findings_of(_PIECE)
    log: dict[str, Any] = json.loads(as_sarif(found, load_text(_PIECE).sources, help_texts()))
    return log


def test_a_log_has_what_the_standard_requires() -> None:
    jsonschema.validate(_log(), _SCHEMA)


def test_every_result_names_a_rule_that_is_listed_at_its_index() -> None:
    (run,) = _log()["runs"]
    rules = run["tool"]["driver"]["rules"]
    assert run["results"]
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        assert rules[result["ruleIndex"]]["help"]["text"]


def test_levels_and_suppressions_say_what_the_finding_says() -> None:
    (run,) = _log()["runs"]
    results = {(one["ruleId"], "suppressions" in one): one for one in run["results"]}
    assert results["foreign-tone", False]["level"] == "error"
    (suppression,) = results["foreign-tone", True]["suppressions"]
    assert suppression == {"kind": "inSource", "justification": "the joke of the tune"}
    level = {
        rule["id"]: rule["defaultConfiguration"]["level"] for rule in run["tool"]["driver"]["rules"]
    }
    assert level["weak-rest"] == "note"
    assert level["late-landing"] == "warning"
    assert level["foreign-tone"] == "error"


def test_a_fix_replaces_the_characters_at_fault_counted_in_code_points() -> None:
    text = with_heading("lines:\n  '𝄞𝄞': {sargam: S R | G m P | d N | S' n d}\n")
    log = json.loads(as_sarif(findings_of(text), load_text(text).sources, help_texts()))
    (run,) = log["runs"]
    assert run["columnKind"] == "unicodeCodePoints"
    (fix,) = next(one for one in run["results"] if one["ruleId"] == "foreign-tone")["fixes"]
    (change,) = fix["artifactChanges"]
    (replacement,) = change["replacements"]
    region = replacement["deletedRegion"]
    row = text.split("\n")[region["startLine"] - 1]
    assert row[region["startColumn"] - 1 : region["endColumn"] - 1] == "N"
    assert replacement["insertedContent"] == {"text": "n"}


def test_a_file_is_named_as_a_uri() -> None:
    from cyclechart.finding import Finding, Spot

    log = as_sarif([Finding("x", "error", Spot("my piece #1.yaml", 1, 1), "here")], {}, {})
    (result,) = json.loads(log)["runs"][0]["results"]
    place = result["locations"][0]["physicalLocation"]["artifactLocation"]
    assert place == {"uri": "my%20piece%20%231.yaml"}
