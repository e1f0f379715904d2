"""The sounds of one written note.

Rates and depths are common practice (from memory): andolan 2.5 to 4 swings a second within half a
semitone, gamak 5 to 7, a trill 6 to 8 tones a second, a grace note of about 70 milliseconds. Which
neighbour a mordent has: ABC 2.1, decorations. Just intervals are log2 of their ratios.
"""

from __future__ import annotations

import math
import random
from fractions import Fraction
from itertools import pairwise

import pytest

from cyclechart.arrange.roles.ornaments import join_glides, next_above, next_below, note_sounds
from cyclechart.arrange.score import Sound
from cyclechart.finding import Spot
from cyclechart.piece.note import Note
from cyclechart.theory.mode import Mode
from cyclechart.theory.tuning import EQUAL, JUST_TUNING

BHAIRAV = Mode(
    name="bhairav", ascent=(0, 1, 4, 5, 7, 8, 11, 12), descent=(12, 11, 8, 7, 5, 4, 1, 0)
)
PENTATONIC = Mode(name="S R G P D", ascent=(0, 2, 4, 7, 9, 12), descent=(12, 9, 7, 4, 2, 0))
HERE = Spot("test.yaml", 1, 1)
LENGTHS = [Fraction(n, 420) for n in (105, 140, 210, 280, 420, 525, 588, 630, 840, 1260, 1380)]
LENGTHS += [Fraction(4), Fraction(8)]
TEMPOS = [Fraction(10), Fraction(40), Fraction(60), Fraction(92), Fraction(400, 3), Fraction(240)]


def note(pitch: int, *marks: str, grace: tuple[int, ...] = (), glides: bool = False) -> Note:
    return Note(
        Fraction(0), Fraction(1), HERE, pitch, grace=grace, marks=tuple(marks), glides=glides
    )


def heard(
    written: Note,
    following: Note | None = None,
    start: Fraction = Fraction(3),
    length: Fraction = Fraction(1),
    tempo: Fraction = Fraction(60),
    mode: Mode = BHAIRAV,
) -> list[Sound]:
    return note_sounds(written, following, start, length, tempo, 86, mode, JUST_TUNING)


def cents(ratio: str) -> float:
    return 1200 * math.log2(Fraction(ratio))


def any_note(dice: random.Random) -> Note:
    marks = ("trill", "andolan", "gamak", "mordent", "staccato", "tenuto", "fermata", "accent")
    return note(
        dice.randint(-12, 24),
        *dice.sample(marks, dice.choice([0, 1, 1, 2])),
        grace=tuple(dice.randint(-5, 17) for _ in range(dice.choice([0, 0, 1, 2, 5, 9]))),
        glides=dice.random() < 0.4,
    )


@pytest.mark.parametrize("seed", range(400))
def test_a_note_keeps_its_place_and_its_sounds_follow_without_a_gap(seed: int) -> None:
    dice = random.Random(seed)
    written, following = any_note(dice), any_note(dice)
    length, tempo = dice.choice(LENGTHS), dice.choice(TEMPOS)
    start = Fraction(dice.randint(0, 99), dice.choice([1, 3, 5, 7]))
    sounds = heard(written, following, start, length, tempo)
    assert sounds[0].start == start
    assert [bool(sound.text) for sound in sounds] == [True] + [False] * (len(sounds) - 1)
    for before, after in pairwise(sounds):
        assert before.start + before.length == after.start
    end = sounds[-1].start + sounds[-1].length
    whole = "staccato" not in written.marks or {"tenuto", "fermata"} & set(written.marks)
    glided = sounds[-1].curve and sounds[-1].curve[-1][1]
    assert end == start + (length if whole or glided else length / 2)
    for sound in sounds:
        assert sound.length > 0 and 1 <= sound.velocity <= 127
        times = [at for at, _ in sound.curve]
        assert times == sorted(set(times))
        if times:
            assert times[0] == 0 and times[-1] == sound.length
            assert sound.curve[0][1] == 0
    assert sounds[-1].pitch == written.pitch


@pytest.mark.parametrize("seed", range(100))
def test_times_stay_on_coarse_grids(seed: int) -> None:
    """A trill or grace adds no prime but 2 and 3, so that the usual 5, 7, 9 and 16 still fit."""
    dice = random.Random(seed)
    length, tempo = dice.choice(LENGTHS), dice.choice(TEMPOS)
    for sound in heard(any_note(dice), any_note(dice), length=length, tempo=tempo):
        for time in (sound.start, sound.length):
            left = time.denominator // math.gcd(time.denominator, length.denominator)
            assert left % 5 and left % 7
            while left % 2 == 0 or left % 3 == 0:
                left //= 2 if left % 2 == 0 else 3
            assert left == 1


def test_a_plain_note_is_one_sound() -> None:
    assert heard(note(7)) == [Sound(Fraction(3), Fraction(1), 7, 86, "P")]


