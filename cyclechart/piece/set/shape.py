"""The shape of a set list. ``schema()`` is its JSON Schema, for editors."""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import ConfigDict, Field

from cyclechart.text.shape_fitting import Closed, Exact, Text

_NAMED = ConfigDict(validate_by_alias=True, validate_by_name=False)


class TuneShape(Closed):
    """A piece of the set with what is said of it for this gig."""

    where: ClassVar[str] = "a piece of the set"
    examples: ClassVar[dict[str, str]] = {"piece": "piece: ferry-at-first-light.yaml"}
    piece: Text
    tonic: Text | None = None
    minutes: Exact | None = None
    note: Text | None = None
    without: Any = None


class BreakShape(Closed):
    """So many minutes without music."""

    model_config = _NAMED
    where: ClassVar[str] = "a break"
    break_: Exact = Field(alias="break")
    note: Text | None = None


class SetlistShape(Closed):
    """A whole set list. Its entries are fitted to their own shapes where they are read."""

    where: ClassVar[str] = "a set list"
    examples: ClassVar[dict[str, str]] = {
        "title": "title: Regatta Night",
        "pieces": "pieces:\n  - ferry-at-first-light.yaml",
    }
    title: Text
    date: Text | None = None
    venue: Text | None = None
    players: Any = None
    length: Exact | None = None
    retune: Exact | None = None
    pieces: Any


def schema() -> dict[str, Any]:
    """The JSON Schema of a set list, in words that draft-07 editors know."""
    made = SetlistShape.model_json_schema(by_alias=True)
    shared = {
        shape.__name__: shape.model_json_schema(by_alias=True) for shape in (TuneShape, BreakShape)
    }
    names = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
    shared["TuneShape"]["properties"]["without"] = names
    below = [{"$ref": f"#/$defs/{name}"} for name in shared]
    made["properties"]["pieces"] = {
        "type": "array",
        "items": {"anyOf": [{"type": "string"}, *below]},
    }
    made["title"] = "A cyclechart set list"
    return {"$schema": "http://json-schema.org/draft-07/schema#", "$defs": shared, **made}
