"""How players phrase: levels by phrase and metre, within what is written.

What a phrase is and how weighty a beat is are worked out here anew, from the text of the cycle and
the rests between sounds. That phrases arch, that high notes are louder and that sam is weighty is
common practice (the first two also among the rules of Friberg, Bresin and Sundberg, 2006; from
memory).
"""

from __future__ import annotations

from fractions import Fraction
from statistics import correlation, mean

import pytest
from support.making import ROOT, piece_of, random_changing_piece, random_piece

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.melody_sounds import ACCENT, LOUDNESS, PLAIN
from cyclechart.arrange.score import Part, Score, Sound
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece

NEAR = 6
"""The room of a written dynamic: dynamics are 14 apart."""


def piece_named(name: str) -> Piece:
    piece = load(ROOT / "pieces" / f"{name}.yaml", []).piece
    assert piece is not None
    return piece


def part_of(score: Score, name: str) -> Part:
    return next(part for part in score.parts if part.name == name)


def sounds_of(sargam: str, step: str = "", player: str = "flute") -> tuple[Sound, ...]:
    text = (
        f"players: {{{player}: {{plays: melody}}}}\ncount-in: 0\n"
        f"lines:\n  head:\n    sargam: |\n      {sargam}\nform:\n  - {{play: head{step}}}\n"
    )
    return part_of(arrange(piece_of(text, cycle="keherwa", mode="kafi")), player).sounds


def levels_of(sargam: str, step: str = "") -> list[int]:
    return [sound.velocity for sound in sounds_of(sargam, step)]


def tintal_weight(beat: Fraction) -> float:
    """Sam, the claps of 5 and 13, other beats, off beats; the third section is open."""
    if beat.denominator > 1:
        return -1.0
    weight = {0: 3.0, 4: 2.0, 12: 2.0}.get(int(beat), 1.0)
    return weight - (0.7 if 8 <= beat < 12 else 0)


def places_of(sounds: tuple[Sound, ...]) -> list[float]:
    """The place of each sound in its phrase, 0 at its ends to 1 in its last third: phrases end at
    rests and at notes of two beats."""
    places, run = [], 0
    for at, sound in enumerate(sounds):
        after = sounds[at + 1].start if at + 1 < len(sounds) else None
        if sound.length >= 2 or after != sound.start + sound.length:
            count = at + 1 - run
            for number in range(count):
                along = number / (count - 1) if count > 1 else 0.5
                places.append(min(along / 0.67, (1 - along) / 0.33 + 0.3, 1.0))
            run = at + 1
    return places


def test_a_flute_has_many_levels_that_follow_phrase_and_metre() -> None:
    flute = part_of(arrange(piece_named("the-delta-post")), "flute")
    levels = [sound.velocity for sound in flute.sounds]
    assert len(set(levels)) >= 20
    # The count-in is a cycle of sixteen beats, so that beats count from there.
    weights = [tintal_weight(sound.start % 16) for sound in flute.sounds]
    by_metre, by_phrase = correlation(weights, levels), correlation(places_of(flute.sounds), levels)
    print(f"{len(set(levels))} levels; r = {by_metre:.2f} (metre), {by_phrase:.2f} (phrase)")
    assert by_metre > 0.25 and by_phrase > 0.25


def test_a_phrase_rises_to_its_goal_and_falls_from_it() -> None:
    levels = levels_of("S R g m P m g R || z - - - - - - -")
    top = levels.index(max(levels))
    assert 3 <= top <= 6
    assert levels[0] < levels[top] - 6 and levels[-1] < levels[top] - 3


def test_a_phrase_that_lands_on_sam_rises_to_it() -> None:
    levels = levels_of("S R g m P m g R || S - - - z - - -")
    assert max(levels) == levels[-1]


def test_a_line_that_comes_again_is_a_little_softer() -> None:
    levels = levels_of("S R g m P m g R || S - - - z - - -", ", times: 2")
    first, again = levels[:9], levels[9:]
    assert 0 < mean(first) - mean(again) < 5
    alike = levels_of("P m g R S z z z || P m g R S z z z")
    assert sum(alike[:5]) > sum(alike[5:])


