"""Data as text, whole and exact, for golden files: every field of a record, a line an item.

Fractions stay fractions and floats have three places. A field that has its default value is left
out, a field with a default is written with its name. What has a name of its own (a cycle, a mode,
an instrument) is written by it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from fractions import Fraction
from typing import Any, NamedTuple

from cyclechart.arrange.timeline import Stretch
from cyclechart.catalog.instruments import Instrument
from cyclechart.catalog.roles import Role
from cyclechart.finding import Spot
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Spelled, Tonic
from cyclechart.theory.tuning import Tuning

_NAMED = (Cycle, Mode, Tuning, Role, Instrument, Line)
_LEFT_OUT = ("cell", "within")
"""How a note stood in its cell is held where cells are read."""
_MOST_POINTS = 6
"""A longer curve is told by its ends and its sums."""


def lines_of(value: Any, *, whole_curves: bool = False) -> Iterator[str]:
    """The lines of a value: what is short on one, what it consists of indented below."""
    for part in _parts(value):
        for name, item in part:
            yield from _lines(name, item, whole_curves)


def text_of(value: Any, *, whole_curves: bool = False) -> str:
    """The lines of a value as one text."""
    return "\n".join(lines_of(value, whole_curves=whole_curves)) + "\n"


def flat(value: Any, whole_curves: bool = True) -> str:
    """A value on one line."""
    if isinstance(value, _NAMED):
        return value.name
    if isinstance(value, Piece):
        return value.title
    if isinstance(value, Tonic | Spelled):
        return str(value)
    if isinstance(value, Spot):
        return f"@{value.line}:{value.column}"
    if isinstance(value, Stretch):
        return f"{value.kind} {value.start}"
    if isinstance(value, float):
        return f"{value:.3f}".replace("-0.000", "0.000")
    if _is_record(value):
        return " ".join(
            flat(item, whole_curves) if not name else f"{name}={flat(item, whole_curves)}"
            for name, item in _stated(value)
        )
    if isinstance(value, Mapping):
        said = (f"{flat(key)}: {flat(item, whole_curves)}" for key, item in value.items())
        return "{" + ", ".join(said) + "}"
    if isinstance(value, frozenset | set):
        return "{" + ", ".join(sorted(map(flat, value))) + "}"
    if isinstance(value, list | tuple):
        if _is_curve(value) and len(value) > _MOST_POINTS and not whole_curves:
            at, by = (sum(column) for column in zip(*value, strict=True))
            return f"[{flat(value[0])} .. {flat(value[-1])}, {len(value)}: {at} {by:.3f}]"
        return "[" + ", ".join(flat(item, whole_curves) for item in value) + "]"
    return "''" if value == "" else str(value)


def _parts(value: Any) -> Iterator[list[tuple[str, Any]]]:
    if _is_record(value):
        yield [
            (field.name, getattr(value, field.name))
            for field in _shown(value)
            if getattr(value, field.name) != field.default
        ]
    elif isinstance(value, Mapping):
        yield [(flat(key), item) for key, item in value.items()]
    else:
        yield [(str(number), item) for number, item in enumerate(value)]


def _lines(name: str, item: Any, whole_curves: bool) -> Iterator[str]:
    if _is_long(item):
        yield f"{name}:"
        inner = item
        if isinstance(item, list | tuple) and not any(map(_is_long, item)):
            for one in item:
                yield f" {flat(one, whole_curves)}"
            return
        for line in lines_of(inner, whole_curves=whole_curves):
            yield f" {line}"
    else:
        yield f"{name}: {flat(item, whole_curves)}"


def _is_long(value: Any) -> bool:
    """True for what has parts that are more than numbers and words."""
    if isinstance(value, (*_NAMED, Piece, Stretch)):
        return False
    if _is_record(value):
        return any(_is_long(getattr(value, field.name)) for field in _shown(value))
    if isinstance(value, Mapping):
        return any(_is_record(one) or isinstance(one, list | tuple) for one in value.values())
    if isinstance(value, list) and value and all(isinstance(one, str) for one in value):
        return True
    if isinstance(value, list | tuple):
        named = (*_NAMED, Tonic, Spelled, Spot)
        return any((_is_record(one) and not isinstance(one, named)) or _is_long(one)
                   for one in value)  # fmt: skip
    return False


def _is_curve(value: list[Any] | tuple[Any, ...]) -> bool:
    return bool(value) and all(
        isinstance(one, tuple) and len(one) == 2 and isinstance(one[1], float) for one in value
    )


def _is_record(value: Any) -> bool:
    """True for a dataclass and a named tuple."""
    return is_dataclass(value) or hasattr(value, "_field_defaults")


class _NamedField(NamedTuple):
    """A field of a named tuple, in the terms of a dataclass."""

    name: str
    default: Any
    default_factory: Any = MISSING


def _shown(value: Any) -> list[Field[Any]] | list[_NamedField]:
    if not is_dataclass(value):
        defaults = value._field_defaults
        return [_NamedField(name, defaults.get(name, MISSING)) for name in value._fields]
    return [field for field in fields(value) if field.repr and field.name not in _LEFT_OUT]


def _stated(value: Any) -> Iterator[tuple[str, Any]]:
    """The fields with their names, "" for those that must be given."""
    for field in _shown(value):
        item = getattr(value, field.name)
        needed = field.default is MISSING and field.default_factory is MISSING
        if needed:
            yield "", item
        elif item != field.default:
            yield field.name, item


def total(values: list[Fraction]) -> Fraction:
    """The exact sum."""
    return sum(values, Fraction(0))
