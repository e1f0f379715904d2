"""The table of a mode's movement."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Moves, straight_steps

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
paths = st.lists(pitches, min_size=2, max_size=12)


@given(paths, paths, st.lists(paths, max_size=3), st.lists(pitches, min_size=3, max_size=3))
def test_the_table_says_what_the_paths_and_phrases_say(
    ascent: list[int], descent: list[int], phrases: list[list[int]], three: list[int]
) -> None:
    """Worked out again from the definition of how-it-judges, without a table."""
    moves = Moves.of(ascent, descent, phrases)
    before, this, after = three
    up, down = ({pitch % 12 for pitch in path} for path in (ascent, descent))
    held = {pitch % 12 for phrase in phrases for pitch in phrase}
    own = False
    for phrase in phrases:
        path = [p for i, p in enumerate(phrase) if i == 0 or p != phrase[i - 1]]
        for at in range(len(path) - 2):
            same = [p - path[at + 1] for p in path[at : at + 3]] == [p - this for p in three]
            own = own or (same and path[at + 1] % 12 == this % 12)
    expected = None
    if this % 12 not in up | down | held:
        expected = "foreign-tone"
    elif before < this < after and this % 12 not in up and not own:
        expected = "left-out-going-up"
    elif before > this > after and this % 12 not in down and not own:
        expected = "left-out-coming-down"
    assert moves.fault(before, this, after) == expected
    assert moves.is_own(before, this, after) == own


@given(paths, paths, st.integers(-2, 2), st.lists(pitches, min_size=3, max_size=3))
def test_the_table_is_octave_free(
    ascent: list[int], descent: list[int], octaves: int, three: list[int]
) -> None:
    moves = Moves.of(ascent, descent, [ascent])
    before, this, after = three
    b, t, a = (pitch + 12 * octaves for pitch in three)
    assert moves.fault(before, this, after) == moves.fault(b, t, a)
    assert moves.is_skipped(this, after) == moves.is_skipped(t, a)
    assert moves.turns_left_out(before, this, after) == moves.turns_left_out(b, t, a)


def test_a_mode_has_one_table() -> None:
    mode = Mode(name="Straight", ascent=UP, descent=DOWN)
    assert mode.moves is mode.moves