@pytest.mark.parametrize("level", ["pp", "p", "mp", "mf", "f", "ff"])
def test_a_dynamic_stays_what_it_is(level: str) -> None:
    texts = (
        f"!{level}!S R g m (P m g) R || S - - - n' R' S' -",
        "S R g m P m g R || S - - - P - - -",
    )
    for text, step in zip(texts, ("", f", dynamics: {level}"), strict=True):
        for sound in sounds_of(text, step):
            assert abs(sound.velocity - LOUDNESS[level]) <= NEAR
            nearest = min(LOUDNESS, key=lambda one: abs(LOUDNESS[one] - sound.velocity))
            assert nearest == level


def test_hairpins_keep_their_direction_and_accents_stand_out() -> None:
    text = "!pp!!cresc!S-R GmP d n | S'ndP m G [R S R]x3 || !ff!S - - - - - - -"
    grown = levels_of(text.replace("G", "g").replace("d", "D"))
    assert grown == sorted(grown) and grown[-1] - grown[0] > 60
    faded = levels_of("!f!!dim!S R g m P D n S' || !p!R' - S' - n - D -")
    assert faded[:9] == sorted(faded[:9], reverse=True)
    for text in (
        "S R g !accent!m P m g R || S - - -  z - - -",
        "!mf!P !accent!m P P P P P P || S - - - z - - -",
    ):
        levels = levels_of(text)
        at = 3 if text.startswith("S") else 1
        assert levels[at] >= max(levels[at - 1], levels[at + 1]) + ACCENT // 2


def test_one_long_note_under_a_hairpin_grows_while_it_is_held() -> None:
    (held, last) = sounds_of("!p!!cresc!S - - - - - - - || !f!P - - - - - - -")
    assert held.swell == LOUDNESS["f"] - LOUDNESS["p"] and last.swell == 0
    assert not any(sound.swell for sound in sounds_of("!p!S - - - - - - - || !f!P - - - - - - -"))


@pytest.mark.parametrize("seed", range(12))
def test_no_time_no_pitch_and_no_word_is_moved(seed: int) -> None:
    piece = piece_of(random_piece(seed) if seed % 2 else random_changing_piece(seed))
    plain, phrased = arrange(piece, plain=True), arrange(piece)
    assert [part.name for part in plain.parts] == [part.name for part in phrased.parts]
    for one, other in zip(plain.parts, phrased.parts, strict=True):
        if one.role.is_drone:
            continue  # the hand on its strings strays: tests/arrange/roles/test_drone_plucks.py
        assert [(h.start, h.length, h.key, h.text) for h in one.hits] == [
            (h.start, h.length, h.key, h.text) for h in other.hits
        ]
        for a, b in zip(one.sounds, other.sounds, strict=True):
            assert (a.start, a.length, a.pitch, a.text, a.voice, a.base) == (
                b.start, b.length, b.pitch, b.text, b.voice, b.base,
            )  # fmt: skip
            assert 1 <= b.velocity <= 127
            assert a.curve in ((), b.curve)
        if one.role.is_count:
            assert one == other
    assert arrange(piece) == phrased


def test_plain_is_level() -> None:
    flute = part_of(arrange(piece_named("the-delta-post"), plain=True), "flute")
    assert {sound.velocity for sound in flute.sounds} == {PLAIN}
    assert not any(sound.joined or sound.swell or sound.curve for sound in flute.sounds)


def test_accompaniment_leads_towards_the_next_sam() -> None:
    score, plain = (arrange(piece_named("eel-market"), plain=plain) for plain in (False, True))
    for name in ("guitar", "double-bass", "tabla", "drum-kit"):
        one, other = part_of(score, name), part_of(plain, name)
        own = [*one.sounds, *one.hits]
        lifts = [
            a.velocity - b.velocity for a, b in zip(own, [*other.sounds, *other.hits], strict=True)
        ]
        assert len(set(lifts)) > 3 and max(map(abs, lifts)) <= 14
        assert abs(mean(lifts)) < 5
