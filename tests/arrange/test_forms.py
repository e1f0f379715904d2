"""Whole forms: who plays what when; tempo, mode and tonic on the way; pickups over steps."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Part, Score
from cyclechart.arrange.unroller import unroll

BAND = (
    "cycle: keherwa\ntempo: 60\nplayers:\n  flute: {plays: melody, octave: 1}\n"
    "  alto-sax: {plays: melody}\n  tabla: {plays: theka}\n  tanpura: {plays: drone}\n"
)
LINES = (
    "lines:\n  loop: {sargam: S R G m P d n d}\n  other: {sargam: P - m - G - R -}\n"
    '  close: {begins: 7, sargam: "n, R || S R G m P m G R || S"}\n'
    "  beat: {strokes: dha ge na ti na ka dhi na}\n"
    "  opening: {lands: free, sargam: S - R - G -}\n"
)


def score_of(form: str, heading: str = BAND) -> Score:
    return arrange(piece_of(f"{heading}{LINES}form:\n{form}"))


def part(score: Score, name: str) -> Part:
    return next(part for part in score.parts if part.name == name)


def onsets(score: Score, name: str) -> list[Fraction]:
    return [sound.start for sound in part(score, name).sounds if sound.text]


def test_a_line_is_played_by_all_melody_players_each_at_its_octave() -> None:
    score = score_of("  - play: loop\n")
    flute, sax = part(score, "flute"), part(score, "alto-sax")
    assert [s.start for s in flute.sounds] == [s.start for s in sax.sounds]
    assert [s.pitch - 12 for s in flute.sounds] == [s.pitch for s in sax.sounds]


def test_by_leaves_the_others_out() -> None:
    score = score_of("  - {play: loop, by: [flute]}\n  - play: loop\n")
    assert len(onsets(score, "flute")) == 16
    assert onsets(score, "alto-sax") == [Fraction(16 + n) for n in range(8)]


def test_two_lines_at_once() -> None:
    score = score_of("  - play: {flute: loop, alto-sax: other}\n  - play: close\n")
    assert onsets(score, "flute")[:6] == [Fraction(8 + n) for n in range(6)]
    assert onsets(score, "alto-sax")[:3] == [Fraction(8 + 2 * n) for n in range(3)]
    # close's pickup of two beats takes over from both.
    assert onsets(score, "flute")[6] == onsets(score, "alto-sax")[3] == 14


def test_the_longer_of_two_lines_says_how_long_the_step_is() -> None:
    text = LINES.replace("other: {sargam: P - m - G - R -}", "other: {sargam: (P - m -)*6}")
    piece = piece_of(f"{BAND}{text}form:\n  - play: {{flute: loop, alto-sax: other}}\n")
    stretches = [s for s in unroll(piece).stretches if s.kind == "metered"]
    assert stretches[0].end - stretches[0].start == 24


def test_trading_hands_cycles_round() -> None:
    score = score_of("  - {trade: [alto-sax, tabla], cycles: 2, times: 2}\n  - play: close\n")
    labels = [m.text for m in score.markers if m.text.startswith("trade")]
    assert labels == ["trade alto-sax, 2 cycles", "trade tabla, 2 cycles"] * 2
    played = {hit.start // 8 for hit in part(score, "tabla").hits}
    # Cycle 0 is counted in; 1 2 5 6 are the saxophone's, the drums keep time; in 3 4 7 8 they
    # solo and the hands count.
    assert {1, 2, 5, 6} <= played
    assert not {3, 4, 7, 8} & played
    claps = {hit.start // 8 for hit in part(score, "claps and waves").hits}
    assert claps == {0, 3, 4, 7, 8}


def test_a_drum_solo_over_a_line_has_no_theka_and_no_claps() -> None:
    score = score_of("  - {solo: tabla, cycles: 3, over: loop}\n  - play: close\n")
    assert len([at for at in onsets(score, "flute") if 8 <= at < 30]) == 22
    assert not [hit for hit in part(score, "tabla").hits if 8 <= hit.start < 32]
    assert {hit.start // 8 for hit in part(score, "claps and waves").hits} == {0}


def test_a_melody_solo_over_a_line_is_kept_by_the_others() -> None:
    score = score_of("  - {solo: alto-sax, cycles: 2, over: loop}\n  - play: close\n")
    assert [at for at in onsets(score, "alto-sax") if at < 22] == []
    assert [at for at in onsets(score, "flute") if at < 22] == [Fraction(8 + n) for n in range(14)]


def test_a_groove_is_drone_and_drums_alone() -> None:
    score = score_of("  - groove: 2\n  - play: close\n")
    assert min(onsets(score, "flute")) == 22  # the pickup over the groove's end
    assert {1, 2} <= {hit.start // 8 for hit in part(score, "tabla").hits}


def test_a_gradual_change_of_tempo_is_even_and_stays() -> None:
    score = score_of("  - {play: loop, times: 2, tempo: {to: 120}}\n  - play: loop\n")
    tempos = {mark.at: mark.tempo for mark in score.tempos}
    assert tempos[Fraction(0)] == 60
    ramp = [tempo for at, tempo in tempos.items() if 8 <= at < 24]
    assert ramp == sorted(ramp)
    assert len(set(ramp)) == 32
    # Half beats of even rise: 60 + 60 · (n + 1/2) / 32.
    assert ramp == [60 + Fraction(60 * (2 * n + 1), 64) for n in range(32)]
    assert tempos[Fraction(24)] == 120


def test_a_tempo_step_holds_from_there_on() -> None:
    score = score_of("  - play: loop\n  - {play: loop, tempo: 90}\n  - play: loop\n")
    assert [(m.at, m.tempo) for m in score.tempos] == [(0, 60), (16, 90)]


def test_a_moved_tonic_moves_all_that_is_tuned() -> None:
    score = score_of("  - play: loop\n  - {play: loop, tonic: E}\n")
    flute = part(score, "flute")
    assert {sound.base for sound in flute.sounds if sound.start < 16} == {None}
    assert {sound.base for sound in flute.sounds if sound.start >= 16} == {64}
    strings = [s for s in part(score, "tanpura").sounds if s.start >= 16]
    assert {sound.base for sound in strings} == {64}
    assert ("Sa = E") in {marker.text for marker in score.markers}


def test_a_mode_of_a_step_is_what_its_line_is_judged_by() -> None:
    form = "form:\n  - play: loop\n  - {play: other, mode: bhairav}\n  - play: close\n"
    found = [f for f in findings_of(with_heading(BAND + LINES + form)) if f.severity == "error"]
    assert found == [] or {f.place.within for f in found if f.place} == {"other", "close"}
    told = [f for f in found if f.rule == "foreign-tone" and f.place and f.place.within == "other"]
    # P m G R: bhairav has r for R.
    assert {f.tone for f in told} == {"R"}


def test_dynamics_of_a_step_are_heard_and_end_with_it() -> None:
    score = score_of("  - {play: loop, dynamics: pp}\n  - play: loop\n")
    loud = [sound.velocity for sound in part(score, "flute").sounds]
    assert max(loud[:8]) < min(loud[8:])


def test_a_free_player_opens_over_the_drone() -> None:
    score = score_of("  - {free: alto-sax, seconds: 30}\n  - play: close\n")
    assert (score.tempos[0].at, score.tempos[0].tempo) == (0, 60)
    assert min(sound.start for sound in part(score, "tanpura").sounds) == 0
    assert onsets(score, "alto-sax")[0] >= 30


@pytest.mark.parametrize(
    ("step", "rule", "said"),
    [
        ("play: {flute: loop, oboe: other}", "unknown-name", "oboe"),
        ("play: {tabla: loop}", "wrong-value", "tabla plays theka"),
        ("play: {flute: beat}", "wrong-value", "for drums"),
        ("play: {flute: opening, alto-sax: loop}", "wrong-value", "free of the cycle"),
        ("play: loop, by: [tabla]", "wrong-value", "plays theka"),
        ("play: loop, by: [flut]", "unknown-name", "flut"),
        ("trade: [alto-sax], cycles: 2", "wrong-value", "two players or more"),
        ("trade: [alto-sax, tabl], cycles: 2", "unknown-name", "tabl"),
        ("trade: [alto-sax, tabla], cycles: 2 1/2", "wrong-value", "whole number"),
        ("groove: some", "wrong-value", "number of cycles, from 1 to 1000"),
        ("groove: 0", "wrong-value", "number of cycles, from 1 to 1000"),
        ("groove: [2]", "wrong-value", "number of cycles, from 1 to 1000"),
        ("groove: 2, seconds: 4", "wrong-value", "does not go with"),
        ("solo: flut, cycles: 2", "unknown-name", "flut"),
        ("free: flute", "missing-key", "seconds"),
        ("trade: [flute, flute], cycles: 1", "wrong-value", "two players or more"),
        ("trade: flute, cycles: 1", "wrong-value", "two players or more"),
        ("trade: [flute, tanpura], cycles: 1", "wrong-value", "plays the drone and takes no solo"),
        ("solo: tanpura, cycles: 1", "wrong-value", "solo: flute"),
        ("play: {}", "wrong-value", "plays nothing"),
        ("play: loop, by: []", "wrong-value", "a list of players"),
        ("play: {tabla: loop}", "wrong-value", "flute: loop"),
        ("play: loop, tonic: ''", "wrong-value", "'tonic' is empty"),
        ("play: loop, tempo: {to: 0}", "wrong-value", "tempo: {to: 120}"),
    ],
)
def test_a_step_that_cannot_be_is_a_finding(step: str, rule: str, said: str) -> None:
    text = with_heading(f"{BAND}{LINES}form:\n  - {{{step}}}\n  - play: close\n")
    found = [f for f in findings_of(text) if f.severity == "error"]
    assert rule in [f.rule for f in found]
    assert any(said in f"{f.message} {f.tries}" for f in found)


STEPS = (
    "play: loop", "play: close", "play: {flute: loop, alto-sax: other}", "groove: 1",
    "trade: [alto-sax, tabla], cycles: 1", "solo: flute, cycles: 2, over: other",
    "solo: tabla, cycles: 1", "free: opening, seconds: 7", "free: flute, seconds: 5",
    "play: beat", "play: loop, by: [alto-sax]",
)  # fmt: skip
CHANGES = (
    "", ", tempo: 90", ", tempo: {to: 150}", ", cycle: rupak", ", cycle: keherwa", ", mode: yaman",
    ", tonic: F", ", times: 2", ", dynamics: f",
)  # fmt: skip


@given(
    st.lists(st.tuples(st.sampled_from(STEPS), st.sampled_from(CHANGES)), min_size=1, max_size=8)
)
def test_any_form_is_whole_and_in_order(form: list[tuple[str, str]]) -> None:
    text = "".join(
        f"  - {{{step}{'' if 'free' in step and 'to:' in change else change}}}\n"
        for step, change in form
    )
    piece = piece_of(f"{BAND}{LINES}form:\n{text}")
    timeline = unroll(piece)
    now = Fraction(0)
    for stretch in timeline.stretches:
        assert stretch.start == now
        now = stretch.end
        if stretch.kind in ("count-in", "lead-in"):
            assert (stretch.end - stretch.start) % stretch.cycle.beats == 0
    assert now == timeline.end
    score = arrange(piece)
    for one in score.parts:
        if one.role.name == "melody":
            ends = [(sound.start, sound.start + sound.length) for sound in one.sounds]
            assert all(a[1] <= b[0] for a, b in pairwise(ends)), one.name
        for event in (*one.sounds, *one.hits):
            assert 0 <= event.start < event.start + event.length <= timeline.end + 1
    assert len({mark.at for mark in score.tempos}) == len(score.tempos)


def test_a_change_over_a_step_that_is_all_pickup_is_heard_over_the_step_before() -> None:
    text = (
        f'{BAND}lines:\n  loop: {{sargam: "(S R G m)*4"}}\n  cad: {{cadence: {{sargam: G m P}}}}\n'
        "form:\n  - play: loop\n  - {play: cad, tempo: {to: 30}}\n"
    )
    piece = piece_of(text)
    score = arrange(piece)
    cadence = next(placed for placed in unroll(piece).placed_lines if placed.line.name == "cad")
    tempos = {mark.at: mark.tempo for mark in score.tempos}
    assert min(at for at, tempo in tempos.items() if tempo != 60) == cadence.start
    falling = [tempo for at, tempo in sorted(tempos.items()) if at >= cadence.start]
    assert falling == sorted(falling, reverse=True)
    assert falling[-1] == 30


def test_the_last_cycle_leads_nowhere_where_the_piece_does_not_land() -> None:
    drums = part(score_of("  - groove: 8\n"), "tabla").hits
    last = [hit.text for hit in drums if hit.start >= 8 * 8]
    plain = [
        hit.text
        for hit in part(score_of("  - groove: 8\n", f"seed: 0\n{BAND}"), "tabla").hits
        if hit.start >= 8 * 8
    ]
    assert last == plain


def test_dynamics_are_the_kits_too() -> None:
    band = BAND.replace("tabla: {plays: theka}", "drum-kit: {plays: theka}")
    loud = {}
    for level in ("pp", "mf", "ff"):
        hits = part(score_of(f"  - {{groove: 4, dynamics: {level}}}\n", band), "drum-kit").hits
        loud[level] = max(hit.velocity for hit in hits if hit.key in (51, 42))
    assert loud["pp"] < loud["mf"] < loud["ff"]


def test_what_is_tried_in_one_of_two_modes_is_no_rewriting() -> None:
    form = "form:\n  - {play: loop, mode: bhairav}\n  - {play: loop, mode: kafi-thaat}\n"
    found = findings_of(with_heading(BAND + LINES + form))
    tries = {
        text
        for f in found
        if f.rule == "foreign-tone" and f.place and f.place.within == "loop"
        for text in f.tries
    }
    assert tries == {"write a separate line for Bhairav", "write a separate line for Kafi thaat"}
