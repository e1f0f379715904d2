"""Bass, voicings, kit and the varied theka: in the mode, in range, in the cycle, playable."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.bass import bass_figure, lead_into_sa
from cyclechart.arrange.roles.theka import theka
from cyclechart.arrange.roles.theka_variations import is_open, varied_theka
from cyclechart.arrange.roles.turn_cycles import PERIOD
from cyclechart.arrange.score import Part, Score
from cyclechart.catalog.library import Library
from cyclechart.catalog.strokes import TimedSyllable, strokes
from cyclechart.finding import Spot
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode

LIBRARY = Library.beside(None)
HERE = Spot("", 1, 1)


def mode(name: str) -> Mode:
    made, _ = LIBRARY.mode(name, HERE)
    assert made is not None
    return made


def cycle(name: str) -> Cycle:
    made, _ = LIBRARY.cycle(name, HERE)
    assert made is not None
    return made


MODES = ("bhimpalasi", "marwa", "malkauns", "hamsadhwani", "lalit", "charukeshi", "bhinna-shadja")
CYCLES = tuple(dict.fromkeys(LIBRARY.cycle_spellings().values()))
BAND = (
    "players: {flute: , guitar: {plays: voicings}, double-bass: {plays: pedal}, tabla: ,"
    " drum-kit: , tanpura: }\n"
)
LINE = "lines:\n  head: {lands: free, sargam: S -}\n"
ODD = '{name: Odd, beats: 11 1/2, sections: [4, 4, "3 1/2"], stressed: [1, 9], open: [5]}'


def score_of(form: str, **heading: str) -> Score:
    return arrange(piece_of(f"{BAND}{LINE}form:\n{form}", **heading))


def part(score: Score, role: str) -> Part:
    return next(part for part in score.parts if part.role.name == role)


def kit_of(score: Score) -> Part:
    return next(part for part in score.parts if part.name == "drum-kit")


@pytest.mark.parametrize("name", MODES)
@pytest.mark.parametrize("tonic", ["C", "F#", "Bb"])
def test_bass_and_voicings_sound_only_the_modes_tones_within_their_range(
    name: str, tonic: str
) -> None:
    form = "  - {free: flute, seconds: 20}\n  - groove: 8\n  - {groove: 3, cycle: rupak}\n"
    score = score_of(form, mode=name, tonic=tonic, cycle="tintal")
    held = mode(name).up | mode(name).down
    for role, low, high in (("pedal", 28, 60), ("voicings", 40, 76)):
        sounds = part(score, role).sounds
        assert sounds
        assert {sound.pitch % 12 for sound in sounds} <= held
        keys = [(sound.base or score.tonic.midi) + sound.pitch for sound in sounds]
        assert low <= min(keys)
        assert max(keys) <= high


@pytest.mark.parametrize("name", MODES)
def test_the_bass_leads_into_sa_only_as_the_ascent_does(name: str) -> None:
    leading = lead_into_sa(mode(name))
    if leading is None:
        return
    assert mode(name).moves.fault(None, leading, 0) is None
    assert not mode(name).moves.is_skipped(leading, 0)
    assert leading % 12 in mode(name).up & mode(name).down


def test_marwas_bass_does_not_go_straight_from_n_to_s() -> None:
    # Marwa goes N D S' (Sitar Malika p. 244): D is what leads.
    assert lead_into_sa(mode("marwa")) == -3


@pytest.mark.parametrize("name", CYCLES)
def test_the_figure_of_every_cycle_begins_on_sam_and_fills_no_open_section(name: str) -> None:
    made = cycle(name)
    for number in range(PERIOD):
        tones = bass_figure(made, mode("bhimpalasi"), number)
        assert (tones[0].at, tones[0].pitch) == (0, 0)
        for before, after in pairwise(tones):
            assert before.at + before.length <= after.at
            assert abs(before.pitch - after.pitch) <= 12
        assert tones[-1].at + tones[-1].length <= made.beats
        for tone in tones[1:]:
            leads = tone.at == made.beats - 1 and number == PERIOD - 1
            assert leads or not is_open(made, tone.at)


def test_figures_come_round_again() -> None:
    made = [bass_figure(cycle("tintal"), mode("yaman"), number) for number in range(2 * PERIOD)]
    assert made[:PERIOD] == made[PERIOD:]
    assert len(set(made[:PERIOD])) > 1


def test_voices_are_led_without_leaps_and_without_crossing() -> None:
    score = score_of("  - groove: 24\n", mode="bhimpalasi", cycle="jhaptal")
    chords: dict[Fraction, list[int]] = defaultdict(list)
    for sound in part(score, "voicings").sounds:
        chords[sound.start].append(sound.pitch)
    assert len(chords) > 20
    assert len({tuple(chord) for chord in chords.values()}) > 2
    for before, after in pairwise(chords.values()):
        assert after == sorted(after)
        assert all(abs(a - b) <= 7 for a, b in zip(before, after, strict=True))


def test_a_player_who_solos_lays_nothing_under_himself() -> None:
    score = score_of("  - {solo: guitar, cycles: 4}\n  - groove: 2\n", cycle="keherwa")
    starts = [sound.start for sound in part(score, "voicings").sounds]
    assert min(starts) >= 8 + 32


# The varied theka


@pytest.mark.parametrize("name", [name for name in CYCLES if not cycle(name).spoken])
def test_a_varied_theka_fills_the_cycle_and_keeps_open_sections_open(name: str) -> None:
    made = cycle(name)
    pattern = theka(made)
    for number in range(8):
        for seed in (1, 7):
            for beat_seconds in (Fraction(1, 5), Fraction(1, 2), Fraction(2)):
                beats = varied_theka(made, pattern, number, seed, beat_seconds)
                assert beats == varied_theka(made, pattern, number, seed, beat_seconds)
                for before, after in pairwise(beats):
                    assert before.at + before.length <= after.at
                assert beats[-1].at + beats[-1].length <= made.beats
                own = {beat.syllable for beat in pattern if is_open(made, beat.at)}
                for beat in beats:
                    assert strokes().group(beat.syllable) is not None
                    if is_open(made, beat.at) and beat.syllable not in own:
                        assert not strokes().open_bass(beat.syllable), (number, beat)
                if pattern[0].at == 0:
                    assert beats[0].at == 0
                    assert beats[0].syllable == pattern[0].syllable


def test_seeds_and_cycles_differ_and_nought_is_plain() -> None:
    made = cycle("tintal")
    pattern = theka(made)
    half = Fraction(1, 2)
    assert all(varied_theka(made, pattern, n, 0, half) == pattern for n in range(8))
    assert varied_theka(made, pattern, 0, 1, half) == pattern
    ways = {varied_theka(made, pattern, n, seed, half) for n in range(8) for seed in range(1, 6)}
    assert len(ways) > 8


# The kit: an independent player with two hands and two feet

HANDS, FEET = {51, 42, 46, 49, 38, 37, 40}, {36, 44}


def check_playable(hits: tuple[object, ...], tempo: Fraction) -> None:
    at: dict[Fraction, list[int]] = defaultdict(list)
    for hit in hits:
        at[hit.start].append(hit.key)  # type: ignore[attr-defined]
    for keys in at.values():
        assert len([key for key in keys if key in HANDS]) <= 2, keys
        assert len([key for key in keys if key in FEET]) <= 2, keys
        assert len(keys) == len(set(keys))
        assert set(keys) <= HANDS | FEET
    # Each hand by itself: the cymbal's and the snare's.
    for group in ({51, 42, 46, 49}, {38, 37, 40}, {36}, {44}):
        times = sorted(time for time, keys in at.items() if group & set(keys))
        for before, after in pairwise(times):
            assert (after - before) * 60 / tempo >= Fraction(1, 7)


@pytest.mark.parametrize("name", [name for name in CYCLES if not cycle(name).spoken])
@pytest.mark.parametrize("tempo", [40, 120, 360])
def test_the_kit_part_can_be_played_by_one_person(name: str, tempo: int) -> None:
    score = score_of("  - groove: 5\n", cycle=name, tempo=str(tempo))
    hits = kit_of(score).hits
    assert hits
    check_playable(hits, Fraction(tempo))


SAID = ("dha", "dhin", "na", "tin", "ta", "ge", "ke", "tirakita", "dhage", "te")


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.sampled_from(SAID), min_size=8,
             max_size=8),
    st.integers(30, 400),
)  # fmt: skip
def test_dense_strokes_are_thinned_for_one_person(cells: list[str], tempo: int) -> None:
    text = " ".join(cells)
    score = arrange(
        piece_of(
            f'{BAND}lines:\n  beat: {{strokes: "[{text}]chaugun [{text}]dugun - -"}}\n'
            "form:\n  - play: beat\n",
            cycle="keherwa",
            tempo=str(tempo),
        )
    )
    check_playable(kit_of(score).hits, Fraction(tempo))


def test_there_is_no_kick_through_an_open_section() -> None:
    score = score_of("  - groove: 8\n", cycle="tintal")
    for hit in kit_of(score).hits:
        if hit.key == 36:
            assert not 8 <= hit.start % 16 < 12


def test_odd_cycles_have_all_roles() -> None:
    score = score_of("  - groove: 6\n", cycle=ODD, tempo="150")
    for one in score.parts:
        if one.role.name not in ("melody", "count"):
            assert one.sounds or one.hits, one.name
    check_playable(kit_of(score).hits, Fraction(150))


def test_every_stroke_of_a_variation_sounds() -> None:
    made = cycle("ektal")
    for number in range(8):
        beats = varied_theka(made, theka(made), number, 3, Fraction(1, 2))
        said = [TimedSyllable(b.at, b.at + b.length, b.syllable, b.length < 1) for b in beats]
        assert all(strokes().sounding(said))


def test_the_band_hits_every_statement_of_a_cadence_at_once() -> None:
    # A bedam tihai of five beats from sam lands on 17 (facts: P = 5, G = 1, from sam).
    line = "lines:\n  close: {cadence: {sargam: S R G m P, gap: 1, begins: 1}}\n"
    score = arrange(piece_of(f"{BAND}count-in: 0\n{line}form:\n  - play: close\n", cycle="tintal"))
    ends = [Fraction(4), Fraction(10), Fraction(16)]
    struck = {hit.start for hit in kit_of(score).hits if hit.key == 49}
    assert struck == set(ends)
    bass = {sound.start: sound.pitch % 12 for sound in part(score, "pedal").sounds}
    assert [bass.get(at) for at in ends] == [0, 0, 0]
    sounds = sorted(part(score, "pedal").sounds, key=lambda one: one.start)
    assert all(a.start + a.length <= b.start for a, b in pairwise(sounds))
    check_playable(kit_of(score).hits, Fraction(92))
