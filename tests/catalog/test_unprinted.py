"""Cycles that are known by name and whose form books do not print."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.catalogue import CYCLE_NAMES, HERE, LIBRARY

from cyclechart.catalog.definitions import cycle_from
from cyclechart.catalog.library import Library
from cyclechart.catalog.unprinted import unprinted
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import Source


@pytest.mark.parametrize(
    ("name", "beats"),
    [
        # One lesson page confirms the number and nothing else.
        ("jaya", 13),
        # Onushilon encyclopaedia: eleven claps and five waves, whose beats we have not seen.
        ("rudra-16", 16),
        # A public page after Sambamoorthy.
        ("sharabhanandana", 79),
    ],
)
def test_what_is_known_of_it(name: str, beats: int) -> None:
    made, findings = LIBRARY.cycle(name, HERE)
    assert made is None
    assert [found.rule for found in findings] == ["unknown-name"]
    assert str(beats) in findings[0].message
    assert f"beats: {beats}" in findings[0].tries[0]
    assert findings[0].spot == HERE


@pytest.mark.parametrize("name", unprinted())
def test_what_is_offered_to_start_from_is_sound(name: str) -> None:
    known_of = unprinted()[name]
    root, _ = read(Source.of("piece.yaml", known_of.own))
    assert isinstance(root, Mapping)
    definition = root.get("cycle")
    assert definition is not None
    made, findings = cycle_from(definition)
    assert findings == []
    assert made is not None
    assert made.beats == known_of.beats
    assert known_of.how.startswith(known_of.own)


@pytest.mark.parametrize("spelling", ["Jaya", "JAYA", "Jai", "rudra of 16", "misra-gati-jaya"])
def test_it_goes_by_other_spellings(spelling: str) -> None:
    _, findings = LIBRARY.cycle(spelling, HERE)
    assert "beats: 1" in findings[0].tries[0]


def test_none_of_them_is_an_entry_too() -> None:
    assert not set(unprinted()) & set(CYCLE_NAMES)


def test_the_bands_own_goes_first(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    text = "jaya: {name: Our Jaya, beats: 13, sections: [4, 4, 5]}\n"
    (tmp_path / "shared" / "cycles.yaml").write_text(text)
    library = Library.beside(tmp_path)
    made, findings = library.cycle("jaya", HERE)
    assert findings == []
    assert made is not None
    assert made.name == "Our Jaya"
    assert library.unprinted("jaya") is None
    gati, _ = library.cycle("tisra-gati-jaya", HERE)
    assert gati is not None
    assert gati.pulses == 39
