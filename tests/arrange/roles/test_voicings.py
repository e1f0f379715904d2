"""Voicings over the drone: Sa stays the root, judged by music21's reading of chords."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from itertools import combinations, pairwise

import pytest
from music21 import chord
from support.making import piece_of
from support.timelines import MODES, cycle, mode, player, stretch, timeline_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.bass import bass_figure, pedal_part, second_of_bass
from cyclechart.arrange.roles.voicing_choices import LOW_LIMITS, voiced_tones
from cyclechart.arrange.roles.voicings import voicings_part
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

C = Tonic("C")
THIRTY_TWO = (
    "yaman", "bhupali", "hamsadhwani", "shuddh-kalyan", "bilawal", "durga", "deshkar", "khamaj",
    "rageshri", "desh", "kalavati", "bhairav", "ahir-bhairav", "jogiya", "purvi", "shri", "marwa",
    "sohni", "puriya", "kafi", "bageshri", "bhimpalasi", "abhogi", "malkauns", "darbari-kanada",
    "todi", "multani", "madhuvanti", "bhairavi", "charukeshi", "lalit", "hindolam",
)  # fmt: skip
"""Every thaat, pentatonics, modes over Ma and Ni, and southern ones."""
VOICINGS = 25
FORMS = ((1, 2), (3, 4), (5, 6), (8, 9), (10, 11))


@cache
def chords(name: str, instrument: str = "piano", octave: int = 0) -> tuple[tuple[int, ...], ...]:
    """The first voicings of a mode on C, each from the lowest pitch up."""
    timeline = timeline_of(stretch(cycle("jhaptal"), mode(name), VOICINGS, 92, C))
    struck: dict[object, list[int]] = defaultdict(list)
    for sound in voicings_part(timeline, player(instrument, "voicings", octave)).sounds:
        struck[sound.start].append(sound.pitch)
    return tuple(tuple(pitches) for pitches in struck.values())[:VOICINGS]


@cache
def root_of_triad(tones: frozenset[int]) -> int | None:
    """The root of a plain major or minor triad, as music21 reads it; None for any other chord."""
    read = chord.Chord(sorted(tones))
    if len(tones) != 3 or not (read.isMajorTriad() or read.isMinorTriad()):
        return None
    return int(read.root().pitchClass)


@cache
def root_of_dominant_seventh(tones: frozenset[int]) -> int | None:
    """The root of a dominant seventh, as music21 reads it; None for any other chord."""
    read = chord.Chord(sorted(tones))
    return int(read.root().pitchClass) if read.isDominantSeventh() else None


def tones_of(pitches: tuple[int, ...]) -> frozenset[int]:
    return frozenset(pitch % 12 for pitch in pitches)


def test_music21_reads_triads_in_any_position() -> None:
    assert root_of_triad(frozenset({0, 5, 9})) == 5
    assert root_of_triad(frozenset({0, 3, 8})) == 8
    assert root_of_triad(frozenset({0, 4, 7})) == 0
    assert root_of_triad(frozenset({0, 5, 10})) is None


def test_no_triad_off_sa_in_800_voicings_over_32_modes() -> None:
    assert len(set(THIRTY_TWO)) == 32
    voicings = [(name, pitches) for name in THIRTY_TWO for pitches in chords(name)]
    assert len(voicings) == 800
    for name, pitches in voicings:
        tones = tones_of(pitches)
        drone = {0, mode(name).drone_second}
        for sounding in (tones, tones | drone, tones | {0, second_of_bass(mode(name)) % 12}):
            assert root_of_triad(sounding) in (None, 0), (name, pitches)


@pytest.mark.parametrize("name", MODES)
def test_each_voicing_of_every_mode_keeps_to_sa_and_to_the_tones_dwelt_on(name: str) -> None:
    made = mode(name)
    voicings = chords(name)
    assert len(voicings) == VOICINGS
    for pitches in voicings:
        tones = tones_of(pitches)
        assert len(tones) == len(pitches) == 3
        assert tones & {0, made.vadi}, pitches
        assert not tones & set(made.weak), pitches
        assert tones <= made.up | made.down
        assert not any(tones.issuperset(pair) for pair in FORMS), pitches
        assert root_of_triad(tones) in (None, 0), pitches
        sounding = tones | {0, made.drone_second}
        assert root_of_triad(sounding) in (None, 0), pitches
        assert root_of_dominant_seventh(sounding) in (None, 0), pitches


@pytest.mark.parametrize("name", [name for name in MODES if mode(name).drone_second == 5])
def test_over_a_ma_drone_sa_sounds_in_what_would_make_ma_the_root(name: str) -> None:
    # m d S and m D S: with the drone's m and S, either form of D in the chord is all that it takes.
    for pitches in chords(name):
        tones = tones_of(pitches)
        if tones & {8, 9}:
            assert 0 in tones, pitches
            assert not {5} & tones, pitches


@pytest.mark.parametrize("name", THIRTY_TWO)
@pytest.mark.parametrize(("instrument", "octave"), [("piano", 0), ("guitar", -1), ("piano", -1)])
def test_voices_are_clear_and_led_without_leaps(name: str, instrument: str, octave: int) -> None:
    voicings = chords(name, instrument, octave)
    for pitches in voicings:
        for low, high in pairwise(pitches):
            # Arrangers' low limits (handbooks; from memory): a third clear from about C3 up.
            assert 60 + low >= LOW_LIMITS[high - low], pitches
        assert max(b - a for a, b in combinations(pitches, 2)) <= 24
    for before, after in pairwise(voicings):
        assert sum(abs(a - b) for a, b in zip(before, after, strict=True)) <= 24
    # Six strikes in four cycles, then the same again.
    assert len(set(voicings[:6])) >= 3
    assert voicings[6:12] == voicings[:6]
    assert sum(a == b for a, b in pairwise(voicings)) <= VOICINGS // 4


def test_a_mode_of_few_tones_gives_two_rather_than_a_triad_elsewhere() -> None:
    # S m D alone are Ma's triad.
    narrow = Mode(name="three", ascent=(0, 5, 9, 12), descent=(12, 9, 5, 0))
    timeline = timeline_of(stretch(cycle("rupak"), narrow, 4, 92, C))
    struck: dict[object, list[int]] = defaultdict(list)
    for sound in voicings_part(timeline, player("piano", "voicings")).sounds:
        struck[sound.start].append(sound.pitch)
    assert struck
    for pitches in struck.values():
        assert len(pitches) == 2
        assert 0 in tones_of(tuple(pitches))


def test_a_svara_has_the_form_that_the_mode_leans_on() -> None:
    # Kedar leans on m and rises through M; Desh rises by N and falls by n (any handbook).
    assert 6 not in voiced_tones(mode("kedar"))
    assert 5 in voiced_tones(mode("kedar"))
    assert 11 not in voiced_tones(mode("desh"))


# The bass


@pytest.mark.parametrize("name", MODES)
def test_the_bass_stands_on_sa_and_the_modes_own_second_string(name: str) -> None:
    made = mode(name)
    held = (made.up | made.down) - set(made.weak)
    second = made.drone_second
    for number in range(3):
        tones = {tone.pitch % 12 for tone in bass_figure(cycle("tintal"), made, number)}
        assert tones <= {0, second}
        if second not in held:
            assert tones == {0}
    if second in held and second:
        assert second in {tone.pitch % 12 for tone in bass_figure(cycle("tintal"), made, 0)}


BAND = (
    "players: {{flute: , guitar: , double-bass: {{plays: pedal}}, tanpura: {{drone: {}}}}}\n"
    "lines:\n  head: {{lands: free, sargam: S -}}\nform:\n  - groove: 8\n"
)


def test_the_bass_and_the_voicings_follow_the_string_of_the_player() -> None:
    # Bageshri's own string is m; some tune it to P (both are in use).
    by_string = {}
    for letter, second in (("m", 5), ("P", 7), ("S", 0)):
        score = arrange(piece_of(BAND.format(letter), mode="bageshri", cycle="tintal"))
        parts = {part.role.name: part for part in score.parts}
        assert {sound.pitch % 12 for sound in parts["drone"].sounds} == {0, second}
        bass = {sound.pitch % 12 for sound in parts["pedal"].sounds}
        assert (5 in bass) == (letter == "m")
        by_string[letter] = parts["voicings"].sounds
    assert by_string["m"] != by_string["P"]


def test_under_a_string_that_the_mode_has_not_the_bass_keeps_to_sa() -> None:
    timeline = timeline_of(
        stretch(cycle("tintal"), piece_of(BAND.format("P"), mode="malkauns").mode, 3, 92, C)
    )
    pitches = {sound.pitch % 12 for sound in pedal_part(timeline, player("cello", "pedal")).sounds}
    assert pitches == {0}
