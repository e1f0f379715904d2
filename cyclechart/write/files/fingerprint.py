"""The key of a chart: a digest of all that its bytes come from."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from fractions import Fraction
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import cyclechart
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.finding import Spot
from cyclechart.write.files.paper_sizes import Paper

_MAKERS = ("verovio", "typst", "fonttools", "uharfbuzz", "manimgx-fonts")
"""The packages that a chart's bytes come from, besides our own."""


def key_of(sheet: Sheet, paper: Paper, heading: str = "full") -> str:
    """Return the key of a chart: of its contents, its paper, the kind of its heading and the
    programs that draw it."""
    parts: list[str] = [makers()]
    _add((paper, heading, sheet), parts)
    return hashlib.sha256("\x1f".join(parts).encode("utf-8", "surrogatepass")).hexdigest()


def _add(value: object, parts: list[str]) -> None:
    """Add all of a value but places in files: moving a line down changes no chart."""
    if value is None or isinstance(value, str | int | float):
        parts.append(repr(value))
    elif isinstance(value, Fraction):
        parts.append(f"{value.numerator}/{value.denominator}")
    elif isinstance(value, Spot):
        return
    elif isinstance(value, tuple | list):
        parts.append("[")
        for item in value:
            _add(item, parts)
        parts.append("]")
    elif isinstance(value, Mapping):
        _add(tuple(value.items()), parts)
    elif isinstance(value, frozenset | set):
        _add(sorted(map(repr, value)), parts)
    elif is_dataclass(value) and not isinstance(value, type):
        parts.append(type(value).__name__)
        for name in _names(type(value)):
            _add(getattr(value, name), parts)
        parts.append(";")
    else:
        raise TypeError(f"a chart holds a {type(value).__name__}, which has no name for its key")


@cache
def _names(of: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(of))


@lru_cache(maxsize=1)
def makers() -> str:
    """Return what draws charts: a digest of our own files, and the versions of other packages."""
    own = hashlib.sha256()
    package = Path(cyclechart.__file__).parent
    for path in sorted([*package.rglob("*.py"), *package.rglob("*.typ")]):
        own.update(path.read_bytes())
    return " ".join([own.hexdigest(), *map(_version, _MAKERS)])


def _version(name: str) -> str:
    try:
        return f"{name} {version(name)}"
    except PackageNotFoundError:
        return f"no {name}"
