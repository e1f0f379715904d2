"""The band of a drafted piece: octaves and Sa that suit every player of melodies."""

from __future__ import annotations

import pytest

from cyclechart.catalog.instruments import Instrument, instrument, instrument_names
from cyclechart.catalog.roles import MELODY
from cyclechart.draft.first_band import WISHED, band_of, best_tonic, placed, player_keys
from cyclechart.theory.spelling import TONICS


def on(name: str) -> Instrument:
    found = instrument(name)
    assert found is not None
    return found


def test_each_plays_their_usual_role_and_two_of_a_kind_have_two_names() -> None:
    band = band_of([on("flute"), on("flute"), on("tabla")])
    assert [member.name for member in band.members] == ["flute", "flute-2", "tabla"]
    (_, second, _) = player_keys(band)
    assert second.value == "{plays: melody, instrument: flute}"


def test_who_can_plays_the_melody_where_nobody_does_by_habit() -> None:
    assert [member.role.name for member in band_of([on("piano"), on("double-bass")]).members] == [
        "melody",
        "pedal",
    ]
    assert band_of([on("tabla")]).melodic == []


@pytest.mark.parametrize("name", [name for name in instrument_names() if MELODY in on(name).roles])
def test_every_instrument_has_an_octave_of_comfort_on_its_best_sa(name: str) -> None:
    band = band_of([on(name)])
    found = placed(band, best_tonic(band))
    assert found is not None
    (member,) = found.band.members
    sa = best_tonic(band).midi + 12 * (member.octave or 0)
    assert member.instrument.low <= sa + found.lowest
    assert sa + found.highest <= member.instrument.high
    assert found.lowest >= WISHED[0]
    assert found.highest - found.lowest >= 12


def test_the_best_sa_leaves_no_less_room_than_any_other() -> None:
    band = band_of([on("alto"), on("trumpet"), on("bansuri")])
    rooms = [found.room for sa in TONICS if (found := placed(band, sa)) is not None]
    best = placed(band, best_tonic(band))
    assert best is not None
    assert best.room == max(rooms)


def test_players_without_a_sa_in_common_have_no_place() -> None:
    for first, second in (("soprano", "bass-voice"), ("alto", "nadaswaram"), ("piccolo", "tenor")):
        band = band_of([on(first), on(second)])
        for tonic in TONICS:
            found = placed(band, tonic)
            if found is not None:
                shared = range(found.lowest, found.highest + 1)
                assert any(pitch % 12 == 0 for pitch in shared)
