"""The table of a mode's movement, worked out again from the definition without a table.

how-it-judges.md, 'The mode's grammar': what a phrase or a path allows, it allows where its
surroundings are.
"""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st
from support.path_tones import in_direction

from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Moves, straight_steps
from cyclechart.theory.ways import Ways, read_on

UP, DOWN = (0, 2, 4, 5, 7, 9, 11, 12), (12, 11, 9, 7, 5, 4, 2, 0)


def test_straight_steps_are_octave_free() -> None:
    steps = straight_steps(UP, rising=True)
    assert (0, 4) in steps
    assert (11, 1) in steps
    assert (11, 3) in steps  # N to R' over S'
    assert (4, -2) not in steps
    assert straight_steps(DOWN, rising=False) == {((t + s) % 12, -s) for t, s in steps}


def test_a_path_that_begins_below_sa_joins_on_where_both_copies_have_a_tone() -> None:
    # N, r G M D N D S': read on, N and D are where the octave's copies meet, and S' to r' is not.
    steps = straight_steps((-1, 1, 4, 6, 9, 11, 9, 12), rising=True)
    assert (11, 2) in steps  # N to r' (N, r an octave up)
    assert (11, 1) not in steps  # N to S'
    assert (9, 3) in steps  # D to S'


pitches = st.integers(-24, 36)
few = st.integers(-2, 14)
paths = st.lists(few, min_size=2, max_size=9)
five = st.tuples(st.none() | few, few, few, few, st.none() | few)


def has(ways: Sequence[Sequence[int]], around: Sequence[int | None], first: int) -> bool:
    """A way has these notes in an octave, the inner ones at least; where it or the breath ends no
    more is asked. ``first``: the number of the notes of ``around`` that may be wanting at its
    beginning."""
    inner = [pitch for pitch in around[first : len(around) - 1] if pitch is not None]
    for way in ways:
        path = [p for i, p in enumerate(way) if i == 0 or p != way[i - 1]]
        for at in range(len(path) - len(inner) + 1):
            by = inner[0] - path[at]
            if by % 12 or any(path[at + n] + by != pitch for n, pitch in enumerate(inner)):
                continue
            before = path[at - 1] + by if at else None
            after = path[at + len(inner)] + by if at + len(inner) < len(path) else None
            if all(
                None in (own, own_of_line) or own == own_of_line
                for own, own_of_line in ((before, around[0]), (after, around[-1]))
            ):
                return True
    return False


def all_ways(
    ascents: list[list[int]], descents: list[list[int]], phrases: list[list[int]]
) -> list[tuple[int, ...]]:
    found = [tuple(phrase) for phrase in phrases]
    for printed, octave in ((ascents, 12), (descents, -12)):
        for path in printed:
            found.append(tuple(path))
            copy = [pitch + octave for pitch in path]
            for at, pitch in enumerate(path):
                if pitch in copy:
                    found.append((*path[:at], *copy[copy.index(pitch) :]))
    return found


@given(
    st.lists(paths, min_size=1, max_size=2),
    st.lists(paths, min_size=1, max_size=2),
    st.lists(paths, max_size=3),
    five,
)
def test_the_table_says_what_the_paths_and_phrases_say(
    ascents: list[list[int]],
    descents: list[list[int]],
    phrases: list[list[int]],
    around: tuple[int | None, int, int, int, int | None],
) -> None:
    moves = Moves.of(ascents, descents, phrases)
    _, before, this, after, last = around
    up = {tone for path in ascents for tone in in_direction(path, rising=True)}
    down = {tone for path in descents for tone in in_direction(path, rising=False)}
    held = {pitch % 12 for phrase in (*ascents, *descents, *phrases) for pitch in phrase}
    ways = all_ways(ascents, descents, phrases)
    own = has(ways, around, 1)
    expected = None
    if this % 12 not in held:
        expected = "foreign-tone"
    elif before < this < after and this % 12 not in up and not own:
        expected = "left-out-going-up"
    elif before > this > after and this % 12 not in down and not own:
        expected = "left-out-coming-down"
    assert moves.fault_at(around) == expected
    assert moves.is_own(around) == own
    assert moves.is_own_step(before, this, after, last) == has(ways, around[1:], 1)


@given(paths, paths, st.integers(-2, 2), five)
def test_the_table_is_octave_free(
    ascent: list[int],
    descent: list[int],
    octaves: int,
    around: tuple[int | None, int, int, int, int | None],
) -> None:
    moves = Moves.of([ascent], [descent], [ascent])
    first, b, t, a, last = (None if p is None else p + 12 * octaves for p in around)
    assert b is not None
    assert t is not None
    assert a is not None
    moved = (first, b, t, a, last)
    assert moves.fault_at(around) == moves.fault_at(moved)
    assert moves.skips_turn(around) == moves.skips_turn(moved)
    assert moves.turns_on_left_out(around) == moves.turns_on_left_out(moved)


@given(st.lists(paths, max_size=3), five)
def test_what_may_come_after_a_passage_is_what_the_ways_have(
    ways: list[list[int]], around: tuple[int | None, int, int, int, int | None]
) -> None:
    table = Ways.of(ways)
    first, before, this, after, last = around
    reached = None if first is None else before - first
    afters = table.afters(reached, this - before, this % 12, after - this)
    fits = bool(afters) and (last is None or None in afters or last - after in afters)
    assert fits == table.has_passage(
        reached,
        this - before,
        this % 12,
        after - this,
        None if last is None else last - after,
    )
    # Where a passage does not ask for the note before, any will do.
    if not table.asks_before(this % 12, this - before) and first is not None:
        assert afters == table.afters(None, this - before, this % 12, after - this)


def test_a_path_is_read_on_where_its_copies_meet() -> None:
    assert list(read_on((0, 4, 7, 12), 12)) == [(0, 4, 7, 12), (0, 4, 7, 12, 16, 19, 24)]
    assert list(read_on((1, 4, 7), 12)) == [(1, 4, 7)]
    assert list(read_on((12, 7, 0), -12)) == [(12, 7, 0), (12, 7, 0, -5, -12)]


def test_a_mode_has_one_table() -> None:
    mode = Mode(name="Straight", ascent=UP, descent=DOWN)
    assert mode.moves is mode.moves
