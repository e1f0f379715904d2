"""Helpers of the catalogue tests: every cycle and mode of the catalogue, by name."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from cyclechart.catalog.definitions import mode_from
from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Spot
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import Source
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE

HERE = Spot("piece.yaml", 1, 1)
LIBRARY = Library.beside(None)
CYCLE_NAMES = LIBRARY.cycles[0].names()
MODE_NAMES = LIBRARY.modes[0].names()


def cycle(name: str) -> Cycle:
    """A sound cycle of the catalogue."""
    made, findings = LIBRARY.cycle(name, HERE)
    assert made is not None
    assert findings == []
    return made


def mode(name: str) -> Mode:
    """A mode of the catalogue, which may have warnings but no errors."""
    made, findings = LIBRARY.mode(name, HERE)
    assert made is not None
    assert not [found for found in findings if found.severity == "error"]
    return made


def warnings(name: str) -> list[Finding]:
    """Return the findings about a mode of the catalogue, those that no user is told of as well."""
    definition = LIBRARY.modes[0].definitions[name]
    root, findings = read(Source.of(definition.source.file, definition.text))
    assert isinstance(root, Mapping)
    return [*findings, *mode_from(root.pairs[name][1], name)[1]]


def tones(text: str) -> frozenset[int]:
    """Tone letters as semitones, octaves left out."""
    return frozenset(SEMITONE[letter] for letter in text if letter in SEMITONE)


def read_yaml(path: Path) -> Any:
    """A file as an outside reader (PyYAML) has it, by libyaml where that is there: ten times as
    fast."""
    return yaml.load(path.read_text("utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
