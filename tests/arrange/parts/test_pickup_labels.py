"""A line that begins well before its letter is named where it begins."""

from __future__ import annotations

import pytest
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.model import Strain

BAND = "players:\n  flute: {plays: melody}\n  tabla: {plays: theka}\n  drum-kit: {plays: theka}\n"
LINES = (
    "lines:\n  head: {sargam: S R G m P d n S' n d}\n"
    '  late: {begins: 9, sargam: "m P S"}\n'
    '  early: {begins: 3, sargam: "S R G m P d n S\' S"}\n'
    "  out: {cadence: {gap: 0, sargam: S R G m P d n d S'}}\n"
    "  roll: {cadence: {gap: 0, strokes: dha ti ta dha ti dha}}\n"
)


def strains_of(line: str, player: str, before: str = "play: head") -> tuple[Strain, ...]:
    form = f"form:\n  - {{{before}, times: 3}}\n  - {{play: {line}}}\n"
    band = Band(piece_of(f"{BAND}{LINES}{form}"))
    return part_sheet(band, next(p for p in band.piece.players if p.name == player)).strains


def labels(strain: Strain) -> list[str]:
    return [note.text for note in strain.notes if getattr(note, "text", "")]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("line", "player"),
    [("out", "flute"), ("early", "flute"), ("roll", "tabla"), ("roll", "drum-kit")],
)
def test_a_long_pickup_has_its_name_and_letter(line: str, player: str) -> None:
    before, own = strains_of(line, player)
    assert labels(before) == [f"{line} (B)"]
    assert labels(own) == []
    named = next(note for note in before.notes if getattr(note, "text", ""))
    assert named.end > named.start and named.start >= 0
    # The pickup begins more than half a cycle before the letter.
    assert before.measures[-1].end - named.start >= 5


def test_a_short_pickup_has_none() -> None:
    before, own = strains_of("late", "flute")
    assert not labels(before) and not labels(own)


def test_only_its_players_read_it() -> None:
    before, _ = strains_of("out", "tabla")
    assert not any("out" in text for text in labels(before))
