"""A set of tones from each of them as Sa, against tables of the handbooks."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.catalog.library import Library, fold
from cyclechart.catalog.melas import NAMES, mela_tones, sounded
from cyclechart.catalog.murchhanas import murchhanas_of
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.finding import Spot
from cyclechart.theory.mode import Mode
from cyclechart.theory.murchhana import from_tone, moves_apart, murchhanas
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


# Grahabhedam: handbook knowledge of the south, from memory. The first row is the best known.
GRAHABHEDAM = {
    "Dheerasankarabharanam": {
        "R": "Kharaharapriya", "G": "Hanumatodi", "m": "Mechakalyani", "P": "Harikambhoji",
        "D": "Natabhairavi",
    },
    "Keeravani": {"m": "Hemavati", "P": "Vakulabharanam", "d": "Kosalam"},
    "Gourimanohari": {"R": "Natakapriya", "m": "Vachaspati", "P": "Charukesi"},
    "Shanmukhapriya": {
        "g": "Shulini", "P": "Dhenuka", "d": "Chitrambari",
    },
    "Ratnangi": {"r": "Gamanasrama"},
    "Gamanasrama": {"N": "Ratnangi"},
    "Mayamalavagowla": {"m": "Simhendramadhyamam", "r": "Rasikapriya"},
    "Kanakangi": {"r": "Kamavardhini"},
}  # fmt: skip


@pytest.mark.parametrize(
    ("mela", "tone", "other"),
    [(mela, tone, other) for mela, row in GRAHABHEDAM.items() for tone, other in row.items()],
)
def test_grahabhedam_of_the_melas(mela: str, tone: str, other: str) -> None:
    tones = mela_tones(NAMES.index(mela) + 1)
    expected = frozenset(mela_tones(NAMES.index(other) + 1))
    assert from_tone(tones, SEMITONE[tone]) == expected
    heard = {sounded(fold(name)) for name in becomes(mela)[SEMITONE[tone]]}
    assert sounded(fold(other)) in heard


@given(st.sets(st.integers(0, 11), min_size=1).map(lambda tones: tones | {0}))
def test_back_from_where_it_came(tones: set[int]) -> None:
    for tone, there in murchhanas(tones):
        assert 0 in there
        assert len(there) == len(tones)
        assert from_tone(there, -tone % 12) == tones


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
