"""New modes and known ones: invented modes, and identities that are common practice."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from music21 import scale
from support.catalogue import MODE_NAMES, mode

from cyclechart.catalog.library import Library
from cyclechart.catalog.same_or_near import kin_of, mela_of
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.theory.mode import Mode

KNOWN, _ = entries(Library.beside(None))
BY_KEY = {entry.key: entry.mode for entry in KNOWN}


def said(made: Mode, known: list[ModeEntry] = KNOWN) -> str:
    return " ".join(kin_of(made, known))


def test_the_paths_of_another_are_told() -> None:
    delta = Mode(name="Delta", ascent=BY_KEY["bhupali"].ascent, descent=BY_KEY["bhupali"].descent)
    text = said(delta)
    assert text.startswith("The same paths as Bhupali, Mohanam, under another name.")
    assert "The same tones as Deshkar, whose descent turns in another way" in text


def test_the_paths_of_one_that_leans_elsewhere_are_no_other_name_for_it() -> None:
    # Bhupali's tones with D and P to the fore are Deshkar's weight (common practice).
    reach = replace(BY_KEY["bhupali"], name="Reach", vadi=9, samvadi=7, phrases=())
    text = said(reach)
    assert "The same paths as Bhupali, which leans on G D." in text
    assert "The same paths as Mohanam, under another name." in text  # it names no vadi


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
    weir = Mode(name="Weir", ascent=(0, 2, 4, 5, 7, 9, 11, 12), descent=(12, 9, 7, 4, 2, 0))
    assert "The same tones as Garudadhwani" not in said(weir)  # its very paths
    assert "The same paths as Garudadhwani, under another name." in said(weir)
    khamaj_up = Mode(
        name="Levee", ascent=(0, 4, 5, 7, 9, 11, 12), descent=(12, 11, 9, 7, 5, 4, 2, 0)
    )
    text = said(khamaj_up)
    assert "as Bilawal, whose ascent has R as well" in text
    assert "The same tones as Hemant, whose ascent has no P" in text  # S G m D N S', as printed
    assert text.index("Bilawal") < text.index("Garudadhwani")  # the nearer first


def test_a_new_one_has_its_nearest_by_one_tone() -> None:
    # In no entry, and no mela without more tones.
    new = Mode(name="Silt", ascent=(0, 2, 6, 7, 8, 12), descent=(12, 8, 7, 6, 2, 0))
    text = said(new)
    assert "No other mode of the catalogue has these tones." in text
    for entry in KNOWN:
        if f"{entry.mode.name} (" in text:
            held = entry.mode.up | entry.mode.down
            assert len(held ^ (new.up | new.down)) <= 2


def test_the_near_ones_say_what_makes_them_these_tones() -> None:
    text = said(
        Mode(name="Lantern", ascent=(0, 2, 4, 6, 7, 8, 10, 12), descent=(12, 10, 8, 7, 6, 4, 2, 0))
    )
    # Charukeshi with M for m: S R G M P d n, mela 62 by the rule of the 72.
    assert "No other mode of the catalogue has these tones except as a scale." in text
    assert "Charukeshi with M for m" in text
    assert "mela 62 (Rishabhapriya)" in text


def test_nothing_is_near_where_nothing_is() -> None:
    # All twelve tones: of these modes every one lacks at least two of them.
    every = Mode(name="Weirpool", ascent=tuple(range(13)), descent=tuple(range(12, -1, -1)))
    few = [entry for entry in KNOWN if len(entry.mode.up | entry.mode.down) < 11]
    assert len(few) > 200
    assert " ".join(kin_of(every, few)) == "No other mode of the catalogue has these tones."


@pytest.mark.parametrize(
    ("path", "names"),
    [
        # Names of scales as jazz handbooks have them (common practice, by their degrees).
        ((0, 2, 3, 5, 7, 9, 10, 12), ("mela 22", "Dorian")),
        ((0, 2, 3, 5, 7, 9, 11, 12), ("mela 23", "melodic minor")),
        ((0, 1, 4, 5, 7, 8, 10, 12), ("mela 14", "Phrygian dominant")),
        ((0, 2, 4, 6, 7, 9, 10, 12), ("mela 64", "Lydian dominant")),
        ((0, 2, 3, 6, 7, 9, 10, 12), ("mela 58", "Dorian #4")),
    ],
)
def test_what_the_scale_is_called_is_said(path: tuple[int, ...], names: tuple[str, ...]) -> None:
    text = said(Mode(name="Sandbar", ascent=path, descent=path[::-1]))
    assert all(name in text for name in names), text


def test_each_mode_is_named_once() -> None:
    for name in MODE_NAMES:
        sentences = said(mode(name)).split(" The tones are those of")[0]
        for entry in KNOWN:
            # Names that stand within others' (Kafi in Kafi thaat) are told apart by what follows.
            assert sentences.count(f" of {entry.mode.name},") <= 1


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
        assert f"The same tones as {made.name}," not in text


def test_the_bands_own_are_known_too(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "modes.yaml").write_text(
        "weir:\n  name: Weir\n  ascent: S R M P d S'\n  descent: S' d P M R S\n"
    )
    known, wrong = entries(Library.beside(tmp_path))
    assert wrong == []
    assert said(
        Mode(name="Mill", ascent=(0, 2, 6, 7, 8, 12), descent=(12, 8, 7, 6, 2, 0)), known
    ).startswith("The same paths as Weir, under another name.")
