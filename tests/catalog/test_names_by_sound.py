"""Names found by their sound, for lookups, suggestions and what is still being typed."""

from __future__ import annotations

import time

import pytest
from support.catalogue import HERE, LIBRARY

from cyclechart.catalog.instruments import instrument_spellings
from cyclechart.catalog.names_by_sound import heard, nearest_by_sound, without_kind

MODES = LIBRARY.mode_spellings()
CYCLES = LIBRARY.cycle_spellings()
INSTRUMENTS = instrument_spellings()


@pytest.mark.parametrize(
    ("written", "name"),
    # Spellings in common use (from memory), none of which the catalogue's entries list.
    [
        ("Aadi taal", "Adi"),
        ("tintall", "Tintal"),
        ("teentaaal", "Tintal"),
        ("kaharwaa", "Keherwa"),
        ("adee talam", "Adi"),
        ("Dhamaar taal", "Dhamar"),
        ("Jhap taala", "Jhaptal"),
    ],
)
def test_a_cycle_is_found_by_its_sound(written: str, name: str) -> None:
    cycle, findings = LIBRARY.cycle(written, HERE)
    assert not findings
    assert cycle is not None
    assert cycle.name == name


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Raag Yaman", "Yaman"),
        ("raga bhairav", "Bhairav"),
        ("Raag Brindabani Sarang", "Vrindavani Sarang"),
        ("Raga Hamsadhvani", "Hamsadhwani"),
    ],
)
def test_a_mode_is_found_without_the_word_of_its_kind(written: str, name: str) -> None:
    mode, findings = LIBRARY.mode(written, HERE)
    assert not findings
    assert mode is not None
    assert mode.name == name


def test_a_kind_that_is_part_of_a_name_stays_so() -> None:
    # Bhairavi and Bhairavi thaat are two entries.
    assert LIBRARY.mode("Bhairavi thaat", HERE)[0] != LIBRARY.mode("Bhairavi", HERE)[0]
    assert without_kind("Raag Desh") == "Desh"
    assert without_kind("raga") == ""
    assert heard("raga") == heard("Raaga")


@pytest.mark.parametrize(
    ("table", "typed", "name"),
    [
        (MODES, "malkaus", "malkauns"),
        (MODES, "brindabani", "vrindavani-sarang"),
        (MODES, "Chandrakounce", "chandrakauns"),
        (MODES, "bageshree", "bageshri"),
        (CYCLES, "teen", "tintal"),
        (CYCLES, "jhap", "jhaptal"),
        (CYCLES, "rupa", "rupak"),
        (INSTRUMENTS, "harmonim", "harmonium"),
        (INSTRUMENTS, "vina", "veena"),
    ],
)
def test_the_nearest_name_comes_first(table: dict[str, str], typed: str, name: str) -> None:
    assert nearest_by_sound(typed, table)[0] == name


def test_names_without_letters_have_none() -> None:
    for empty in ("", "  ", "??", "सा"):
        assert nearest_by_sound(empty, MODES) == []


def test_a_long_name_costs_little() -> None:
    start = time.process_time()
    nearest_by_sound("ma" * 100_000, MODES)
    nearest_by_sound("raag " * 100_000, MODES)
    assert time.process_time() - start < 0.5
