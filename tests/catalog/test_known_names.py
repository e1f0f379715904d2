"""The catalogue's own name of what is asked for in another spelling."""

from __future__ import annotations

import pytest
from support.catalogue import CYCLE_NAMES, HERE, LIBRARY, MODE_NAMES

from cyclechart.catalog.known_names import known_name


@pytest.mark.parametrize(
    ("asked", "name"),
    [("Bhīmpalāsī", "bhimpalasi"), ("Reethigowla", "reetigowla"), ("yaman", "yaman"),
     ("  mela   15 ", "mela 15"), ("Kanakangi", "Kanakangi"),
     ("Raag Bheempalasi", "bhimpalasi")],
)  # fmt: skip
def test_modes(asked: str, name: str) -> None:
    assert known_name(LIBRARY.modes, asked) == name


def test_cycles_and_those_in_a_gati() -> None:
    assert known_name(LIBRARY.cycles, "Jhap Taal") == "jhaptal"
    assert known_name(LIBRARY.cycles, "tisra-gati-adi") == "tisra-gati-adi"


def test_every_name_is_its_own_and_finds_the_same_again() -> None:
    assert [known_name(LIBRARY.modes, name) for name in MODE_NAMES] == MODE_NAMES
    assert [known_name(LIBRARY.cycles, name) for name in CYCLE_NAMES] == CYCLE_NAMES
    for name in MODE_NAMES[::20]:
        mode, _ = LIBRARY.mode(name, HERE)
        assert mode is not None
        for other in mode.aka:
            found, _ = LIBRARY.mode(known_name(LIBRARY.modes, other), HERE)
            assert found == mode
