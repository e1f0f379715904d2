"""The catalogue's modes that a mode becomes from its other tones, against handbook tables."""

from __future__ import annotations

import pytest

from cyclechart.catalog.library import Library, fold
from cyclechart.catalog.melas import sounded
from cyclechart.catalog.murchhanas import murchhanas_of
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.finding import Spot
from cyclechart.theory.mode import Mode
from cyclechart.theory.murchhana import moves_apart
from cyclechart.theory.tones import SEMITONE

LIBRARY = Library.beside(None)
KNOWN: list[ModeEntry] = entries(LIBRARY)[0]


def named(name: str) -> Mode:
    mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
    assert mode is not None
    return mode


def becomes(name: str) -> dict[int, tuple[str, ...]]:
    return {one.tone: one.modes for one in murchhanas_of(named(name), KNOWN)}


# The five murchhanas of Bhupali: handbook knowledge of the north, from memory.
@pytest.mark.parametrize(
    ("tone", "mode"), [("R", "Megh"), ("G", "Malkauns"), ("P", "Durga"), ("D", "Dhani")]
)
def test_bhupali_from_its_other_tones(tone: str, mode: str) -> None:
    assert mode in becomes("bhupali")[SEMITONE[tone]]


# Grahabhedam: handbook knowledge of the south, from memory; the modes of the major scale first.
@pytest.mark.parametrize(
    ("mela", "tone", "other"),
    [
        ("Shankarabharanam", "R", "Kharaharapriya"),
        ("Shankarabharanam", "G", "Hanumatodi"),
        ("Shankarabharanam", "m", "Mechakalyani"),
        ("Shankarabharanam", "P", "Harikambhoji"),
        ("Shankarabharanam", "D", "Natabhairavi"),
        ("Gourimanohari", "P", "Charukesi"),
        ("Shanmukhapriya", "g", "Shulini"),
        ("Mayamalavagowla", "m", "Simhendramadhyamam"),
    ],
)
def test_the_melas_name_each_other(mela: str, tone: str, other: str) -> None:
    heard = {sounded(fold(name)) for name in becomes(mela)[SEMITONE[tone]]}
    assert sounded(fold(other)) in heard


def test_the_scale_of_jazz_is_named_where_no_mode_is() -> None:
    (locrian,) = (one for one in murchhanas_of(named("bilawal-thaat"), KNOWN) if one.tone == 11)
    assert (locrian.modes, locrian.scale, locrian.is_known) == ((), "Locrian", True)


def test_a_mode_that_moves_likewise_comes_first() -> None:
    # Durga and Shuddha Saveri go straight up and down, as Bhupali does.
    bhupali = named("bhupali")
    apart = [moves_apart(bhupali, 7, named(name)) for name in ("durga", "shuddha-saveri")]
    assert moves_apart(bhupali, 0, bhupali) == 0
    assert becomes("bhupali")[7][0] == ("Durga", "Shuddha Saveri")[apart.index(min(apart))]


def test_a_band_knows_its_own_modes_too() -> None:
    own = ModeEntry("ours", Mode(name="Ours", ascent=(0, 3, 5, 8, 10, 12), descent=(12, 8, 3, 0)))
    own_names = {one.tone: one.modes for one in murchhanas_of(named("bhupali"), [own])}
    assert own_names == {2: (), 4: ("Ours",), 7: (), 9: ()}