def test_grace_notes_sound_on_the_beat_and_take_their_time_from_their_own_note() -> None:
    sounds = heard(note(5, grace=(7, 4)), tempo=Fraction(60))
    assert [sound.pitch for sound in sounds] == [7, 4, 5]
    assert sounds[0].start == 3 and sounds[0].text == "m"
    for sound in sounds[:2]:
        assert 0.055 < float(sound.length) < 0.085  # seconds at 60: about 70 milliseconds
        assert sound.velocity < 86


@pytest.mark.parametrize("count", range(1, 10))
@pytest.mark.parametrize("length", LENGTHS)
def test_grace_notes_never_take_more_than_half(count: int, length: Fraction) -> None:
    for tempo in TEMPOS:
        sounds = heard(note(0, grace=(2,) * count), length=length, tempo=tempo)
        graces = [sound.length for sound in sounds[:count]]
        assert max(graces) <= length / 8
        assert sum(graces) <= length / 2


@pytest.mark.parametrize(
    ("low", "high", "ratio"), [(0, 7, "3/2"), (4, 5, "16/15"), (12, 7, "3/4"), (9, 14, "27/20")]
)
def test_a_glide_is_held_then_reaches_the_next_just_tone_at_its_end(
    low: int, high: int, ratio: str
) -> None:
    (sound,) = heard(note(low, glides=True), note(high), length=Fraction(3, 2))
    assert sound.curve[0] == (0, 0.0)
    assert sound.curve[-1][0] == Fraction(3, 2)
    assert 100 * sound.curve[-1][1] == pytest.approx(cents(ratio), abs=1e-9)
    values = [abs(by) for _, by in sound.curve]
    assert values == sorted(values)
    moving = [at for at, by in sound.curve if by]
    assert Fraction(3, 4) < moving[0] < Fraction(13, 16)  # held for half of it
    assert 12 <= len(moving) <= 24
    # In the middle of a raised cosine half the way is done.
    (half,) = [by for at, by in sound.curve if at == Fraction(9, 8)]
    assert half == pytest.approx(sound.curve[-1][1] / 2)


def test_a_long_note_is_held_and_glides_at_last() -> None:
    (sound,) = heard(note(0, glides=True), note(7), length=Fraction(6))
    assert sound.curve[1][0] == 5  # a glide takes a beat at most


def test_a_glide_goes_to_the_grace_note_that_the_next_note_begins_with() -> None:
    (sound,) = heard(note(0, glides=True), note(7, grace=(8,)))
    assert 100 * sound.curve[-1][1] == pytest.approx(cents("8/5"))


@pytest.mark.parametrize("following", [None, note(0), note(30)])
def test_nothing_glides_into_silence_itself_or_beyond_what_a_bend_reaches(
    following: Note | None,
) -> None:
    (sound,) = heard(note(0, glides=True), following)
    assert sound.curve == ()


def turns(sound: Sound) -> int:
    """Return the number of times that the pitch turns back from above."""
    values = [by for _, by in sound.curve]
    return sum(a <= b > c for a, b, c in zip(values, values[1:], values[2:], strict=False))


@pytest.mark.parametrize("tempo", TEMPOS)
@pytest.mark.parametrize("length", LENGTHS)
@pytest.mark.parametrize(("mark", "slow", "fast"), [("andolan", 2.5, 4.0), ("gamak", 5.0, 7.0)])
def test_shakes_swing_at_the_rate_of_practice(
    mark: str, slow: float, fast: float, length: Fraction, tempo: Fraction
) -> None:
    (sound,) = heard(note(1, mark), length=length, tempo=tempo)
    if not sound.curve:
        assert length * 60 / tempo < 1 / slow  # no room for one swing
        return
    assert sound.curve[0][1] == sound.curve[-1][1] == 0
    begins = next(at for (at, _), (_, by) in pairwise(sound.curve) if by)
    seconds = float((length - begins) * 60 / tempo)
    # Where it is held first, its end is on the grid of short times: within one in ten.
    assert slow * 0.9 <= turns(sound) / seconds <= fast * 1.1
    values = [by for _, by in sound.curve]
    if mark == "andolan":
        assert -0.5 <= min(values) < 0 < max(values) <= 0.5
    else:
        assert min(values) == 0 and 0.9 <= max(values) <= 2


def test_gamak_reaches_for_the_modes_next_tone_as_it_is_tuned() -> None:
    (sound,) = heard(note(4, "gamak"), length=Fraction(2), tempo=Fraction(60))
    assert 100 * max(by for _, by in sound.curve) == pytest.approx(cents("16/15"), abs=1e-6)


