"""Keys of what is drawn: a digest of all that the bytes of a chart come from."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from fractions import Fraction
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from cyclechart.arrange.sheet.model import Sheet
from cyclechart.finding import Spot
from cyclechart.write.files.paper_sizes import Paper

_MAKERS = ("verovio", "typst", "fonttools", "uharfbuzz", "manimgx-fonts")
"""The packages that a chart's bytes come from, besides our own."""


def key_of(sheet: Sheet, paper: Paper) -> str:
    """The name of a chart's bytes: of what stands in it, its paper and what draws it."""
    told: list[str] = [makers()]
    _tell((paper, sheet), told)
    return hashlib.sha256("\x1f".join(told).encode("utf-8", "surrogatepass")).hexdigest()


def _tell(value: object, told: list[str]) -> None:
    """All of a value but the places in files: moving a line down changes no chart."""
    if value is None or isinstance(value, str | int | float):
        told.append(repr(value))
    elif isinstance(value, Fraction):
        told.append(f"{value.numerator}/{value.denominator}")
    elif isinstance(value, Spot):
        return
    elif isinstance(value, tuple | list):
        told.append("[")
        for item in value:
            _tell(item, told)
        told.append("]")
    elif isinstance(value, Mapping):
        _tell(tuple(value.items()), told)
    elif isinstance(value, frozenset | set):
        _tell(sorted(map(repr, value)), told)
    elif is_dataclass(value) and not isinstance(value, type):
        told.append(type(value).__name__)
        for name in _names(type(value)):
            _tell(getattr(value, name), told)
        told.append(";")
    else:
        raise TypeError(f"a chart holds a {type(value).__name__}, which has no name for its key")


@cache
def _names(of: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(of))


@lru_cache(maxsize=1)
def makers() -> str:
    """What draws charts: our own files, and the versions of the packages that they call."""
    own = hashlib.sha256()
    package = Path(__file__).parent.parent
    for path in sorted([*package.rglob("*.py"), *package.rglob("*.typ")]):
        own.update(path.read_bytes())
    return " ".join([own.hexdigest(), *map(_version, _MAKERS)])


def _version(name: str) -> str:
    try:
        return f"{name} {version(name)}"
    except PackageNotFoundError:
        return f"no {name}"
