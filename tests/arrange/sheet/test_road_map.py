"""The boxes of the road map: their lengths, letters and what leads into them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import piece_of, random_piece

from cyclechart.arrange.clock import timeline_seconds
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.road_map import AFTER_COUNT_IN, line_letters, road_map_of
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


COUNTED = (
    "players: {flute: {plays: melody}, tabla: {plays: theka}, tanpura: }\n"
    "lines:\n  head: {sargam: S R G m P d n S' n d}\n"
)


@pytest.mark.parametrize(
    ("form", "box", "detail"),
    [
        ("[{free: flute, seconds: 30}, {play: head}]", 1, "after a count-in"),
        ("[{free: flute, seconds: 30}, {groove: 2}, {play: head}]", 1,
         "2 cycles, after a count-in"),
        ("[{free: flute, seconds: 9}, {free: flute, seconds: 9},"
         " {play: head, by: [flute], times: 2}]", 2, "Flute ×2, after a count-in"),
        # At the beginning of the piece it is what everybody expects.
        ("[{play: head}, {play: head}]", None, ""),
    ],
)  # fmt: skip
def test_a_count_in_within_the_piece_is_said_at_its_step(
    form: str, box: int | None, detail: str
) -> None:
    piece = piece_of(f"{COUNTED}form: {form}\n")
    band = Band(piece)
    assert [n for n, one in enumerate(band.road) if AFTER_COUNT_IN in one.detail] == (
        [] if box is None else [box]
    )
    kinds = [stretch.kind for stretch in band.timeline.stretches]
    assert ("count-in" in kinds[1:]) == (box is not None)  # as it sounds
    if box is None:
        return
    assert band.road[box].detail == detail
    letter = band.road[box].letter
    sheets = [part_sheet(band, player) for player in piece.players]
    for sheet in [*sheets, *score_sheets(band)]:
        said = [one.letter for one in sheet.strains if AFTER_COUNT_IN in one.remark]
        assert said == [letter]
        assert sheet.road[box].detail == detail
    lead = sheet_of(piece)
    at_line = any(name == "head" for name in piece.steps[box].uses)
    assert [AFTER_COUNT_IN in strain.remark for strain in lead.strains] == [at_line]


def test_a_form_without_a_count_in_says_nothing_of_it() -> None:
    piece = piece_of(f"count-in: 0\n{COUNTED}form: [{{free: flute, seconds: 9}}, {{play: head}}]\n")
    assert not any(box.counted_in for box in Band(piece).road)


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


def test_parts_and_scores_name_lines_by_the_steps_that_play_them_first() -> None:
    # Only the lead sheet has a place with the letter of each line; elsewhere steps have letters.
    piece = piece_of(
        "players: {flute: {plays: melody}, violin: {plays: melody}, cello: {plays: melody}}\n"
        "lines:\n" + "".join(f"  {name}: {{sargam: S}}\n" for name in ("head", "up", "riff")) +
        "form:\n  - groove: 1\n  - play: {flute: head, violin: up}\n"
        "  - {solo: cello, cycles: 4, over: riff}\n  - {solo: flute, cycles: 4, over: riff}\n"
        "  - play: up\n  - play: {flute: up, violin: head, cello: riff}\n"
    )  # fmt: skip
    band = Band(piece)
    assert [(box.name, box.detail) for box in sheet_of(piece, band.road).road[1:]] == [
        ("head (Flute) + up (Violin)", ""),
        ("solo Cello", "4 cycles over riff (C)"),
        ("solo Flute", "4 cycles over riff (C)"),
        ("up", "as B2"),
        ("up (Flute, as B2) + head (Violin, as B1) + riff (Cello, as C)", ""),
    ]
    for player in piece.players:
        sheet = part_sheet(band, player)
        assert [(box.name, box.detail) for box in sheet.road[1:]] == [
            ("head (Flute) + up (Violin)", ""),
            ("solo Cello", "4 cycles over riff"),
            ("solo Flute", "4 cycles over riff (C)"),
            ("up", "as B"),
            ("up (Flute, as B) + head (Violin, as B) + riff (Cello, as C)", ""),
        ]
        assert [strain.remark for strain in sheet.strains[2:5]] == [
            "4 cycles over riff", "4 cycles over riff (C)", "as B",
        ]  # fmt: skip
