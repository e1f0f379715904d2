"""The JSON Schema of a shape."""

from __future__ import annotations

import jsonschema

from cyclechart.text.shape_schema import DRAFT, schema_of
from cyclechart.text.shapes import (
    ANYTHING,
    ITSELF,
    NUMBER,
    TEXT,
    Anything,
    Key,
    ListOf,
    MappingOf,
    OneOf,
    Shape,
    ShapeOf,
    optional,
    reference,
    required,
)


class Scale(Shape):
    """A scale."""

    ascent = required(TEXT)


class Step(Shape):
    """One step.

    And what it is for.
    """

    step: Key[Step | None] = optional(ITSELF)
    beats = optional(ListOf(NUMBER), [])


class Tune(Shape):
    """A tune."""

    title = required(TEXT)
    by = optional(TEXT, "")
    count_in = optional(NUMBER)
    steps = required(MappingOf(ShapeOf(Step)))
    free = optional(ANYTHING)
    choice = optional(OneOf(TEXT, ListOf(TEXT)))
    scale = required(Anything({"anyOf": [{"type": "string"}, reference(Scale)]}))


TEXTS = ["string", "number", "boolean"]


def test_each_kind_of_key_has_its_schema() -> None:
    assert schema_of(Tune, "The tune", Scale)["properties"] == {
        "title": {"title": "Title", "type": TEXTS},
        "by": {"default": "", "title": "By", "type": TEXTS},
        "count-in": {
            "anyOf": [{"type": ["number", "string"]}, {"type": "null"}],
            "default": None,
            "title": "Count-In",
        },
        "steps": {
            "additionalProperties": {"$ref": "#/$defs/Step"},
            "title": "Steps",
            "type": "object",
        },
        "free": {"default": None, "title": "Free"},
        "choice": {
            "anyOf": [
                {"anyOf": [{"type": TEXTS}, {"items": {"type": TEXTS}, "type": "array"}]},
                {"type": "null"},
            ],
            "default": None,
            "title": "Choice",
        },
        "scale": {"anyOf": [{"type": "string"}, {"$ref": "#/$defs/Scale"}]},
    }


def test_the_shapes_below_are_shared_definitions() -> None:
    schema = schema_of(Tune, "The tune", Scale)
    assert list(schema) == [
        "$schema", "$defs", "additionalProperties", "description", "properties", "required",
        "title", "type",
    ]  # fmt: skip
    assert schema["$schema"] == DRAFT
    assert schema["title"] == "The tune"
    assert schema["required"] == ["title", "steps", "scale"]
    assert list(schema["$defs"]) == ["Step", "Scale"]
    assert schema["$defs"]["Step"] == {
        "additionalProperties": False,
        "description": "One step.\n\nAnd what it is for.",
        "properties": {
            "step": {"anyOf": [{"$ref": "#/$defs/Step"}, {"type": "null"}], "default": None},
            "beats": {"items": {"type": ["number", "string"]}, "title": "Beats", "type": "array"},
        },
        "title": "Step",
        "type": "object",
    }


def test_an_editor_takes_what_fits_and_marks_what_does_not() -> None:
    validator = jsonschema.Draft7Validator(schema_of(Tune, "The tune", Scale))
    validator.check_schema(validator.schema)
    whole = {"title": "T", "steps": {"a": {"step": {"beats": [1]}}}, "scale": {"ascent": "S R"}}
    assert validator.is_valid(whole)
    for wrong in (
        {**whole, "titel": "T"},
        {"title": "T", "steps": {}},
        {**whole, "steps": {"a": {"beats": [[]]}}},
        {**whole, "scale": {}},
    ):
        assert not validator.is_valid(wrong), wrong
