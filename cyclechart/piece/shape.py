"""The shape of a piece file. ``schema()`` is its JSON Schema, for editors."""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import ConfigDict, Field

from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.text.shape_fitting import Closed, Exact, ExactOrAuto, Text

SCRIPTS = ("sargam", "strokes", "letters", "degrees", "solfa16")
VERBS = ("play", "free", "solo", "trade", "groove")

_NAMED = ConfigDict(validate_by_alias=True, validate_by_name=False)


class CadenceShape(Closed):
    """A cadence: a statement said several times so that the last stroke meets the first beat.

    The statement is a text in one script, another line, or a cadence of its own (a chakradar).
    """

    where: ClassVar[str] = "a cadence"
    bare: ClassVar[str] = "a cadence needs its statement under a key"
    bare_try: ClassVar[tuple[str, str]] = ("sargam: {text}", "sargam: P m GR G")
    sargam: Text | None = None
    strokes: Text | None = None
    letters: Text | None = None
    degrees: Text | None = None
    solfa16: Text | None = None
    line: Text | None = None
    cadence: CadenceShape | None = None
    body: Text | None = None
    times: Exact | None = None
    gap: ExactOrAuto | None = None
    begins: ExactOrAuto | None = None
    within: Exact | None = None


class LineShape(Closed):
    """A line: its text in one script, or a cadence or chain."""

    where: ClassVar[str] = "a line"
    bare: ClassVar[str] = "line '{key}' needs its text under a key"
    bare_try: ClassVar[tuple[str, str]] = ("sargam: {text}", "sargam: S R G m")
    begins: Exact | None = None
    lands: Text | None = None
    sargam: Text | None = None
    strokes: Text | None = None
    letters: Text | None = None
    degrees: Text | None = None
    solfa16: Text | None = None
    words: Text | None = None
    cadence: CadenceShape | None = None
    chain: list[Text] | None = None


class StepShape(Closed):
    """One step of the form: one verb and what goes with it."""

    model_config = _NAMED
    where: ClassVar[str] = "a step of the form"
    bare: ClassVar[str] = "a step of the form is written - play: head"
    bare_try: ClassVar[tuple[str, str]] = ("- play: {text}", "- play: head")
    play: Any = None
    free: Text | None = None
    solo: Text | None = None
    trade: Any = None
    groove: Any = None
    by: Any = None
    cycles: Exact | None = None
    over: Text | None = None
    on_cue: Text | None = Field(default=None, alias="on-cue")
    times: Exact | None = None
    seconds: Exact | None = None
    tempo: Any = None
    cycle: Any = None
    mode: Any = None
    tonic: Any = None
    dynamics: Any = None


class LibertyShape(Closed):
    """A departure taken on purpose."""

    where: ClassVar[str] = "a liberty"
    bare: ClassVar[str] = "a liberty is written - rule: foreign-tone, with why: below it"
    bare_try: ClassVar[tuple[str, str]] = ("- rule: {text}", "- rule: foreign-tone")
    examples: ClassVar[dict[str, str]] = {
        "rule": "rule: foreign-tone",
        "why": "why: the borrowed leading tone is the joke of the tune",
    }
    rule: Text | None = None
    line: Text | None = None
    tone: Text | None = None
    why: Text | None = None


class PieceShape(Closed):
    """A whole piece. A mode or cycle written out is fitted to its own shape where it is read."""

    model_config = _NAMED
    where: ClassVar[str] = "a piece"
    examples: ClassVar[dict[str, str]] = {
        "title": "title: Ferry at First Light",
        "tonic": "tonic: D",
        "mode": "mode: charukeshi",
        "cycle": "cycle: jhaptal",
        "tempo": "tempo: 92",
        "lines": "lines:\n  head:\n    sargam: S R G m",
    }
    title: Text
    composer: Text = ""
    tonic: Text
    mode: Any
    cycle: Any
    tempo: Exact
    tuning: Any = None
    players: Any = None
    lines: dict[str, LineShape]
    form: list[StepShape] | None = None
    liberties: list[LibertyShape] | None = None
    count_in: Text | None = Field(default=None, alias="count-in")
    seed: Exact | None = None


def schema() -> dict[str, Any]:
    """The JSON Schema of a piece file, in words that draft-07 editors know."""
    made = PieceShape.model_json_schema(by_alias=True)
    shared = made["$defs"]
    for key, shape in (("mode", ModeShape), ("cycle", CycleShape)):
        shared[shape.__name__] = shape.model_json_schema()
        below = {"$ref": f"#/$defs/{shape.__name__}"}
        made["properties"][key] = {"anyOf": [{"type": "string"}, below]}
    shared["StepShape"]["properties"]["cycle"] = made["properties"]["cycle"]
    tuning = {"type": "object", "additionalProperties": {"type": ["number", "string"]}}
    made["properties"]["tuning"] = {"anyOf": [{"enum": ["just", "equal"]}, tuning]}
    made["title"] = "A cyclechart piece"
    return {"$schema": "http://json-schema.org/draft-07/schema#", **made}
