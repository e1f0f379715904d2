"""What the movement of a mode, a part's place in a range and a drill are, worked out anew.

Each definition here is slow and plain, from how-it-judges.md, and shares no code with the package.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction as F
from itertools import pairwise, product
from math import prod

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.path_tones import in_direction

from cyclechart.theory.drill import PATTERNS, Drill, drills
from cyclechart.theory.grammar import REACH, judge_breath, repair_breath
from cyclechart.theory.leaning import chief_tones, phrases_used
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import straight_steps
from cyclechart.theory.ranges import Range, better_octave, lie
from cyclechart.theory.turns import LONGEST_WAY, turns, ways_between
from cyclechart.theory.ways import read_on

Path = Sequence[int]


def without_repeats(pitches: Path) -> list[tuple[int, int]]:
    """(index of the first of it, pitch) of each run."""
    found: list[tuple[int, int]] = []
    for index, pitch in enumerate(pitches):
        if not found or found[-1][1] != pitch:
            found.append((index, pitch))
    return found


# Few tones, so that notes are struck again and legal breaths differ in little.
FEW = st.sampled_from([-1, 0, 1, 2, 3, 5, 7, 8, 10, 12])
GAPPED = Mode(
    name="gapped",
    ascent=(0, 3, 5, 7, 10, 12),
    descent=(12, 10, 8, 7, 5, 3, 2, 0),
    phrases=((0, 2, 3),),
)
BENT = Mode(name="bent", ascent=(-1, 1, 4, 6, 9, 11, 9, 12), descent=(12, 11, 9, 6, 4, 1, 0))
PLAIN = Mode(name="plain", ascent=(0, 2, 4, 5, 7, 9, 11, 12), descent=(12, 11, 9, 7, 5, 4, 2, 0))
MODES = st.sampled_from([GAPPED, BENT, PLAIN])


SVARA = "SRRGGMMPDDNN"


def cost(mode: Mode, before: Path, after: Path) -> tuple[int, int, int, int]:
    """Changed notes, those of another svara, moves that skip a turn, semitones."""
    pairs = list(zip(before, after, strict=True))
    own = {
        (a % 12, b - a)
        for way in (*read_on(mode.ascent, 12), *read_on(mode.descent, -12), *mode.phrases)
        for a, b in pairwise(way)
    }
    doubled = sum(
        before[i] != before[i - 1] and after[i] == after[i - 1] for i in range(1, len(before))
    )
    skips = 0
    for (_, this), (_, following) in pairwise(without_repeats(after)):
        rises = following > this
        path = mode.ascent if rises else mode.descent
        tones = in_direction(path, rising=rises)
        both = this % 12 in tones and following % 12 in tones and abs(following - this) <= 12
        skips += (
            both
            and not straight(path, this, following)
            and (this % 12, following - this) not in own
        )
    return (
        sum(a != b for a, b in pairs),
        sum(SVARA[a % 12] != SVARA[b % 12] for a, b in pairs),
        skips,
        sum(abs(a - b) for a, b in pairs) + 2 * doubled,
    )


@settings(max_examples=60, deadline=None)
@given(MODES, st.lists(FEW, min_size=1, max_size=6), st.sets(st.integers(0, 5), max_size=2))
def test_a_repair_around_notes_that_are_meant_is_the_cheapest_of_all(
    mode: Mode, breath: list[int], kept: set[int]
) -> None:
    kept = {index for index in kept if index < len(breath)}
    runs = without_repeats(breath)
    number_of = [sum(start <= index for start, _ in runs) - 1 for index in range(len(breath))]
    held = {number_of[index] for index in kept}

    def faults(pitches: Path) -> set[int]:
        """The runs at fault but for those that are meant so."""
        return {number_of[verdict.index] for verdict in judge_breath(mode, pitches)} - held

    at_fault = faults(breath)
    mended = repair_breath(mode, breath, kept)
    if not at_fault:
        assert mended == breath
        return
    for spread in (0, 1, 2, len(runs)):
        options = []
        for number, (_, pitch) in enumerate(runs):
            near = any(abs(number - fault) <= spread for fault in at_fault)
            reach = range(pitch - REACH, pitch + REACH + 1)
            tones = [other for other in reach if other % 12 in mode.tones]
            options.append({pitch, *tones} if near and number not in held else {pitch})
        if prod(map(len, options)) > 400:
            return  # too many to try them all
        ways = [[chosen[number] for number in number_of] for chosen in product(*options)]
        legal = [cost(mode, breath, other) for other in ways if not faults(other)]
        if legal:
            assert mended is not None
            assert not faults(mended)
            assert all(mended[index] == breath[index] for index in kept)
            assert cost(mode, breath, mended) == min(legal)
            return


@pytest.mark.parametrize(
    ("breath", "mended"),
    [
        # Both G and R have to give way: the sum of semitones is the least, 1 + 1 and not more.
        ([4, 5, 4, 5, 4], [3, 5, 3, 5, 3]),
        ([4, 4, 4], [3, 3, 3]),
        ([6, 7, 6], [5, 7, 5]),  # of two as near the lower
        ([11], [10]),
        ([], []),
    ],
)
def test_repairs_worked_by_hand(breath: list[int], mended: list[int]) -> None:
    assert repair_breath(GAPPED, breath) == mended


def test_a_note_that_is_meant_stands_and_is_at_no_fault() -> None:
    assert repair_breath(GAPPED, [4, 5, 4], [0]) == [4, 5, 3]
    assert repair_breath(GAPPED, [4, 4, 5, 4], [1]) == [4, 4, 5, 3]
    assert repair_breath(GAPPED, [4, 5, 4, 4], [2]) == [3, 5, 4, 4]
    assert repair_breath(GAPPED, [4, 5], [0, 1]) == [4, 5]
    assert repair_breath(GAPPED, [5, 4], [1]) == [5, 4]


# Straight moves and turns


def straight(path: Path, this: int, after: int) -> bool:
    """A path, or it and its copy an octave on from a pitch that both have, goes straight so."""
    up = after > this
    copy = [pitch + (12 if up else -12) for pitch in path]
    ways = [list(path)]
    for at, pitch in enumerate(path):
        if pitch in copy:
            ways.append([*path[:at], *copy[copy.index(pitch) :]])
    for way in ways:
        for first in range(len(way)):
            for last in range(first + 1, len(way)):
                part = way[first : last + 1]
                steady = all((b > a) if up else (b < a) for a, b in pairwise(part))
                if steady and part[0] % 12 == this % 12 and part[-1] - part[0] == after - this:
                    return True
    return False


PATHS = st.lists(st.integers(-3, 15), min_size=2, max_size=7)


@given(PATHS, st.booleans())
def test_the_straight_steps_of_a_path_are_those_that_it_makes(
    path: list[int], rising: bool
) -> None:
    found = straight_steps(path, rising=rising)
    for tone in range(12):
        for step in range(1, 25):
            by = step if rising else -step
            assert ((tone, by) in found) == straight(path, tone, tone + by), (tone, by)


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(
        MODES,
        st.builds(
            lambda up, down, phrase: Mode(
                name="drawn", ascent=tuple(up), descent=tuple(down), phrases=(tuple(phrase),)
            ),
            PATHS,
            PATHS,
            st.lists(FEW, min_size=2, max_size=4),
        ),
    ),
    st.lists(st.integers(-6, 19), min_size=1, max_size=7),
)
def test_turns_are_those_of_the_definition(mode: Mode, breath: list[int]) -> None:
    up = in_direction(mode.ascent, rising=True)
    down = in_direction(mode.descent, rising=False)
    known = {pitch % 12 for path in (mode.ascent, mode.descent, *mode.phrases) for pitch in path}
    ways = [*read_on(mode.ascent, 12), *read_on(mode.descent, -12), *mode.phrases]
    ways = [tuple(pitch for _, pitch in without_repeats(way)) for way in ways]

    def has(before: int | None, notes: Path, after: int | None) -> bool:
        """A way passes through these notes, in some octave; where it and the breath go on it has
        the notes around them."""
        for way in ways:
            for at in range(len(way) - len(notes) + 1):
                by = notes[0] - way[at]
                if by % 12 or [p + by for p in way[at : at + len(notes)]] != list(notes):
                    continue
                end = at + len(notes)
                left = None if before is None or not at else way[at - 1] + by - before
                right = None if after is None or end == len(way) else way[end] + by - after
                if not left and not right:
                    return True
        return False

    def beside_sa(before: int | None, this: int, after: int | None) -> bool:
        """The tone below Sa before it, or the one above it between two Sa."""
        if before is None or after is None or after % 12:
            return False
        return (this < before and 0 < after - this <= 2) or (
            before == after and 0 < this - after <= 2
        )

    runs = without_repeats(breath)
    path = [pitch for _, pitch in runs]
    expected: list[tuple[int, str, str]] = []
    for number, (index, this) in enumerate(runs):
        before2, before = (path[number - n] if number >= n else None for n in (2, 1))
        after, after2 = (path[number + n] if number + n < len(path) else None for n in (1, 2))
        if this % 12 not in known:
            continue
        if before is not None:
            top = this > before and (after is None or after < this)
            bottom = this < before and (after is None or after > this)
            inner = [before, this] if after is None else [before, this, after]
            own = has(before2, inner, after2) or beside_sa(before, this, after)
            if top and this % 12 not in up and not own:
                expected.append((index, "turns-on-left-out", "up"))
            if bottom and this % 12 not in down and not own:
                expected.append((index, "turns-on-left-out", "down"))
        if after is not None and abs(after - this) <= 12:
            rises = after > this
            tones, printed = (up, mode.ascent) if rises else (down, mode.descent)
            both = this % 12 in tones and after % 12 in tones
            skips = both and not straight(printed, this, after)
            touched = beside_sa(before, this, after) or beside_sa(this, after, after2)
            if skips and not touched and not has(before, [this, after], after2):
                expected.append((index, "turn-skipped", "up" if rises else "down"))
    found = [(turn.index, turn.what, turn.going) for turn in turns(mode, breath)]
    assert found == expected


@settings(max_examples=100, deadline=None)
@given(MODES, st.lists(FEW, min_size=2, max_size=5), st.integers(0, 3))
def test_a_way_between_two_notes_is_the_modes_own_and_clean_there(
    mode: Mode, breath: list[int], index: int
) -> None:
    path = [pitch for _, pitch in without_repeats(breath)]
    if index + 1 >= len(path):
        return
    own = [*read_on(mode.ascent, 12), *read_on(mode.descent, -12), *mode.phrases]
    lengths = []
    for way in ways_between(mode, path, index):
        assert (way[0], way[-1]) == (path[index], path[index + 1])
        assert 2 < len(way) <= LONGEST_WAY
        shapes = [
            tuple(p - part[0] + way[0] for p in part)
            for whole in own
            for at in range(len(whole))
            if (part := whole[at : at + len(way)])[0] % 12 == way[0] % 12
        ]
        assert way in shapes
        lengths.append(len(way))
        mended = [*path[:index], *way, *path[index + 2 :]]
        inside = range(max(0, index - 2), index + len(way) + 2)
        assert not [one for one in judge_breath(mode, mended) if one.index in inside]
        assert not [one for one in turns(mode, mended) if one.skips and one.index in inside]
    assert lengths == sorted(lengths)


def test_the_way_between_at_octaves_further_off() -> None:
    assert next(ways_between(BENT, (-1, 0), 0)) == (-1, -3, 0)
    assert next(ways_between(BENT, (35, 36), 0)) == (35, 33, 36)
    assert list(ways_between(BENT, (24, 23), 0)) == []
    assert list(ways_between(BENT, (2, 4), 0)) == []
    assert list(ways_between(BENT, (11, 12), 1)) == []


# What a mode leans on


@given(st.lists(FEW, max_size=4), st.lists(st.lists(FEW, max_size=6), max_size=3))
def test_a_phrase_is_used_just_where_it_stands(phrase: list[int], breaths: list[list[int]]) -> None:
    wanted = [pitch for _, pitch in without_repeats(phrase)]
    stands = False
    for breath in breaths:
        line = [pitch for _, pitch in without_repeats(breath)]
        for at in range(len(line) - len(wanted) + 1):
            by = line[at] - wanted[0] if wanted else 1
            moved = [pitch + by for pitch in wanted]
            stands = stands or bool(
                wanted and by % 12 == 0 and line[at : at + len(wanted)] == moved
            )
    mode = Mode(name="drawn", ascent=(0, 12), descent=(12, 0), phrases=(tuple(phrase),))
    assert bool(phrases_used(mode, breaths)) == stands


def test_the_chief_tones_are_those_that_are_named_once_each() -> None:
    def chief(vadi: int | None, samvadi: int | None) -> tuple[int, ...]:
        return chief_tones(
            Mode(name="m", ascent=(0, 12), descent=(12, 0), vadi=vadi, samvadi=samvadi)
        )

    assert chief(5, 0) == (5, 0)
    assert chief(17, None) == (5,)
    assert chief(None, 7) == (7,)
    assert chief(5, 5) == (5,)
    assert chief(None, None) == ()


# Ranges

KEYS = st.integers(30, 90)
RANGES = st.lists(KEYS, min_size=4, max_size=4).map(lambda four: Range(*sorted(four)))
PARTS = st.lists(st.tuples(KEYS, st.fractions(0, 4, max_denominator=8)), max_size=6)


@given(PARTS, RANGES)
def test_shares_of_a_part_are_sums_of_its_times(part: list[tuple[int, F]], within: Range) -> None:
    whole = sum((time for _, time in part), F(0))
    found = lie(part, within)
    if not whole:
        assert found is None
        return
    out = sum((t for key, t in part if key < within.lowest or key > within.highest), F(0))
    hard = sum((t for key, t in part if key < within.low or key > within.high), F(0)) - out
    assert found is not None
    assert (found.beyond, found.strained) == (out / whole, hard / whole)
    assert (found.bottom, found.top) == (min(k for k, _ in part), max(k for k, _ in part))


def test_of_two_octaves_as_near_the_lower_is_taken_whatever_their_order() -> None:
    # 60 to 61 lies at ease neither here nor two octaves away.
    wide = Range(40, 48, 73, 80)
    assert better_octave(60, 61, wide) == 0
    assert better_octave(60, 61, wide, (1, -1)) == -1
    assert better_octave(60, 61, wide, (2, 1)) == 1
    # At ease in none: where it is possible.
    narrow = Range(40, 50, 51, 75)
    assert better_octave(60, 66, narrow) == 0
    assert better_octave(79, 80, narrow) == -1
    assert better_octave(40, 80, narrow) is None


# Drills


def rows(drill: Drill) -> tuple[list[tuple[int, ...]], int, list[tuple[int, ...]]]:
    """The groups up, the beats of the upper Sa, the groups down."""
    top = max(n for n, beat in enumerate(drill.beats) if beat == (12,) and () in drill.beats[n:])
    held = top + 1
    while held < len(drill.beats) and drill.beats[held] == ():
        held += 1
    groups = [beat for beat in drill.beats if beat is not None]
    return groups[:top], held - top, groups[held:]


@pytest.mark.parametrize("mode", [GAPPED, BENT, PLAIN], ids=lambda mode: mode.name)
@pytest.mark.parametrize("beats", [F(3), F(7), F(16), F(23, 2), F(27, 4)], ids=str)
def test_a_drill_is_its_pattern_from_every_tone_up_to_the_upper_sa_and_back(
    mode: Mode, beats: F
) -> None:
    for found in drills(mode, beats):
        assert len(found.beats) % beats == 0
        if found.name not in PATTERNS or not any(beat == () for beat in found.beats):
            continue
        steps = PATTERNS[found.name]
        up = mode.ascent[: mode.ascent.index(12) + 1]
        rise, held, fall = rows(found)
        for path, groups in ((up, rise), (mode.descent, fall)):
            wanted = []
            for at in range(len(path)):
                group = [path[at + step] for step in steps if at + step < len(path)]
                if len(group) == len(steps) and at < len(path) - 1:
                    wanted.append(tuple(group))
            assert groups == wanted
        firsts = [more for more in range(1, 200) if (len(rise) + len(fall) + more) % beats == 0]
        assert held == firsts[0]


def named(mode: Mode, name: str, beats: F) -> Drill | None:
    return next((one for one in drills(mode, beats) if one.name == name), None)


def test_a_path_that_runs_on_over_sa_is_drilled_from_sa_to_sa() -> None:
    mode = Mode(
        name="long", ascent=(0, 2, 4, 7, 9, 12, 14, 16), descent=(14, 12, 9, 7, 4, 2, 0, -3, -5)
    )
    found = named(mode, "twos", F(4))
    assert found is not None
    assert found.beats == (
        (0, 2), (2, 4), (4, 7), (7, 9), (9, 12), (12,), (), (12, 9), (9, 7), (7, 4), (4, 2), (2, 0),
    )  # fmt: skip
    # In a cycle of 5/4 ten groups and five beats are the first to come out, and 5 is four cycles.
    quarters = named(mode, "twos", F(5, 4))
    assert quarters is not None
    assert len(quarters.beats) == 15


def test_no_drill_where_the_path_is_too_short_for_it_or_goes_another_way() -> None:
    short = Mode(name="short", ascent=(0, 7, 12), descent=(12, 9, 7, 4, 2, 0))
    assert named(short, "fours", F(4)) is None
    assert named(short, "twos", F(4)) is not None
    # D would be the top of a rise there, and the ascent leaves it out.
    assert named(short, "threes", F(4)) is None
    upside = Mode(name="upside", ascent=(0, 2, 4, 7, 9, 12), descent=(12, 7, 0))
    assert named(upside, "fours", F(4)) is None
    # Thirds up its path would skip the turn N D S', and are left out.
    assert named(BENT, "skips", F(4)) is None
    assert named(BENT, "pieces", F(4)) is not None
