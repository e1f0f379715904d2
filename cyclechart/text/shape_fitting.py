"""The shape of a file: closed keys and kinds of values, checked by pydantic, told as findings.

All scalars arrive as the texts that were written; ``Exact`` reads a number from one. A shape's
errors are reported at the key or value at fault, that part is taken out, and the rest is kept, so
that one mistake does not hide the next.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Mapping as MappingType
from fractions import Fraction
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, TypeVar, get_args, get_origin

# Looking through every installed distribution for plugins of the checker costs more than reading a
# piece; we use none.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ValidationError,
    WithJsonSchema,
)
from pydantic_core import ErrorDetails

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip, quoted
from cyclechart.text.nodes import Mapping, Node, Scalar, comment_after, find
from cyclechart.theory.exact import parse_exact


def _exact(value: object) -> Fraction:
    if isinstance(value, Fraction):
        return value
    if not isinstance(value, str):
        raise ValueError("a number stands here, not a list or a mapping")
    return parse_exact(value)


def _exact_or_auto(value: object) -> Fraction | None:
    if isinstance(value, str) and value.strip() == "auto":
        return None
    if not isinstance(value, str | Fraction):
        raise ValueError("a number or auto stands here, not a list or a mapping")
    try:
        return _exact(value)
    except ValueError as error:
        wrong, _, how = str(error).rpartition("; write ")
        if not wrong:
            raise ValueError(f"{error}; write a number or auto") from error
        raise ValueError(f"{wrong} (write {how}) and not auto") from error


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError("a text stands here, not a list or a mapping")
    if not value.strip():
        raise ValueError("the text is empty")
    if any(unicodedata.category(letter) == "Cc" and letter not in "\n\t" for letter in value):
        raise ValueError("a control character stands in the text")
    return value


Exact = Annotated[Fraction, BeforeValidator(_exact), WithJsonSchema({"type": ["number", "string"]})]
ExactOrAuto = Annotated[
    Fraction | None,
    BeforeValidator(_exact_or_auto),
    WithJsonSchema({"type": ["number", "string"]}),
]
"""A number, or ``auto``, which is None."""
Text = Annotated[
    str, BeforeValidator(_text), WithJsonSchema({"type": ["string", "number", "boolean"]})
]


class Closed(BaseModel):
    """A mapping with closed keys; ``where`` names it in findings, ``examples`` its lacking keys.

    ``bare`` is said where a text stands in its place ({key} is its name), ``bare_try`` shows that
    {text} where it belongs.
    """

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, frozen=True)
    where: ClassVar[str] = "this mapping"
    examples: ClassVar[dict[str, str]] = {}
    bare: ClassVar[str] = ""
    bare_try: ClassVar[tuple[str, str]] = ("{text}", "")
    """The try for a text, and for anything else."""


Shape = TypeVar("Shape", bound=Closed)
MAX_ROUNDS = 8


def fit(
    model: type[Shape], node: Node, stand_ins: MappingType[str, object] = MappingProxyType({})
) -> tuple[Shape | None, list[Finding]]:
    """A node as a shape; what does not fit is reported and left out.

    Keys that must be there and are not take their value from ``stand_ins`` (after the finding).
    Returns None when the node is not a mapping at all, or a key that must be there is missing and
    has no stand-in.
    """
    if not isinstance(node, Mapping):
        kind = "a text" if isinstance(node, Scalar) else "a list"
        what = f"{model.where} is a mapping of keys, not {kind}"
        return None, [reading_rules.wrong_value(node.spot, what)]
    data: Any = node.plain()
    findings: list[Finding] = []
    told: set[tuple[object, ...]] = set()
    for _ in range(MAX_ROUNDS):
        try:
            return model.model_validate(data), findings
        except ValidationError as error:
            dropped = False
            details = error.errors(include_url=False, include_input=False)
            # Every place is found before a part is taken out: a list may hold two reading_rules.
            places = [_path(data, at["loc"], at["type"] == "missing") for at in details]
            for loc, detail in zip(places, details, strict=True):
                lost = detail["type"] == "missing" and find(node, loc)[1]  # taken out, and told of
                if (loc, detail["type"]) not in told and not lost:
                    told.add((loc, detail["type"]))
                    findings.append(_finding(model, node, loc, detail))
                if detail["type"] != "missing":
                    dropped |= _emptied(model, data, loc, detail) or _drop(data, loc)
                elif len(loc) > 1:
                    dropped |= _drop(data, loc[:-1])
                elif loc and loc[0] in stand_ins:
                    data[loc[0]] = stand_ins[str(loc[0])]
                    dropped = True
            if not dropped:
                return None, findings
    return None, findings


def _path(data: Any, loc: tuple[int | str, ...], missing: bool) -> tuple[int | str, ...]:
    """The error's location without the tags of unions: only the parts that the data has."""
    path: list[int | str] = []
    at = data
    for number, part in enumerate(loc):
        last = number == len(loc) - 1
        held = (
            part in at if isinstance(at, dict) else isinstance(at, list) and part in range(len(at))
        )
        if held:
            at = at[part]
        elif not (missing and last):
            continue
        path.append(part)
    return tuple(path)


