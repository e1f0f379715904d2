"""Trades in any order, with a player as often as they are named: timeline, sound, road map."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.sheet.road_map import road_map_of
from cyclechart.arrange.timeline import SoloTurn, Timeline
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Trade

PLAYERS = ("trumpet", "tenor-sax", "guitar", "double-bass", "drum-kit", "tabla")
ROLES = ("melody", "melody", "voicings", "pedal", "theka", "theka")
BAND = "players:\n" + "".join(
    f"  {name}: {{plays: {role}}}\n" for name, role in zip(PLAYERS, ROLES, strict=True)
)
HEAD = "lines:\n  head: {lands: free, sargam: S}\n"


def trading(who: list[str], more: str = "", cycle: str = "keherwa") -> Piece:
    step = f"  - {{trade: [{', '.join(who)}], {more or 'cycles: 4'}}}\n"
    return piece_of(f"{BAND}{HEAD}form:\n{step}  - groove: 1\n", cycle=cycle)


def turns_of(timeline: Timeline) -> list[SoloTurn]:
    """The turns of a piece in order, without those that all have together."""
    return [turn for one in timeline.stretches if not one.together for turn in one.turns]


def test_drums_trade_after_every_horn() -> None:
    who = ["trumpet", "drum-kit", "tenor-sax", "drum-kit"]
    piece = trading(who)
    timeline = unroll(piece)
    assert [(turn.player, turn.end - turn.start) for turn in turns_of(timeline)] == [
        (name, 32) for name in who
    ]
    marks = {(marker.at, marker.text) for marker in arrange(piece).markers}
    for turn in turns_of(timeline):
        assert (turn.start, f"trade {turn.player}, 4 cycles") in marks
    box = road_map_of(piece, timeline)[0]
    assert (box.name, box.detail, box.cycles) == (
        "trade Trumpet / Drum Kit / Tenor Sax / Drum Kit", "4 cycles each", 16,
    )  # fmt: skip
    assert box.players == ("trumpet", "drum-kit", "tenor-sax")


@settings(deadline=None, max_examples=60)
@given(
    who=st.lists(st.sampled_from(PLAYERS), min_size=2, max_size=6).filter(
        lambda names: len(set(names)) > 1
    ),
    cycles=st.integers(1, 4),
    times=st.integers(1, 3),
    halves=st.booleans(),
)
def test_every_turn_is_as_long_as_its_share(
    who: list[str], cycles: int, times: int, halves: bool
) -> None:
    step = Trade(
        spot=PIECE.steps[0].spot, times=times, state=PIECE.state, players=tuple(who),
        cycles=cycles, halves=halves,
    )  # fmt: skip
    halves = halves and len(step.shares) > 1  # else the piece has a finding, and none is made
    more = f"cycles: {cycles}, times: {times}" + (", halves: true" if halves else "")
    piece = trading(who, more)
    shares = step.shares if halves else (Fraction(cycles),)
    expected = [(name, share * 8) for _ in range(times) for share in shares for name in who]
    turns = turns_of(unroll(piece))
    assert [(turn.player, turn.end - turn.start) for turn in turns] == expected
    # The turns follow one another; where it halves, a cycle of all lies between two rounds.
    gaps = [after.start - before.end for before, after in pairwise(turns)]
    assert [gap for gap, _ in groupby(sorted(gaps))] in ([0], [0, 8])


PIECE = trading(["trumpet", "drum-kit"])


@pytest.mark.parametrize(
    "who",
    [
        ["trumpet", "drum-kit", "tenor-sax", "drum-kit"],
        ["drum-kit", "trumpet", "drum-kit"],
        ["double-bass", "double-bass", "trumpet", "guitar", "double-bass"],
    ],
)
@pytest.mark.parametrize("more", ["cycles: 2", "cycles: 2, times: 2", "cycles: 1, halves: true"])
def test_nobody_is_accompanied_by_themselves(who: list[str], more: str) -> None:
    if "halves" in more and len(who) % 2:
        who = [*who, "tabla"]
    piece = trading(who, more)
    turns = turns_of(unroll(piece))
    for part in arrange(piece).parts:
        starts = [sound.start for sound in (*part.sounds, *part.hits)]
        drummer = part.name in ("drum-kit", "tabla")
        for turn in turns:
            inside = [at for at in starts if turn.start <= at < turn.end]
            own = turn.player == part.name
            if own or (drummer and turn.player in ("drum-kit", "tabla")):
                assert not inside, (part.name, turn)
            elif drummer:
                assert inside, (part.name, turn)


def test_it_takes_two_players() -> None:
    found = findings_of(
        f"title: A\ntonic: D\nmode: kafi\ncycle: keherwa\ntempo: 90\n{BAND}{HEAD}"
        "form:\n  - {trade: [trumpet, trumpet], cycles: 2}\n"
    )
    assert "trading needs two players or more" in [finding.message for finding in found]


def test_who_takes_no_solo_is_told_so_once() -> None:
    found = findings_of(
        f"title: A\ntonic: D\nmode: kafi\ncycle: keherwa\ntempo: 90\n{BAND}"
        f"  tanpura: {{plays: drone}}\n{HEAD}"
        "form:\n  - {trade: [trumpet, tanpura, drum-kit, tanpura], cycles: 2}\n"
    )
    assert sum(finding.message.startswith("tanpura") for finding in found) == 1