@pytest.mark.parametrize("tempo", TEMPOS)
@pytest.mark.parametrize("length", LENGTHS)
def test_a_trill_alternates_with_the_next_tone_above_and_rests_on_its_own(
    length: Fraction, tempo: Fraction
) -> None:
    sounds = heard(note(4, "trill"), length=length, tempo=tempo, mode=PENTATONIC)
    seconds = float(length * 60 / tempo)
    if len(sounds) == 1:
        assert seconds < 0.375
        return
    assert [sound.pitch for sound in sounds] == [7 if n % 2 else 4 for n in range(len(sounds))]
    assert len({sound.length for sound in sounds[:-1]}) == 1
    rate = float(length / sounds[0].length) / seconds
    assert 5.7 <= rate <= 8.6 if seconds < 1 else 6 <= rate <= 8.1


def test_a_mordent_touches_the_modes_tone_below() -> None:
    sounds = heard(note(7, "mordent"), mode=PENTATONIC)
    assert [sound.pitch for sound in sounds] == [7, 4, 7]
    assert sum(sound.length for sound in sounds[:2]) <= Fraction(1, 4)


@pytest.mark.parametrize(
    ("marks", "length"),
    [(("staccato",), "1/2"), (("tenuto",), "1"), (("fermata",), "1"), (("accent",), "1")],
)
def test_how_long_it_sounds(marks: tuple[str, ...], length: str) -> None:
    (sound,) = heard(note(7, *marks))
    assert sound.length == Fraction(length)


def test_neighbours_are_the_modes_own() -> None:
    assert [next_above(pitch, PENTATONIC) for pitch in (0, 4, 9, -3)] == [2, 7, 12, 0]
    assert [next_below(pitch, PENTATONIC) for pitch in (0, 4, 7, 12)] == [-3, 2, 4, 9]


def test_what_is_glided_into_is_held_on() -> None:
    written = [note(0, glides=True), note(7, glides=True), note(4)]
    sounds: list[Sound] = []
    for number, one in enumerate(written):
        after = written[number + 1] if number < 2 else None
        sounds += heard(one, after, Fraction(number))
    (joined,) = join_glides(sounds, JUST_TUNING)
    assert (joined.start, joined.length, joined.text) == (0, 3, "S~P~G")
    at = dict(joined.curve)
    assert 100 * at[Fraction(1)] == pytest.approx(cents("3/2"))
    assert 100 * at[Fraction(2)] == pytest.approx(cents("5/4"))
    assert max(at) == 2  # and stays there


def test_held_on_joins_nothing_else() -> None:
    shaken = heard(note(1, "gamak"), start=Fraction(0)) + heard(note(1), start=Fraction(1))
    assert join_glides(shaken, JUST_TUNING) == shaken
    glided = heard(note(0, glides=True), note(7), Fraction(0))
    elsewhere = [*glided, *heard(note(9), start=Fraction(1))]
    assert join_glides(elsewhere, JUST_TUNING) == elsewhere
    later = [*glided, *heard(note(7), start=Fraction(2))]
    assert join_glides(later, JUST_TUNING) == later


def test_intervals_are_those_of_the_tuning() -> None:
    assert EQUAL.interval(-1, 13) == pytest.approx(14)
    assert 100 * JUST_TUNING.interval(9, 14) == pytest.approx(cents("27/20"))


# Tones that shake of themselves

SHAKEN = Mode(
    name="shaken",
    ascent=BHAIRAV.ascent,
    descent=BHAIRAV.descent,
    andolan=((1, "small"), (8, "wide")),
)


@pytest.mark.parametrize(("pitch", "depth"), [(1, 0.2), (8, 0.5), (20, 0.5), (-4, 0.5)])
def test_a_tone_shakes_of_itself_as_wide_as_its_mode_says(pitch: int, depth: float) -> None:
    (sound,) = heard(note(pitch), length=Fraction(4), mode=SHAKEN)
    assert max(by for _, by in sound.curve) == pytest.approx(depth, abs=0.02)
    assert min(by for _, by in sound.curve) == pytest.approx(-depth, abs=0.02)
    # 2.5 to 4 swings a second; at 60 beats a minute four beats are four seconds.
    ups = sum(a < 0 <= b for (_, a), (_, b) in pairwise(sound.curve))
    assert 9 <= ups <= 17


def test_a_tone_that_is_marked_plain_or_is_short_or_another_is_still() -> None:
    for still in (
        heard(note(8, "plain"), length=Fraction(4), mode=SHAKEN),
        heard(note(8, "staccato"), length=Fraction(4), mode=SHAKEN),
        heard(note(8), length=Fraction(2, 3), mode=SHAKEN),
        heard(note(7), length=Fraction(4), mode=SHAKEN),
        heard(note(8), length=Fraction(4), mode=BHAIRAV),
    ):
        assert all(not sound.curve for sound in still)


def test_a_written_andolan_is_as_wide_as_its_mode_says() -> None:
    (wide,) = heard(note(8, "andolan"), length=Fraction(4), mode=SHAKEN)
    (usual,) = heard(note(7, "andolan"), length=Fraction(4), mode=SHAKEN)
    assert max(by for _, by in wide.curve) > max(by for _, by in usual.curve)
