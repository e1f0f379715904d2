"""The JSON Schema of a shape, for editors, in words that draft-07 editors know."""

from __future__ import annotations

import inspect
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

from cyclechart.text.shapes import (
    Anything,
    Key,
    Kind,
    ListOf,
    MappingOf,
    OneOf,
    OneValue,
    Shape,
    ShapeOf,
    reference,
)

Forms = Mapping[str, Mapping[str, object]]

DRAFT = "http://json-schema.org/draft-07/schema#"


def schema_of(
    shape: type[Shape], title: str, *others: type[Shape], forms: Forms = MappingProxyType({})
) -> dict[str, Any]:
    """Return the JSON Schema of a file.

    ``others`` are the shapes that only an ``Anything`` refers to, by ``reference``. ``forms``: the
    schemas of the keys that take anything, by their names.
    """
    below = sorted(set(_shapes_below(shape)), key=lambda one: one.__name__)
    shared = {one.__name__: _mapping(one, forms) for one in (*below, *others)}
    return {"$schema": DRAFT, "$defs": shared, **_mapping(shape, forms), "title": title}


def _shapes_below(shape: type[Shape]) -> Iterator[type[Shape]]:
    """The shapes that the keys of a shape hold, at any depth."""
    for key in shape.keys.values():
        for below in _shapes_in(key.kind):
            yield below
            if below is not shape:
                yield from _shapes_below(below)


def _shapes_in(kind: Kind[Any]) -> Iterator[type[Shape]]:
    match kind:
        case ShapeOf(shape=shape) if shape is not None:
            yield shape
        case ListOf(item=inner) | MappingOf(value=inner):
            yield from _shapes_in(inner)
        case OneOf(kinds=kinds):
            for one in kinds:
                yield from _shapes_in(one)


def _mapping(shape: type[Shape], forms: Forms) -> dict[str, Any]:
    required = [name for name, key in shape.keys.items() if key.is_required]
    return {
        "additionalProperties": False,
        "description": inspect.cleandoc(shape.__doc__ or ""),
        "properties": {name: _property(key, forms) for name, key in shape.keys.items()},
        **({"required": required} if required else {}),
        "title": shape.__name__,
        "type": "object",
    }


def _property(key: Key[Any], forms: Forms) -> dict[str, Any]:
    if isinstance(key.kind, Anything):
        schema = key.kind.schema or forms.get(key.name)
        if schema is not None:
            return dict(schema)
    found = _value(key.kind)
    if not key.is_required:
        default = key.default
        if default is None and found:
            found = {"anyOf": [found, {"type": "null"}]}
        if not isinstance(default, list | dict):
            found["default"] = default
    if not isinstance(key.kind, ShapeOf):
        found["title"] = key.name.title()
    return dict(sorted(found.items()))


def _value(kind: Kind[Any]) -> dict[str, Any]:
    match kind:
        case OneValue(json_types=types):
            return {"type": list(types)}
        case ListOf(item=item):
            return {"items": _value(item), "type": "array"}
        case MappingOf(value=value):
            return {"additionalProperties": _value(value), "type": "object"}
        case ShapeOf(shape=shape) if shape is not None:
            return reference(shape)
        case OneOf(kinds=kinds):
            return {"anyOf": [_value(one) for one in kinds]}
        case Anything(schema=schema):
            return dict(schema or {})
    raise TypeError(kind)