def _emptied(
    model: type[Closed], data: Any, loc: tuple[int | str, ...], detail: ErrorDetails
) -> bool:
    """An item of a list that is no mapping becomes an empty one, so that the others are kept."""
    if detail["type"] != "model_type" or not loc or not isinstance(loc[-1], int):
        return False
    shape = _shape_at(model, loc)
    if shape is model or any(field.is_required() for field in shape.model_fields.values()):
        return False
    holder = data
    for part in loc[:-1]:
        if isinstance(holder, dict) and part not in holder:  # out already, with what holds it
            return False
        holder = holder[part]
    holder[loc[-1]] = {}
    return True


def _drop(data: Any, loc: tuple[int | str, ...]) -> bool:
    """Take the part at fault out: the nearest key of a mapping at or above it.

    A list keeps its length, so that later indices stay those of the file's nodes; an item at
    fault takes the whole list out. A part of what is out already is out.
    """
    at = data
    nearest: tuple[dict[Any, Any], int] | None = None
    for depth, part in enumerate(loc):
        if isinstance(at, dict):
            if part not in at:
                return False
            nearest = at, depth
        at = at[part]
    if nearest is None:
        return False
    holder, depth = nearest
    del holder[loc[depth]]
    return True


def _finding(
    model: type[Closed], root: Node, loc: tuple[int | str, ...], detail: ErrorDetails
) -> Finding:
    kind = detail["type"]
    key = str(loc[-1]) if loc else ""
    node, _ = find(root, loc)
    if kind == "extra_forbidden":
        parent, _ = find(root, loc[:-1])
        shape = _shape_at(model, loc[:-1])
        spot = parent.key(key).spot if isinstance(parent, Mapping) else node.spot
        cut = _cut_by_comma(parent, key) if isinstance(parent, Mapping) else []
        return reading_rules.unknown_key(spot, key, keys_of(shape), shape.where, cut)
    if kind == "missing":
        shape = _shape_at(model, loc[:-1])
        return reading_rules.missing_key(
            _head(root, loc[:-1]), key, shape.where, shape.examples.get(key, "")
        )
    message = detail["msg"].removeprefix("Value error, ")
    item = loc[-1] if loc and isinstance(loc[-1], int) else None
    what = f"'{key}'" if item is None else f"item {item + 1} of this list"
    if kind in ("list_type", "tuple_type"):
        message = f"{what} is a list: [ ] with commas, or a line with - for each"
    elif kind == "model_type" and _shape_at(model, loc).bare:
        return _bare(_shape_at(model, loc), key, node)
    elif kind in ("dict_type", "model_type", "model_attributes_type"):
        message = f"{what} is a mapping of keys"
    elif isinstance(node, Scalar) and not node.text and comment_after(node):
        message = f"YAML takes '{clip(comment_after(node))}' as a comment"
        message = f"{what if item is not None else key}: {message}"
    elif item is None and loc:
        message = f"{key}: {message}"
    # An item of a list has no key that a block could stand under.
    tries = _as_block(key, node, message) if item is None else []
    return reading_rules.wrong_value(node.spot, message, tries)


