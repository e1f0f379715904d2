"""``under``: lines looped beneath steps, in time, in sound and on paper."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.roles.given_lines import merged
from cyclechart.arrange.score import Sound
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece

BAND = """
players:
  flute: {plays: melody}
  alto-sax: {plays: melody}
  guitar: {plays: voicings}
  double-bass: {plays: pedal}
  tabla: {plays: theka}
cycle: keherwa
lines:
  head: {sargam: S R G m | P m G R}
  riff: {sargam: "S - P, - | S - n, -"}
  stab: {sargam: P - - m | G - R -}
  three: {lands: free, sargam: S z G}
"""


def piece_with(form: str, more: str = "") -> Piece:
    return piece_of(f"{more}{BAND}form:\n{form}")


def starts_of(piece: Piece, player: str, line: str) -> list[Fraction]:
    """The beats on which a player begins a line."""
    placed = unroll(piece).placed_lines
    return [one.start for one in placed if player in one.players and one.line.name == line]


def onsets(piece: Piece, player: str) -> list[tuple[Fraction, int]]:
    part = next(part for part in arrange(piece).parts if part.name == player)
    return [(sound.start, sound.pitch) for sound in part.sounds]


def test_a_riff_loops_as_long_as_its_step_and_stays_until_it_is_changed() -> None:
    piece = piece_with(
        "  - {play: head, by: [flute], times: 2, under: {double-bass: riff}}\n"
        "  - groove: 1\n"
        "  - {solo: flute, cycles: 2, under: none}\n"
    )
    # The count-in is one cycle of eight beats.
    assert starts_of(piece, "double-bass", "riff") == [8, 16, 24]
    bass = onsets(piece, "double-bass")
    riff = [0, -5, 0, -2]
    floor = min(pitch for at, pitch in bass if at < 32) + 5
    assert [pitch - floor for at, pitch in bass if at < 32] == riff * 3
    assert [at for at, _ in bass if at < 32] == [8 + 2 * n for n in range(12)]
    # Then the role goes on.
    assert {(pitch - floor) % 12 for at, pitch in bass if at >= 32} <= {0, 7, 11}


def test_lines_follow_each_other_in_turn() -> None:
    piece = piece_with("  - {solo: flute, cycles: 5, under: {guitar: [riff, stab]}}\n")
    assert starts_of(piece, "guitar", "riff") == [8, 24, 40]
    assert starts_of(piece, "guitar", "stab") == [16, 32]


def test_a_line_free_of_the_cycle_crosses_it_and_runs_on_over_steps() -> None:
    piece = piece_with(
        "  - {groove: 1, under: {double-bass: three}}\n  - groove: 1\n"
        "  - {play: head, by: [flute]}\n"
    )
    heard = [at for at, _ in onsets(piece, "double-bass") if at >= 8]
    expected = sorted(
        Fraction(8 + 3 * n + k) for n in range(8) for k in (0, 2) if 8 + 3 * n + k < 32
    )
    assert heard == expected
    assert len({at % 8 for at in heard}) > 4  # it really crosses


def test_it_runs_on_behind_a_step_in_which_its_player_is_away() -> None:
    piece = piece_with(
        "  - {groove: 1, under: {double-bass: three}}\n"
        "  - {solo: double-bass, cycles: 1}\n"
        "  - groove: 1\n"
    )
    heard = [at for at, _ in onsets(piece, "double-bass")]
    assert [at for at in heard if 16 <= at < 24] == []
    assert [at for at in heard if at >= 24] == [25, 26, 28, 29, 31]  # 8 + 3n and 8 + 3n + 2


def test_a_players_own_line_or_solo_goes_before_it() -> None:
    piece = piece_with(
        "  - {play: {double-bass: stab, flute: head}, under: {double-bass: riff}}\n"
        "  - {trade: [flute, double-bass], cycles: 1, times: 2}\n"
    )
    assert starts_of(piece, "double-bass", "stab") == [8]
    # In the trade the riff sounds in the flute's cycles.
    assert [at for at, _ in onsets(piece, "double-bass") if at >= 16] == [
        16, 18, 20, 22, 32, 34, 36, 38,
    ]  # fmt: skip


def test_a_melody_player_with_a_line_under_does_not_join_the_others() -> None:
    piece = piece_with("  - {play: head, under: {alto-sax: stab}}\n")
    (step,) = piece.steps
    assert [player.name for player in piece.own_players_of(step, "head")] == ["flute"]
    assert starts_of(piece, "alto-sax", "head") == []
    assert starts_of(piece, "alto-sax", "stab") == [8]


def test_a_pickup_into_the_next_step_ends_it() -> None:
    text = BAND.replace("  stab:", "  answer: {begins: 7, sargam: P m || G - R - S - - -}\n  stab:")
    piece = piece_of(
        text + "form:\n  - {groove: 2, under: {guitar: riff}}\n"
        "  - {play: {guitar: answer}, under: none}\n"
    )
    guitar = onsets(piece, "guitar")
    assert [at for at, _ in guitar if 16 <= at < 25] == [16, 18, 20, 22, 23, 24]


def test_on_paper_the_bass_reads_the_riff_once_with_a_repeat() -> None:
    piece = piece_with("  - {solo: flute, cycles: 8, under: {double-bass: riff}}\n")
    bass = next(player for player in piece.players if player.name == "double-bass")
    (strain,) = part_sheet(Band(piece), bass).strains
    assert [note.pitch for note in strain.notes if note.pitch is not None] == [
        note.pitch for note in strain.notes
    ]
    assert len(strain.notes) == 4
    assert {measure.times for measure in strain.measures} >= {8}


@pytest.mark.parametrize(
    ("under", "says"),
    [
        ("{oboe: riff}", "oboe"),
        ("{double-bass: rif}", "rif"),
        ("{tabla: riff}", "tabla plays theka and cannot play 'riff', which is a melody"),
        ("riff", "'under' needs a line for each player"),
        ("{double-bass: {a: b}}", "double-bass needs a line to loop"),
        ("[riff]", "'under' needs a line for each player"),
    ],
)
def test_what_cannot_be_looped_is_said(under: str, says: str) -> None:
    found = findings_of(with_heading(f"{BAND}form:\n  - {{groove: 2, under: {under}}}\n"))
    assert any(says in finding.message for finding in found if finding.severity == "error"), found


def test_a_drone_player_takes_no_line() -> None:
    text = BAND.replace("  tabla:", "  tanpura: {plays: drone}\n  tabla:")
    found = findings_of(with_heading(f"{text}form:\n  - {{groove: 2, under: {{tanpura: riff}}}}\n"))
    (finding,) = [one for one in found if one.severity == "error"]
    assert "keeps the drone and takes no line" in finding.message
    assert finding.tries[0] == "under: {flute: riff}"


TIMES = st.integers(0, 60).map(lambda number: Fraction(number, 2))


def sounds_at(starts: list[Fraction], length: int, pitch: int) -> list[Sound]:
    return [Sound(at, Fraction(length), pitch, 80) for at in sorted(set(starts))]


def cut(sound: Sound, length: Fraction) -> Sound:
    return Sound(sound.start, length, sound.pitch, sound.velocity)


@settings(deadline=None)
@given(st.lists(TIMES), st.lists(TIMES, min_size=1), st.integers(1, 8))
def test_a_line_in_place_of_the_role_never_overlaps_it(
    own: list[Fraction], given_starts: list[Fraction], length: int
) -> None:
    line = sounds_at(given_starts, 1, 1)
    spans = [(line[0].start, line[-1].start + 1)]
    result = merged(sounds_at(own, length, 0), line, spans, cut)
    assert [one for one in result if one.pitch == 1 and one.start < spans[0][1]]
    for one in result:
        if one.pitch == 0:
            assert not spans[0][0] <= one.start < spans[0][1]
            assert one.start + one.length <= spans[0][0] or one.start >= spans[0][1]
        assert one.length > 0


def test_trading_and_a_groove_are_over_a_line() -> None:
    piece = piece_with(
        "  - {trade: [flute, alto-sax], cycles: 1, over: stab, by: [guitar, double-bass]}\n"
        "  - {groove: 2, over: head, by: [alto-sax]}\n  - groove: 1\n"
    )
    assert starts_of(piece, "guitar", "stab") == starts_of(piece, "double-bass", "stab") == [8, 16]
    assert starts_of(piece, "alto-sax", "head") == [24, 32]
    assert starts_of(piece, "flute", "head") == []


def test_a_trader_plays_it_between_their_own_turns() -> None:
    piece = piece_with("  - {trade: [flute, alto-sax], cycles: 1, over: stab}\n")
    assert [at for at, _ in onsets(piece, "flute")] == [16, 19, 20, 22]
    assert [at for at, _ in onsets(piece, "alto-sax")] == [8, 11, 12, 14]


def test_an_octave_of_a_step_is_for_lines_beneath_it_too() -> None:
    def pitches(more: str) -> list[int]:
        piece = piece_with(f"  - {{groove: 1, under: {{guitar: riff}}{more}}}\n")
        return [pitch for _, pitch in onsets(piece, "guitar")]

    assert pitches(", octave: {guitar: 1}") == [pitch + 12 for pitch in pitches("")]


def test_in_stop_time_what_lies_beneath_those_who_hit_is_silent() -> None:
    piece = piece_with(
        "  - {groove: 1, under: {double-bass: riff, guitar: stab}}\n"
        "  - {groove: 1, hits: {line: three, stop: true}}\n"
        "  - groove: 1\n"
    )
    assert starts_of(piece, "double-bass", "riff") == [8, 24]
    assert starts_of(piece, "guitar", "stab") == [8, 16, 24]
    in_stop_time = [at for at, _ in onsets(piece, "double-bass") if 16 <= at < 24]
    assert in_stop_time == [hit.at for hit in unroll(piece).hits]


def test_a_crossing_line_silent_in_stop_time_runs_on_behind_it() -> None:
    piece = piece_with(
        "  - {groove: 1, under: {double-bass: three}}\n"
        "  - {groove: 1, hits: {line: stab, by: [double-bass], stop: true}}\n"
        "  - groove: 1\n"
    )
    assert starts_of(piece, "double-bass", "three") == [8, 11, 14, 23, 26, 29]
