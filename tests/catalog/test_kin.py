"""Whether a mode is new or a known one: invented modes, and identities that are common practice."""

from __future__ import annotations

from pathlib import Path

import pytest
from catalogue import MODE_NAMES, mode
from music21 import scale

from cyclechart.catalog.kin import kin_of, mela_of
from cyclechart.catalog.library import Library
from cyclechart.catalog.search import Entry, entries
from cyclechart.theory.mode import Mode

KNOWN, _ = entries(Library.beside(None))
BY_KEY = {entry.key: entry.mode for entry in KNOWN}


def said(made: Mode, known: list[Entry] = KNOWN) -> str:
    return " ".join(kin_of(made, known))


def test_the_paths_of_another_are_told() -> None:
    delta = Mode("Delta", BY_KEY["bhupali"].ascent, BY_KEY["bhupali"].descent)
    text = said(delta)
    assert text.startswith("The paths of Bhupali, Mohanam under another name.")
    assert "The tones of Deshkar, whose descent turns otherwise." in text


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # The same tones (common practice; handbooks as in test_modes.py).
        ("bhupali", "Deshkar"), ("marwa", "Sohni"), ("madhmad-sarang", "Megh"),
        ("bhairav", "Kalingda"), ("malkauns", "Hindolam"),
    ],
)  # fmt: skip
def test_modes_of_the_same_tones_are_named(one: str, other: str) -> None:
    assert other in said(mode(one))


def test_how_one_of_the_same_tones_moves_otherwise() -> None:
    weir = Mode("Weir", (0, 2, 4, 5, 7, 9, 11, 12), (12, 9, 7, 4, 2, 0))
    assert "The tones of Garudadhwani" not in said(weir)  # its very paths
    assert "The paths of Garudadhwani under another name." in said(weir)
    khamaj_up = Mode("Levee", (0, 4, 5, 7, 9, 11, 12), (12, 11, 9, 7, 5, 4, 2, 0))
    text = said(khamaj_up)
    assert "The tones of Bilawal, whose ascent has R as well." in text
    assert text.index("Bilawal") < text.index("Garudadhwani")  # the nearer first


def test_a_new_one_has_its_nearest_by_one_tone() -> None:
    # In no entry, and no mela without more tones.
    new = Mode("Silt", (0, 2, 6, 7, 8, 12), (12, 8, 7, 6, 2, 0))
    text = said(new)
    assert "No other mode of the catalogue has these tones." in text
    for entry in KNOWN:
        if f"{entry.mode.name} (" in text:
            held = entry.mode.up | entry.mode.down
            assert len(held ^ (new.up | new.down)) <= 2


def test_the_mela_of_the_tones_is_said() -> None:
    # Outside: music21's major scale is mela 29, as every account of the 72 says.
    major = {pitch.pitchClass for pitch in scale.MajorScale("C4").getPitches("C4", "B4")}
    assert mela_of(frozenset(major)) == 29
    assert mela_of(frozenset({0, 2, 4, 7, 9})) is None
    assert "mela 29 (Dheerasankarabharanam)" in said(BY_KEY["bilawal"])


def test_something_is_said_of_every_mode_and_never_of_itself() -> None:
    for name in MODE_NAMES:
        made = mode(name)
        text = said(made)
        assert text
        assert f"The tones of {made.name}," not in text


def test_the_bands_own_are_known_too(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "modes.yaml").write_text(
        "weir:\n  name: Weir\n  ascent: S R M P d S'\n  descent: S' d P M R S\n"
    )
    known, wrong = entries(Library.beside(tmp_path))
    assert wrong == []
    assert said(Mode("Mill", (0, 2, 6, 7, 8, 12), (12, 8, 7, 6, 2, 0)), known).startswith(
        "The paths of Weir under another name."
    )