def _bare(shape: type[Closed], key: str, node: Node) -> Finding:
    """A text, a list or nothing where a mapping belongs that can say how it is written."""
    message = shape.bare.format(key=clip(key))
    text = node.text.strip() if isinstance(node, Scalar) else ""
    if text and "\n" not in text:
        tries = [shape.bare_try[0].format(text=clip(text, 300))]
    else:
        tries = [shape.bare_try[1]]
    return reading_rules.wrong_value(node.spot, message, tries)


def _cut_by_comma(parent: Mapping, key: str) -> list[str]:
    """``{sargam: N, R G}``: what YAML cut into a value and a key is one text in quotes."""
    source = parent.source
    if source.text[parent.start : parent.start + 1] != "{":
        return []
    before: tuple[Scalar, Node] | None = None
    for name, (written, value) in parent.pairs.items():
        bare = isinstance(value, Scalar) and not value.text and value.style is None
        if name != key:
            before = before if bare and before else (written, value)
            continue
        if not bare or before is None or not isinstance(before[1], Scalar):
            return []
        if source.text[written.end : written.end + 1] == ":" or before[1].style:
            return []
        whole = source.text[before[1].start : written.end]
        if "\n" in whole:
            return []
        return [f"quote the text: {before[0].text}: {quoted(whole)}"]
    return []


def _as_block(key: str, node: Node, message: str) -> list[str]:
    """A text that YAML took for a list, a mapping or a comment, written so that it stays text."""
    if isinstance(node, Scalar):
        comment = comment_after(node)
        return [f"{key}: |\n  {comment}"] if comment and not node.text else []
    if "text stands here" not in message:
        return []
    written = node.source.text[node.start : node.end].split("\n")[0]
    return [f"{key}: |\n  {written}"] if written[:1] in "[{" else []


def _head(root: Node, loc: tuple[int | str, ...]) -> Any:
    """Where a mapping is named: its key, or its own beginning."""
    if loc and isinstance(loc[-1], str):
        parent, _ = find(root, loc[:-1])
        if isinstance(parent, Mapping):
            return parent.key(loc[-1]).spot
    return find(root, loc)[0].spot


def keys_of(shape: type[Closed]) -> list[str]:
    """The keys of a shape as they are written."""
    return [field.alias or name for name, field in shape.model_fields.items()]


def _shape_at(model: type[Closed], loc: tuple[int | str, ...]) -> type[Closed]:
    """The shape that stands at a path of a bigger one."""
    at: Any = model
    for part in loc:
        at = _strip(at)
        if isinstance(at, type) and issubclass(at, Closed):
            fields = {
                field.alias or name: field.annotation for name, field in at.model_fields.items()
            }
            at = fields.get(str(part), at)
        elif get_origin(at) is dict:
            at = get_args(at)[1]
        elif get_origin(at) in (list, tuple):
            at = get_args(at)[0]
    at = _strip(at)
    return at if isinstance(at, type) and issubclass(at, Closed) else model


def _strip(annotation: Any) -> Any:
    """An annotation without metadata; of a union, the shape or container in it."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    members = get_args(annotation)
    if members and get_origin(annotation) not in (dict, list, tuple):
        stripped = [_strip(member) for member in members]
        for member in stripped:
            if get_origin(member) in (dict, list, tuple):
                return member
            if isinstance(member, type) and issubclass(member, Closed):
                return member
    return annotation
