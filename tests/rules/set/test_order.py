"""Another order of a set: moves of one tune, each counted by its waits."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.gigs import gig

from cyclechart.piece.set.gig import Gig, GigItem, GigTune, changes_in
from cyclechart.piece.set.setlist import Break
from cyclechart.rules.set.order import better_order


def waits(one: Gig, items: list[GigItem]) -> int:
    return sum(change.minutes > 0 for change in changes_in(items, one.setlist.retune))


def with_one_moved(items: list[GigItem]) -> list[tuple[int, list[GigItem]]]:
    """(how far, the items) for each tune but the first and last in each place but theirs."""
    tunes = [item for item in items if isinstance(item, GigTune)]
    found = []
    for old in range(1, len(tunes) - 1):
        for new in range(1, len(tunes) - 1):
            if new != old:
                order = [*tunes[:old], *tunes[old + 1 :]]
                order.insert(new, tunes[old])
                left = iter(order)
                moved: list[GigItem] = [
                    next(left) if isinstance(item, GigTune) else item for item in items
                ]
                found.append((abs(new - old), moved))
    return found


@pytest.mark.parametrize(
    "names",
    [
        "d g d2 g2",
        "d g",
        "d g d2",
        "d g a d2",
        "d d2 g g2",
        "d g a d2 g2 d3 g3",
        "d a g break d2 g2 d3",
        "g d break g2 d2 g3 a",
        "d g d2 break g2 d3 g3",
    ],
)
def test_one_tune_after_another_moves_to_where_it_saves_most(tmp_path: Path, names: str) -> None:
    entries = ["{break: 9}" if name == "break" else f"on-{name}.yaml" for name in names.split()]
    one = gig(tmp_path, f"pieces: [{', '.join(entries)}]")
    items = list(one.items)
    start = waits(one, items)
    while True:
        least = waits(one, items)
        better = [(waits(one, moved), far, moved) for far, moved in with_one_moved(items)]
        better = [each for each in better if each[0] < least]
        if not better:
            break
        items = min(better, key=lambda each: each[:2])[2]
    expected = list(items) if waits(one, items) < start else None
    found = better_order(one)
    assert found == expected
    if found is not None:
        places = [at for at, item in enumerate(one.items) if isinstance(item, Break)]
        assert [at for at, item in enumerate(found) if isinstance(item, Break)] == places


@pytest.mark.parametrize(("count", "found"), [(20, True), (21, False)])
def test_of_more_than_twenty_tunes_no_order_is_looked_for(
    tmp_path: Path, count: int, found: bool
) -> None:
    names = ["on-d", "on-g", "on-d2", *["on-g2"] * (count - 3)]
    one = gig(tmp_path, f"pieces: [{', '.join(f'{name}.yaml' for name in names)}]")
    assert (better_order(one) is not None) == found
