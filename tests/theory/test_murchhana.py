"""A set of tones from each of them as Sa, against tables of the handbooks."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.catalog.melas import NAMES, mela_tones
from cyclechart.theory.mode import Mode
from cyclechart.theory.murchhana import from_tone, moves_apart, murchhanas
from cyclechart.theory.tones import SEMITONE

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


@given(st.sets(st.integers(0, 11), min_size=1).map(lambda tones: tones | {0}))
def test_back_from_where_it_came(tones: set[int]) -> None:
    for tone, there in murchhanas(tones):
        assert 0 in there
        assert len(there) == len(tones)
        assert from_tone(there, -tone % 12) == tones


def test_a_mode_taken_from_a_tone_moves_as_the_one_that_is_written_there() -> None:
    straight = Mode(name="Straight", ascent=(0, 2, 4, 7, 9, 12), descent=(12, 9, 7, 4, 2, 0))
    from_pa = Mode(name="From Pa", ascent=(0, 2, 5, 7, 9, 12), descent=(12, 9, 7, 5, 2, 0))
    turned = Mode(name="Turned", ascent=(0, 2, 5, 2, 7, 9, 12), descent=(12, 9, 7, 5, 2, 0))
    assert moves_apart(straight, 0, straight) == 0
    assert moves_apart(straight, 7, from_pa) < moves_apart(straight, 7, turned)
    assert moves_apart(straight, 4, from_pa) > moves_apart(straight, 7, from_pa)
