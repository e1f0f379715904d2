"""Melody by degrees: against music21 in plain scales, by hand in modes whose paths differ."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import interval, key, note, stream

from cyclechart.catalog.library import CATALOGUE, Library
from cyclechart.finding import Spot
from cyclechart.theory.degrees import Degrees, rising_at
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, SEMITONE, show_pitch

CHURCH = {"bilawal": "major", "kafi": "dorian", "bhairavi": "phrygian", "kalyan": "lydian"}
"""Thaats that are one of the church modes (Bhatkhande's ten thaats)."""


@cache
def mode(name: str) -> Mode:
    found, _ = Library.beside(None).mode(name, Spot(CATALOGUE, 1, 1))
    assert found is not None, name
    return found


def plain(name: str) -> Mode:
    """The seven tones of a thaat, straight up and straight down."""
    tones = {
        "bilawal": "SRGmPDN", "kafi": "SRgmPDn", "bhairavi": "SrgmPdn", "kalyan": "SRGMPDN",
    }[name]  # fmt: skip
    up = (*(SEMITONE[one] for one in tones), 12)
    return Mode(name=name, ascent=up, descent=up[::-1])


def pitches(text: str) -> list[int]:
    return [SEMITONE[one[0]] + 12 * (one.count("'") - one.count(",")) for one in text.split()]


def shown(found: list[int]) -> str:
    return " ".join(map(show_pitch, found))


def moved(name: str, text: str, steps: int) -> str:
    degrees, line = Degrees(mode(name)), pitches(text)
    return shown(degrees.moved_together(line, rising_at(line), steps))


def mirrored(name: str, text: str, about: str) -> str:
    degrees, line = Degrees(mode(name)), pitches(text)
    (axis,) = pitches(about)
    ways = rising_at(line)
    return shown([degrees.mirrored(p, axis, rising=r) for p, r in zip(line, ways, strict=True)])


def taken(old: str, new: str, text: str) -> str:
    one, other, line = Degrees(mode(old)), Degrees(mode(new)), pitches(text)
    ways = rising_at(line)
    return shown([one.taken_into(other, p, rising=r) for p, r in zip(line, ways, strict=True)])


_IN_MODE = st.lists(st.tuples(st.integers(0, 6), st.integers(-1, 1)), min_size=1, max_size=12)


def _line(name: str, degrees: list[tuple[int, int]]) -> list[int]:
    return [plain(name).ascent[degree] + 12 * octave for degree, octave in degrees]


@given(st.sampled_from(sorted(CHURCH)), _IN_MODE, st.integers(-14, 14))
def test_steps_are_those_of_music21(name: str, line: list[tuple[int, int]], steps: int) -> None:
    # music21: GenericInterval.transposePitchKeyAware moves along a key's letters.
    degrees, within = Degrees(plain(name)), key.Key("C", CHURCH[name])
    ours = _line(name, line)
    # music21 counts a unison as 1.
    by = interval.GenericInterval(steps + 1 if steps >= 0 else steps - 1)
    for pitch, rising in zip(ours, rising_at(ours), strict=True):
        letter = next(p.name for p in within.pitches if (p.midi - pitch) % 12 == 0)
        there = note.Note(letter, octave=4 + pitch // 12).pitch
        assert there.midi == 60 + pitch
        wanted = by.transposePitchKeyAware(there, within).midi - 60
        assert degrees.moved(pitch, steps, rising=rising) == wanted


@given(st.sampled_from(sorted(CHURCH)), _IN_MODE)
def test_the_mirror_is_that_of_music21(name: str, line: list[tuple[int, int]]) -> None:
    # music21: Stream.invertDiatonic, about middle C in the key of the stream.
    degrees, ours = Degrees(plain(name)), _line(name, line)
    inverted = stream.Stream([key.Key("C", CHURCH[name])])
    for pitch in ours:
        written = next(p for p in key.Key("C", CHURCH[name]).pitches if (p.midi - pitch) % 12 == 0)
        inverted.append(note.Note(written.name, octave=5 + pitch // 12 - 1))
    inverted = inverted.invertDiatonic(note.Note("C4"))
    theirs = [one.pitch.midi - 60 for one in inverted.recurse().notes]
    found = [
        degrees.mirrored(pitch, 0, rising=rising)
        for pitch, rising in zip(ours, rising_at(ours), strict=True)
    ]
    assert found == theirs


@given(st.sampled_from(sorted(CHURCH)), _IN_MODE, st.integers(-10, 10), st.integers(0, 6))
def test_moving_there_and_back_and_turning_twice_change_nothing(
    name: str, line: list[tuple[int, int]], steps: int, about: int
) -> None:
    degrees, ours = Degrees(plain(name)), _line(name, line)
    axis = plain(name).ascent[about]
    ways = rising_at(ours)
    for pitch, rising in zip(ours, ways, strict=True):
        there = degrees.moved(pitch, steps, rising=rising)
        assert degrees.moved(there, -steps, rising=rising) == pitch
        over = degrees.mirrored(pitch, axis, rising=rising)
        assert degrees.mirrored(over, axis, rising=not rising) == pitch


@given(st.sampled_from(sorted(CHURCH)), _IN_MODE, st.integers(-10, 10))
def test_a_step_up_stays_up_when_moved_and_goes_down_when_turned(
    name: str, line: list[tuple[int, int]], steps: int
) -> None:
    degrees, ours = Degrees(plain(name)), _line(name, line)
    ways = rising_at(ours)
    there = degrees.moved_together(ours, ways, steps)
    over = [degrees.mirrored(p, 7, rising=r) for p, r in zip(ours, ways, strict=True)]
    for at in range(1, len(ours)):
        up = (ours[at] > ours[at - 1]) - (ours[at] < ours[at - 1])
        assert (there[at] > there[at - 1]) - (there[at] < there[at - 1]) == up
        assert (over[at] > over[at - 1]) - (over[at] < over[at - 1]) == -up


def test_seven_steps_of_a_mode_of_seven_tones_are_an_octave() -> None:
    assert moved("bhairav", "S r G m P d N S'", 7) == "S' r' G' m' P' d' N' S''"


@pytest.mark.parametrize(
    ("name", "text", "steps", "found"),
    [
        # Five tones up, seven down: the rise goes along S g m P n, the fall along S' n D P m g R S.
        ("bhimpalasi", "n, S g m P n S'", -1, "P, n, S g m P n"),
        ("bhimpalasi", "S' n D P m g R S", -2, "D P m g R S n, D,"),
        # Both forms of Ni: N going up, n coming down.
        ("khamaj", "S G m P D N S'", 1, "G m P D N S' G'"),
        ("khamaj", "S' n D P m G R S", -1, "n D P m G R S n,"),
        # Five tones: a step is from one of them to the next.
        ("malkauns", "S g m d n S'", 2, "m d n S' g' m'"),
        ("durga", "S' D P m R S", -1, "D P m R S D,"),
        # Bageshri touches P on a way up within its descent: it goes along all degrees, and D with
        # it, or the rise would be lost.
        ("bageshri", "m P D", -2, "S g m"),
    ],
)
def test_moved_along_the_paths(name: str, text: str, steps: int, found: str) -> None:
    assert moved(name, text, steps) == found


def test_a_foreign_tone_goes_with_the_degree_below_it() -> None:
    # Charukeshi has n: N is a raised n, moved down a third it is a raised P.
    assert moved("charukeshi", "S N", -2) == "d, d"
    assert mirrored("bilawal", "S g", "S") == "S n,"


@pytest.mark.parametrize(
    ("old", "new", "text", "found"),
    [
        ("bilawal", "marwa", "S R G m D N S'", "S r G M D N S'"),
        ("bilawal", "marwa", "S P S'", "S M S'"),  # Marwa has no Pa: its nearest tone
        ("bilawal", "khamaj", "S N S' N S", "S N S' n S"),  # up N, down n
        ("khamaj", "bhairavi", "P D N S' n D", "P d n S' n d"),
        ("malkauns", "bilawal", "S g m d n S'", "S G m D N S'"),
        ("bilawal", "malkauns", "S R S", "S g S"),
    ],
)
def test_the_same_degrees_in_another_mode(old: str, new: str, text: str, found: str) -> None:
    assert taken(old, new, text) == found


def test_southern_names_count_by_svara() -> None:
    # Chalanata is S R3 G3 M1 P D3 N3: its second and sixth are written g and n here.
    tones = tuple(map(SARGAM.index, "SgGmPnN"))
    chalanata = Mode(name="Chalanata", ascent=(*tones, 12), descent=(12, *tones[::-1]))
    major = Degrees(plain("bilawal"))
    ups = [major.taken_into(Degrees(chalanata), p, rising=True) for p in plain("bilawal").ascent]
    assert ups == [*tones, 12]


@given(st.lists(st.integers(-12, 24), max_size=12))
def test_the_way_of_a_note_is_that_in_which_it_is_reached(line: list[int]) -> None:
    ways = rising_at(line)
    assert len(ways) == len(line)
    for at in range(1, len(line)):
        if line[at] != line[at - 1]:
            assert ways[at] == (line[at] > line[at - 1])
        else:
            assert ways[at] == ways[at - 1]


_MODES = ("bhimpalasi", "khamaj", "bageshri", "kedar", "desh", "yaman", "bihag", "durga", "lalit")


@given(st.sampled_from(_MODES), st.data(), st.integers(-7, 7))
def test_a_line_in_its_mode_rises_and_falls_as_it_did(
    name: str, data: st.DataObject, steps: int
) -> None:
    here = mode(name)
    path = data.draw(st.sampled_from([*here.ascents, *here.descents]))
    line = list(path[data.draw(st.integers(0, 3)) :])
    there = Degrees(here).moved_together(line, rising_at(line), steps)
    for at in range(1, len(line)):
        assert (there[at] > there[at - 1]) == (line[at] > line[at - 1])


@given(st.sampled_from(_MODES), st.lists(st.integers(-12, 24), max_size=10), st.integers(-7, 7))
def test_no_line_finds_a_better_way_than_every_way_tried(
    name: str, line: list[int], steps: int
) -> None:
    # Brute force over all that a note may become: fewest lost directions, then fewest notes that
    # leave their own way.
    line = line[:6]
    degrees, ways = Degrees(mode(name)), rising_at(line)
    choices = [degrees._choices(p, steps, rising=r) for p, r in zip(line, ways, strict=True)]

    def price(found: tuple[int, ...]) -> int:
        lost = sum(
            ((b > a) - (b < a)) != ((y > x) - (y < x))
            for a, b, x, y in zip(line, line[1:], found, found[1:], strict=False)
        )
        return 10 * lost + sum(own.index(one) for own, one in zip(choices, found, strict=True))

    there = tuple(degrees.moved_together(line, ways, steps))
    assert price(there) == min(map(price, product(*choices)))
