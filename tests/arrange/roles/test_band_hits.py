"""``hits``: the rhythm of a line, or the accents of a step, struck by the rhythm section."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece

BAND = """
cycle: keherwa
count-in: 0
players:
  flute: {plays: melody}
  guitar: {plays: voicings}
  double-bass: {plays: pedal}
  drum-kit: {plays: theka}
lines:
  head: {sargam: '!accent!S R G -!accent!m | P m !accent!G R'}
  stabs: {strokes: dha - -ta - | - ta - -}
"""

HALF = Fraction(1, 2)
STABS = [0, 2 + HALF, 5]


def piece_with(step: str) -> Piece:
    return piece_of(
        f"{BAND}form:\n  - {{{step}}}\n".replace("sargam: !", "sargam: '!").replace("G R}", "G R'}")
    )


def onsets(piece: Piece, player: str) -> list[Fraction]:
    part = next(part for part in arrange(piece).parts if part.name == player)
    return sorted({entry.start for entry in (*part.sounds, *part.hits)})


def loud(piece: Piece, over: int = 49) -> set[Fraction]:
    """Where the kit strikes crash (or snare, 38) and bass drum together: keys of General MIDI."""
    part = next(part for part in arrange(piece).parts if part.name == "drum-kit")
    keys: dict[Fraction, set[int]] = {}
    for hit in part.hits:
        keys.setdefault(hit.start, set()).add(hit.key)
    return {at for at, struck in keys.items() if {36, over} <= struck}


def test_a_lines_rhythm_round_after_round() -> None:
    piece = piece_with("groove: 2, hits: stabs")
    assert [hit.at for hit in unroll(piece).hits] == [*STABS, *(8 + at for at in STABS)]
    assert loud(piece) == {*STABS, *(8 + at for at in STABS)}
    assert set(STABS) <= set(onsets(piece, "double-bass"))


def test_the_accents_of_the_steps_own_line() -> None:
    piece = piece_with("play: head, hits: accents")
    assert [hit.at for hit in unroll(piece).hits] == [0, 3 + HALF, 6]
    assert loud(piece) >= {0, 6}
    assert 3 + HALF in loud(piece, over=38)  # a short one


def test_in_stop_time_nobody_named_plays_anything_else() -> None:
    piece = piece_with(
        "solo: flute, cycles: 2, "
        "hits: {line: stabs, by: [drum-kit, double-bass, guitar], stop: true}"
    )
    expected = [*STABS, *(8 + at for at in STABS)]
    for player in ("drum-kit", "double-bass", "guitar"):
        assert onsets(piece, player) == expected, player


def test_who_is_not_named_goes_on_as_before() -> None:
    without = piece_with("groove: 2")
    piece = piece_with("groove: 2, hits: {line: stabs, by: [drum-kit], stop: true}")
    assert onsets(piece, "double-bass") == onsets(without, "double-bass")
    assert onsets(piece, "guitar") == onsets(without, "guitar")


def test_the_kit_reads_the_figures_above_its_time() -> None:
    piece = piece_with("groove: 2, hits: stabs")
    notes = Band(piece).contents["drum-kit"].notes
    written = {note.start for note in notes if note.head != "slash"}
    assert set(STABS) <= written
    assert any(note.head == "slash" for note in notes)  # between them it keeps time


def test_in_stop_time_the_kit_reads_rests_between_the_figures() -> None:
    piece = piece_with("groove: 2, hits: {line: stabs, stop: true}")
    notes = Band(piece).contents["drum-kit"].notes
    assert sorted({note.start for note in notes}) == [*STABS, *(8 + at for at in STABS)]
    assert not any(note.head == "slash" for note in notes)


def test_in_stop_time_a_line_beneath_is_silent_too() -> None:
    piece = piece_of(
        BAND.replace("lines:\n", "lines:\n  rock: {kit: k h s h k h s h}\n")
        + "form:\n  - {groove: 1, under: {drum-kit: rock}}\n"
        "  - {groove: 1, hits: {line: stabs, stop: true}}\n  - groove: 1\n"
    )
    assert [at for at in onsets(piece, "drum-kit") if 8 <= at < 16] == [8 + at for at in STABS]
    assert [at for at in onsets(piece, "drum-kit") if at >= 16] == list(range(16, 24))


@pytest.mark.parametrize("drummer", ["drum-kit", "tabla"])
def test_a_hit_among_the_figures_of_a_cadence_lasts_until_the_next_of_them(drummer: str) -> None:
    piece = piece_of(f"""
cycle: keherwa
count-in: 0
players: {{flute: {{plays: melody}}, {drummer}: {{plays: theka}}}}
lines:
  tihai: {{cadence: {{sargam: 'm !accent!PmG !accent!GR S'}}}}
form: [{{play: tihai, hits: {{line: accents, by: [{drummer}]}}}}]
""")
    band = Band(piece)
    read = part_sheet(band, piece.players[1])
    notes = [note for strain in read.strains for note in strain.notes]
    assert sum(note.origin[0] >= 0 for note in notes) > 6
    for strain in read.strains:
        assert all(a.end <= b.start for a, b in pairwise(strain.notes))


def test_who_plays_on_through_stop_time_reads_whose_it_is() -> None:
    for hits, whose in (
        ("{line: stabs, stop: true}", "kit and bass"),
        ("{line: stabs, by: [drum-kit], stop: true}", "Drum Kit"),
    ):
        piece = piece_with(f"play: head, hits: {hits}")
        band = Band(piece)
        notes = {one.name: part_sheet(band, one).strains[0].note for one in piece.players}
        assert notes["guitar"] == f"stop time of {whose}"
        assert notes["flute"] == notes["drum-kit"] == "stop time"
