"""The scales of jazz by name, against music21's scales and the catalogue's other names."""

from __future__ import annotations

from music21 import scale

from cyclechart.catalog.library import Library, fold
from cyclechart.catalog.search import entries, tones_of
from cyclechart.theory.scales import SCALES, scale_of, scales_around

MUSIC21 = {
    "Ionian (major)": scale.MajorScale,
    "Dorian": scale.DorianScale,
    "Phrygian": scale.PhrygianScale,
    "Lydian": scale.LydianScale,
    "Mixolydian": scale.MixolydianScale,
    "Aeolian (natural minor)": scale.MinorScale,
    "Locrian": scale.LocrianScale,
    "harmonic minor": scale.HarmonicMinorScale,
    "whole tone": scale.WholeToneScale,
}
BY_NAME = {name: tones for tones, name in SCALES.items()}


def test_music21_has_the_same_tones() -> None:
    for name, kind in MUSIC21.items():
        assert {pitch.pitchClass for pitch in kind("C").getPitches("C4", "C5")} == BY_NAME[name]
    octatonics = (scale.OctatonicScale("C", mode) for mode in (1, 2))
    ours = {BY_NAME["diminished (whole-half)"], BY_NAME["diminished (half-whole)"]}
    assert {
        frozenset(pitch.pitchClass for pitch in one.getPitches("C4", "C5")) for one in octatonics
    } == ours


def test_the_catalogues_other_names_of_a_scale_say_the_same_tones() -> None:
    by_name = {fold(name): tones for name, tones in BY_NAME.items()}
    signs = {fold(name) for name in BY_NAME if "#" in name}  # the sign is lost in folding
    compared = 0
    for entry in entries(Library.beside(None))[0]:
        for name in entry.mode.aka:
            if fold(name) in by_name and fold(name) not in signs and "#" not in name:
                assert tones_of(entry.mode) == by_name[fold(name)], (entry.key, name)
                compared += 1
    assert compared >= 20


def test_no_two_scales_have_one_name_and_each_begins_on_sa() -> None:
    assert len(set(SCALES.values())) == len(SCALES)
    assert all(0 in tones for tones in SCALES)


def test_smaller_and_larger_scales() -> None:
    bhupali = frozenset((0, 2, 4, 7, 9))
    assert scale_of(bhupali) == "major pentatonic"
    assert scales_around(bhupali)[:3] == ("Ionian (major)", "Lydian", "Mixolydian")
    assert all(bhupali < BY_NAME[name] for name in scales_around(bhupali))
    assert scales_around(BY_NAME["Dorian"]) == ()
    assert set(scales_around(BY_NAME["bebop dominant"])) == {"Ionian (major)", "Mixolydian"}
    assert scale_of((0, 1, 2)) == ""
