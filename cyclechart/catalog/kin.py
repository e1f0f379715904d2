"""The modes of the catalogue that a mode, or a line in it, may be taken for."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from cyclechart.catalog.definitions import mode_from
from cyclechart.catalog.library import built_in_modes
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import Source
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM

NEAR = 2
"""The most tones by which a mode may differ from another that a line is compared with."""
_PATH = re.compile(r"^ +(?:- )?(?:ascent|descent):(.*)", re.MULTILINE)
_VADI = re.compile(r"^  vadi: *\"?(\w)", re.MULTILINE)
_LEANS = re.compile(r"^  (?:vadi|rests|phrases):", re.MULTILINE)


def kin(
    tones: frozenset[int], used: frozenset[int] = frozenset(), held: frozenset[int] = frozenset()
) -> tuple[tuple[str, Mode], ...]:
    """Return the catalogue's modes whose paths have just these tones (0 to 11), by name.

    Of a line that has only the ``used`` tones, and all that both modes have, also those that have
    up to two tones more or fewer, if their vadi is one of the tones ``held`` longest. Bare scales
    are left out: a mode has to say what it leans or rests on, or its phrases.
    """
    names = _names(tones, used, held)
    return tuple((name, mode) for name in names if (mode := _mode(name)) is not None)


def _names(tones: frozenset[int], used: frozenset[int], held: frozenset[int]) -> list[str]:
    wanted, line, leaned = (frozenset(SARGAM[tone] for tone in one) for one in (tones, used, held))
    found = []
    for name, outline in _outlines().items():
        if not outline.leans or (line and not line <= outline.tones):
            continue
        # A tone that a line lacks tells nothing where it lacks others of both modes too.
        whole = bool(line) and outline.tones & wanted <= line
        nested = outline.tones < wanted or wanted < outline.tones
        few = len(outline.tones ^ wanted) <= NEAR
        near = whole and nested and few and outline.vadi in leaned
        if outline.tones == wanted or near:
            found.append(name)
    return found


class _Outline(NamedTuple):
    """What the text of a definition says, without reading it whole, which takes long."""

    tones: frozenset[str]
    vadi: str
    leans: bool


@lru_cache(maxsize=1)
def _outlines() -> dict[str, _Outline]:
    """The outline of each of the catalogue's modes, by name."""
    return {
        name: _Outline(
            frozenset(SARGAM).intersection("".join(_PATH.findall(definition.text))),
            said[1] if (said := _VADI.search(definition.text)) else "",
            bool(_LEANS.search(definition.text)),
        )
        for name, definition in built_in_modes().definitions.items()
    }


@lru_cache(maxsize=256)
def _mode(name: str) -> Mode | None:
    """Return a mode of the catalogue; nobody is told of its lines' numbers."""
    definition = built_in_modes().definitions[name]
    root, _ = read(Source.of(definition.source.file, definition.text))
    return mode_from(root.pairs[name][1], name)[0] if isinstance(root, Mapping) else None
