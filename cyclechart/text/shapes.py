"""Shapes: which keys a mapping of a file may have, and what stands under each of them.

A shape is a class with one line a key::

    class PlayerShape(Shape):
        '''One player of the band.'''

        where = "a player"
        plays = required(TEXT)
        octave = optional(NUMBER)
        count_in = optional(TEXT)

A dash in the file is an underscore here (``count-in``), and a key that is a word of Python ends in
one (``break_``). ``shape_fitting.fit`` reads a mapping as a shape and reports what does not fit;
``shape_schema.schema_of`` writes the JSON Schema.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping
from copy import copy
from fractions import Fraction
from typing import Any, ClassVar, Generic, Self, TypeVar, overload

from cyclechart.theory.exact import parse_exact

T = TypeVar("T")
V = TypeVar("V", covariant=True)
S = TypeVar("S", bound="Shape", covariant=True)


class Kind(Generic[V]):
    """The kind of value that a key takes."""


class OneValue(Kind[V]):
    """A value of one word or text. ``parse`` raises ValueError with a sentence for the user.

    Every value arrives as the text that was written; ``json_types`` are those that an editor's YAML
    reader may make of it.
    """

    def __init__(self, noun: str, parse: Callable[[str], V], json_types: tuple[str, ...]) -> None:
        self.noun, self.parse, self.json_types = noun, parse, json_types


class ListOf(Kind[list[T]]):
    """A list of values of one kind."""

    def __init__(self, item: Kind[T]) -> None:
        self.item = item


class MappingOf(Kind[dict[str, T]]):
    """A mapping of the user's own names to values of one kind; ``example`` shows one."""

    def __init__(self, value: Kind[T], example: str = "") -> None:
        self.value, self.example = value, example


class ShapeOf(Kind[S]):
    """A mapping that has a shape; without one, the very shape that the key belongs to."""

    def __init__(self, shape: type[S] | None = None) -> None:
        self.shape = shape


class OneOf(Kind[V]):
    """One of several kinds: the first that takes a text, a list or a mapping as it was written."""

    def __init__(self, *kinds: Kind[Any]) -> None:
        self.kinds = kinds


class Anything(Kind[Any]):
    """Any value: another reader takes it. ``schema`` is its JSON Schema, if any."""

    def __init__(self, schema: Mapping[str, object] | None = None) -> None:
        self.schema = schema


class Key(Generic[T]):
    """A key of a shape. On a shape that was read, the attribute is the value."""

    def __init__(self, kind: Kind[Any], default: object, is_required: bool, example: str) -> None:
        self.kind, self.is_required, self.example = kind, is_required, example
        self._default = default
        self.attribute = self.name = ""

    def __set_name__(self, shape: type[Shape], attribute: str) -> None:
        self.attribute, self.name = attribute, attribute.rstrip("_").replace("_", "-")
        if isinstance(self.kind, ShapeOf) and self.kind.shape is None:
            self.kind = ShapeOf(shape)

    @property
    def default(self) -> Any:
        """The value where the key is not written; a list or a dict is a new one each time."""
        default = self._default
        return copy(default) if isinstance(default, list | dict) else default

    @overload
    def __get__(self, shape: None, owner: type[Shape]) -> Self: ...
    @overload
    def __get__(self, shape: Shape, owner: type[Shape]) -> T: ...
    def __get__(self, shape: Shape | None, owner: type[Shape]) -> Self | T:
        return self if shape is None else shape.values[self.attribute]


def required(kind: Kind[T], example: str = "") -> Key[T]:
    """A key that must be written; where it is not, the example is what to try."""
    return Key(kind, None, True, example)


@overload
def optional(kind: Kind[T], *, example: str = "") -> Key[T | None]: ...
@overload
def optional(kind: Kind[T], default: T, example: str = "") -> Key[T]: ...
def optional(kind: Kind[Any], default: object = None, example: str = "") -> Key[Any]:
    """A key that may be left out, and the value that it has then."""
    return Key(kind, default, False, example)


class Shape:
    """A mapping with closed keys; ``where`` names it in findings.

    ``bare`` is the message where a text stands in its place ({key} is its name), ``bare_try`` shows
    that {text} where it belongs, and what to write in place of anything else. ``inside``: what to
    write in place of keys that belong into the value of another. ``instead``: for keys that others
    would write, a key of these or what to do.
    """

    where: ClassVar[str] = "this mapping"
    bare: ClassVar[str] = ""
    bare_try: ClassVar[tuple[str, str]] = ("{text}", "")
    inside: ClassVar[Mapping[str, str]] = {}
    instead: ClassVar[Mapping[str, str]] = {}
    keys: ClassVar[dict[str, Key[Any]]] = {}
    """The keys by their names in the file."""

    def __init_subclass__(cls) -> None:
        own = (value for value in vars(cls).values() if isinstance(value, Key))
        cls.keys = cls.keys | {key.name: key for key in own}

    def __init__(self, values: Mapping[str, Any]) -> None:
        """``values`` are by attribute, one for each key."""
        self.values = values


def reference(shape: type[Shape]) -> dict[str, object]:
    """Return what stands for a shape in the JSON Schema of a file."""
    return {"$ref": f"#/$defs/{shape.__name__}"}


def _text(written: str) -> str:
    if not written.strip():
        raise ValueError("the text is empty")
    if any(unicodedata.category(letter) == "Cc" and letter not in "\n\t" for letter in written):
        raise ValueError("the text contains a control character")
    return written


def _number_or_auto(written: str) -> Fraction | None:
    if written.strip() == "auto":
        return None
    try:
        return parse_exact(written)
    except ValueError as error:
        wrong, _, how = str(error).rpartition("; write ")
        if not wrong:
            raise ValueError(f"{error}; write a number or auto") from error
        raise ValueError(f"{wrong} (write {how}) or auto") from error


TEXT = OneValue("a text", _text, ("string", "number", "boolean"))
NUMBER = OneValue("a number", parse_exact, ("number", "string"))
"""An exact number: ``11``, ``11.5``, ``11 1/2`` or ``23/2``."""
NUMBER_OR_AUTO = OneValue("a number or auto", _number_or_auto, ("number", "string"))
"""A number, or ``auto``, which is None."""
ANYTHING = Anything()
ITSELF: ShapeOf[Any] = ShapeOf()
"""The very shape that the key belongs to: a cadence in a cadence."""
