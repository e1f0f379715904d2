"""The cheapest breath: what a cost weighs, and the choices that it leaves."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.cheapest_breath import DOUBLED, Search, Weights
from cyclechart.theory.mode import Mode

S, R, G, M, P = 0, 2, 4, 5, 7
GAPPED = Mode(name="gapped", ascent=(S, G, M, P, 12), descent=(12, P, M, G, R, S))
"""Its ascent leaves R out."""

counts = st.lists(st.integers(0, 50), min_size=4, max_size=4)


@given(counts, counts, st.booleans())
def test_a_cost_is_compared_digit_by_digit(
    one: list[int], other: list[int], skips_first: bool
) -> None:
    """Changed notes, other svaras, skipped turns, semitones: a lesser thing never adds up to a
    greater one."""
    weights = Weights.of(50, skips_first=skips_first)

    def cost(counted: list[int]) -> int:
        changed, svaras, skips, semitones = counted
        return (
            changed * weights.changed
            + svaras * weights.another_svara
            + skips * weights.skipped
            + semitones
        )

    def order(counted: list[int]) -> list[int]:
        return [counted[2], *counted] if skips_first else counted

    assert (cost(one) < cost(other)) == (order(one) < order(other))


def test_a_price_counts_the_note_each_time_it_is_struck() -> None:
    weights = Weights(changed=1_000_000, another_svara=1_000, skipped=0)
    assert weights.price(10, 10, 3) == 0
    assert weights.price(10, 11, 1) == 1_000_001  # n and N are forms of one svara
    assert weights.price(10, 9, 1) == 1_001_001
    assert weights.price(10, 7, 3) == 3 * 1_001_003
    assert weights.price(-2, 10, 1) == 1_000_012


def search() -> Search:
    return Search(GAPPED.moves, Weights.of(1_000, skips_first=False))


def test_a_choice_with_a_fault_is_not_taken_however_cheap() -> None:
    middle = [(R, 0), (M, 900), (G, 901)]
    assert search().cheapest([[(S, 0)], middle, [(P, 0)]], [False] * 3) == [S, M, P]
    assert search().cheapest([[(P, 0)], middle, [(S, 0)]], [False] * 3) == [P, R, S]
    assert search().cheapest([[(S, 0)], [(R, 0)], [(P, 0)]], [False] * 3) is None


def test_a_note_that_is_meant_is_at_no_fault() -> None:
    breath = [[(S, 0)], [(R, 0)], [(P, 0)]]
    one = search()
    assert one.cheapest(breath, [False, True, False]) == [S, R, P]
    assert one.cheapest(breath, [False, False, False]) is None  # nothing of that is remembered
    assert one.cheapest(breath, [True, False, True]) is None
    foreign = [[(S, 0)], [(6, 0)]]
    assert one.cheapest(foreign, [False, True]) == [S, 6]
    assert one.cheapest(foreign, [False, False]) is None
    assert one.cheapest([[(6, 0)], [(S, 0)]], [True, False]) == [6, S]


def test_a_doubled_note_costs_its_semitones_and_of_equal_costs_the_first_is_taken() -> None:
    after = [(S, 0), (G, DOUBLED)]
    assert search().cheapest([[(S, 0)], after], [False] * 2) == [S, S]
    assert search().cheapest([[(S, 0)], after[::-1]], [False] * 2) == [S, G]
    assert search().cheapest([[(S, 0)], [(S, 1), (G, DOUBLED)]], [False] * 2) == [S, G]


def test_a_skipped_turn_costs_more_than_any_semitones() -> None:
    """Its descent turns up from G to m: m straight down to G is never done."""
    crooked = Mode(name="crooked", ascent=(S, G, M, P, 12), descent=(12, P, G, M, R, S))
    moves = crooked.moves
    assert moves.never_straight(M, G) and not moves.never_straight(P, G)
    weights = Weights.of(1_000, skips_first=False)
    choices = [[(M, 0), (P, 900)], [(G, 0)]]
    assert Search(moves, weights).cheapest(choices, [False] * 2) == [P, G]
