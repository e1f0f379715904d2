"""Drummers around a solo of their own: who keeps time, and on which beats."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.making import piece_of
from support.timelines import cycle, mode, player, stretch, timeline_of

from cyclechart.arrange.roles.drummer import drummer_part
from cyclechart.arrange.score import Hit
from cyclechart.arrange.timeline import Timeline

TINTAL = cycle("tintal")
PIECE = piece_of("players: {alto-sax: , tabla: , drum-kit: }\nlines:\n  head: {sargam: S}\n")
CYMBALS = {42, 51}
"""Closed hi-hat and ride, keys of the General MIDI percussion map."""


def hits_of(name: str, timeline: Timeline) -> tuple[Hit, ...]:
    return drummer_part(PIECE, timeline, player(name, "theka")).hits


@pytest.mark.parametrize(
    ("sharing", "kept"),
    [
        (("drum-kit", "alto-sax"), set(range(8, 16))),
        (("alto-sax", "drum-kit"), set(range(8))),
        (("alto-sax", "drum-kit", "tabla", "violin"), {0, 1, 2, 3, 12, 13, 14, 15}),
        (("alto-sax",), set(range(16))),
    ],
)
@pytest.mark.parametrize("name", ["drum-kit", "tabla"])
def test_time_is_kept_in_the_part_of_a_cycle_in_which_no_drummer_plays_alone(
    name: str, sharing: tuple[str, ...], kept: set[int]
) -> None:
    one = stretch(TINTAL, mode("yaman"), 1, sharing=sharing, split=True)
    hits = hits_of(name, timeline_of(one))
    if name == "drum-kit":
        hits = tuple(hit for hit in hits if hit.key in CYMBALS)
    assert {int(hit.start) for hit in hits if hit.start.denominator == 1} == kept


@pytest.mark.parametrize("name", ["drum-kit", "tabla"])
def test_a_solo_of_a_whole_stretch_silences_both_drummers_and_time_goes_on_after_it(
    name: str,
) -> None:
    alone = stretch(TINTAL, mode("yaman"), 2, soloist="tabla")
    hits = hits_of(name, timeline_of(alone, stretch(TINTAL, mode("yaman"), 1)))
    assert min(hit.start for hit in hits) == 32
    assert max(hit.start for hit in hits) >= 47
    of_sax = replace(alone, soloist="alto-sax")
    assert min(hit.start for hit in hits_of(name, timeline_of(of_sax))) == 0
