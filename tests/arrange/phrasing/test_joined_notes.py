"""Which notes are attacked anew: by instrument, slur, accent, repeat and rest (common practice)."""

from __future__ import annotations

from itertools import pairwise

import pytest
from arrange.phrasing.test_phrased_parts import sounds_of

from cyclechart.arrange.phrasing.joined_notes import BREATH_SECONDS, PLUCKED
from cyclechart.catalog.instruments import instrument, instrument_names

TEXT = "S R g m (P m) g g | !accent!m !staccato!P m z S z z z || S - - - - - - -"


def joined(player: str, text: str = TEXT) -> str:
    return "".join("-" if sound.joined else "x" for sound in sounds_of(text, player=player))


@pytest.mark.parametrize("player", ["flute", "trumpet", "alto", "violin", "sarangi"])
def test_breaths_and_bows_go_on_to_another_pitch(player: str) -> None:
    #                S R g m P m g g !m !P m S S
    assert joined(player) == "x------xxxxxx"


@pytest.mark.parametrize("player", ["sitar", "guitar", "double-bass"])
def test_plucked_strings_go_on_in_slurs_only(player: str) -> None:
    assert joined(player) == "xxxxx-xxxxxxx"


@pytest.mark.parametrize("player", ["piano", "vibraphone", "harmonium"])
def test_keys_and_mallets_strike_every_note(player: str) -> None:
    assert "-" not in joined(player)


def test_ornaments_of_one_note_are_one_stroke() -> None:
    assert joined("sitar", "{R}S - - - !mordent!P - - - || S - - - - - - -") == "x-x--x"


def test_a_bow_turns_after_some_seconds() -> None:
    long = "S - - - R - - - || g - - - m - - - || P - - - m - - - || g - - - R - - -"
    assert "x" in joined("violin", long)[1:]


def test_nothing_is_joined_that_does_not_follow_at_another_pitch() -> None:
    for player in ("flute", "violin", "sitar"):
        sounds = sounds_of(TEXT, player=player)
        for before, sound in pairwise(sounds):
            if sound.joined:
                assert before.start + before.length == sound.start
                assert before.pitch != sound.pitch


def test_every_family_of_the_catalogue_has_a_way() -> None:
    struck = {"keyboard", "mallets", "hand drums", "kit"}
    families = set()
    for name in instrument_names():
        found = instrument(name)
        assert found is not None
        families.add(found.family)
        assert not found.breath or found.family in BREATH_SECONDS
    assert families == {*BREATH_SECONDS, *PLUCKED, *struck}
