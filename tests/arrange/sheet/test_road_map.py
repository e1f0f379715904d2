"""The length of each box of the road map, in cycles and in seconds."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import piece_of, random_piece

from cyclechart.arrange.clock import timeline_seconds
from cyclechart.arrange.sheet.road_map import line_letters, road_map_of
from cyclechart.arrange.unroller import unroll

LATE = (
    "lines:\n  head: {sargam: S R G m P d n S' n d}\n"
    "  late: {begins: 8, sargam: S R G m P d n S' n d m P d n}\n"
)
FORM = """form:
  - {free: PLAYER, seconds: 30}
  - {play: head, times: 2}
  - {solo: PLAYER, cycles: 3}
  - {trade: [PLAYER, tabla], cycles: 1, times: 2}
  - {groove: 2, times: 2}
  - {play: late, tempo: 120}
""".replace("PLAYER", "melody")


def test_each_step_has_its_own_length() -> None:
    # One beat a second, ten in the cycle of the stand-in heading; the wait for the pickup's eight
    # beats at 60 is part of the groove before it.
    piece = piece_of(LATE + FORM, tempo="60")
    road = road_map_of(piece, unroll(piece))
    assert [box.seconds for box in road][:4] == [30, 20, 30, 40]
    assert [box.cycles for box in road][:4] == [0, 2, 3, 4]
    assert [box.count_in_seconds for box in road] == [0, 10, 0, 0, 0, 0]
    assert [box.letter for box in road] == ["A", "B", "C", "D", "E", "F"]


@pytest.mark.parametrize(
    ("form", "letters"),
    [
        # Two new lines in a step are told apart by numbers; a line that has a letter keeps it.
        ("[{play: {flute: head, violin: tail}}]", {"head": "A1", "tail": "A2", "coda": "B"}),
        (
            "[{play: head}, {play: {flute: head, violin: tail}}]",
            {"head": "A", "tail": "B", "coda": "C"},
        ),
        (
            "[{play: tail}, {groove: 1}, {play: {flute: head, violin: coda}}]",
            {"tail": "A", "head": "C1", "coda": "C2"},
        ),
        # Lines that the form leaves out come after its steps, in the order of the file.
        ("[{groove: 1}, {play: tail}]", {"tail": "B", "head": "C", "coda": "D"}),
    ],
)
def test_each_line_has_a_letter_of_its_own(form: str, letters: dict[str, str]) -> None:
    lines = "".join(f"  {name}: {{sargam: S}}\n" for name in ("head", "tail", "coda"))
    piece = piece_of(f"players: {{flute: , violin: }}\nlines:\n{lines}form: {form}\n")
    assert {place[0]: letter for place, letter in line_letters(piece).items()} == letters


@given(st.integers(0, 400))
def test_the_boxes_are_no_longer_than_the_piece(seed: int) -> None:
    piece = piece_of(random_piece(seed))
    timeline = unroll(piece)
    road = road_map_of(piece, timeline)
    assert len(road) == len(piece.steps)
    assert all(box.seconds >= 0 for box in road)
    assert sum(box.seconds + box.count_in_seconds for box in road) <= timeline_seconds(timeline)
