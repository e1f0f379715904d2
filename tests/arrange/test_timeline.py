"""The form unrolled: where lines stand, what a pickup sounds over, what rings on."""

from __future__ import annotations

import io
from fractions import Fraction

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import melody_of, piece_of
from support.midi_files import midi_bytes

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.unroller import unroll
from cyclechart.theory.tones import show_pitch

LOOP = "  loop: {sargam: S R | G m P | d n | S' n d}\n"
PICKUP = "  head:\n    begins: 8\n    sargam: G m P || d - | n d P | m G | R S R || S\n"


def placed(text: str) -> list[tuple[str, Fraction]]:
    return [(place.line.name, place.start) for place in unroll(piece_of(text)).placed_lines]


def heard(text: str) -> list[tuple[Fraction, str, Fraction]]:
    """(start, tone, length) of the melody."""
    sounds = melody_of(piece_of(text)).sounds
    return [(sound.start, show_pitch(sound.pitch), sound.length) for sound in sounds]


def test_a_cycle_is_counted_in_before_the_first_metered_step() -> None:
    assert placed(f"lines:\n{LOOP}") == [("loop", 10)]
    assert placed(f"count-in: 0\nlines:\n{LOOP}") == [("loop", 0)]


def test_a_pickup_sounds_over_the_count_in() -> None:
    assert placed(f"lines:\n{PICKUP}") == [("head", 7)]


def test_without_a_count_in_a_pickup_sounds_over_a_cycle_of_drone() -> None:
    timeline = unroll(piece_of(f"count-in: 0\nlines:\n{PICKUP}"))
    assert timeline.stretches[0].kind == "lead-in"
    assert timeline.placed_lines[0].start == 7


def test_a_loop_hands_over_at_the_end_of_its_cycles() -> None:
    text = f"lines:\n{LOOP}form:\n  - {{play: loop, times: 3}}\n"
    assert placed(text) == [("loop", 10), ("loop", 20), ("loop", 30)]


def test_a_landing_hands_over_on_its_first_beat_and_rings_into_nothing_new() -> None:
    # head lands on S at 20; the loop begins there with a note of its own, so S gives way.
    text = f"lines:\n{PICKUP}{LOOP}form:\n  - play: head\n  - play: loop\n"
    assert placed(text) == [("head", 7), ("loop", 20)]
    at_20 = [(tone, length) for start, tone, length in heard(text) if start == 20]
    assert at_20 == [("S", 1)]


def test_a_landing_rings_on_under_a_drum_solo() -> None:
    head = PICKUP.replace("|| S\n", "|| S - - - - -\n")
    text = f"lines:\n{head}form:\n  - play: head\n  - {{solo: tabla, cycles: 2}}\n"
    assert (Fraction(20), "S", Fraction(6)) in heard(text)


def test_a_pickup_gives_way_for_the_step_before() -> None:
    # the loop's last three notes fall where the pickup of head sounds.
    text = f"lines:\n{LOOP}{PICKUP}form:\n  - play: loop\n  - play: head\n"
    tones = [(start, tone) for start, tone, _ in heard(text) if 17 <= start < 20]
    assert tones == [(17, "G"), (18, "m"), (19, "P")]


def test_a_repeat_of_a_pickup_and_landing_is_not_swallowed() -> None:
    # Nine beats of pickup and a landing: said twice, the second may not silence the first.
    text = (
        "lines:\n  call: {begins: 2, sargam: R G m P d n S' n d || S}\n"
        "form:\n  - {play: call, times: 2}\n"
    )
    assert len(heard(text)) == 20


def test_pickup_and_body_of_a_whole_cycle_follow_each_other_without_a_gap() -> None:
    text = (
        "lines:\n  loop: {begins: 8, sargam: G m P || d - | n d P | m G}\n"
        "form:\n  - {play: loop, times: 2}\n"
    )
    assert placed(text) == [("loop", 7), ("loop", 17)]


def test_a_solo_leaves_its_player_out_and_a_line_keeps_time_under_it() -> None:
    text = f"lines:\n{LOOP}form:\n  - {{solo: tabla, cycles: 3, over: loop}}\n"
    piece = piece_of(text)
    assert [place.start for place in unroll(piece).placed_lines] == [10, 20, 30]
    drums = next(part for part in arrange(piece).parts if part.role.name == "theka")
    assert not drums.hits


def test_a_drum_solo_over_nothing_is_kept_by_claps() -> None:
    text = f"lines:\n{LOOP}form:\n  - play: loop\n  - {{solo: tabla, cycles: 2}}\n"
    score = arrange(piece_of(text))
    claps = next(part for part in score.parts if part.role.name == "count")
    assert {hit.start // 10 for hit in claps.hits} == {0, 2, 3}


def test_the_last_step_sounds_to_its_written_end_and_the_drums_close_with_the_landing() -> None:
    head = PICKUP.replace("|| S\n", "|| S - - -\n")
    score = arrange(piece_of(f"lines:\n{head}"))
    assert score.end == 24
    drums = next(part for part in score.parts if part.role.name == "theka")
    assert max(hit.start for hit in drums.hits) == 20


def test_a_line_in_eleven_and_a_half_beats_is_exact() -> None:
    text = (
        "cycle: {beats: 11 1/2, sections: [4, 4, 3 1/2]}\n"
        "lines:\n  head: {sargam: S - - - - - - - - - - -/2}\nform:\n  - {play: head, times: 3}\n"
    )
    assert [start for _, start in placed(text)] == [Fraction(n, 2) for n in (23, 46, 69)]


def test_a_line_that_lands_as_it_begins_holds_the_cycle_it_opens() -> None:
    text = (
        "lines:\n  call: {sargam: S' - - -}\n  bang: {strokes: dha - - -}\n"
        "  hit: {strokes: dha - dhin - - na - - - -}\n"
        "form:\n  - {play: call, times: 4}\n  - {play: bang, times: 4}\n  - play: hit\n"
    )
    starts = [start for _, start in placed(text)]
    assert starts == [Fraction(10 * number) for number in range(1, 10)]
    assert [start for start, _, _ in heard(text)] == starts[:4]
    score = arrange(piece_of(text))
    drums = next(part for part in score.parts if part.role.name == "theka")
    said = [(hit.start - 90, hit.text) for hit in drums.hits if hit.text and hit.start >= 90]
    assert said[:3] == [(0, "dha"), (2, "dhin"), (5, "na")]
    assert {hit.start for hit in drums.hits} >= {Fraction(beat) for beat in range(10, 50)}
    drone = next(part for part in score.parts if part.role.name == "drone")
    plucks = [sound.start for sound in drone.sounds]
    assert len(set(plucks)) == len(plucks)
    assert all(sound.length > 0 for sound in drone.sounds)


def test_a_last_line_that_lands_as_it_begins_closes_there_and_rings_to_its_written_end() -> None:
    text = "lines:\n  call: {sargam: S' - - -}\nform:\n  - {play: call, times: 2}\n"
    timeline = unroll(piece_of(text))
    assert (timeline.closing, timeline.end) == (20, 24)


def test_a_pickup_and_its_landing_hand_over_on_that_first_beat() -> None:
    text = (
        f"lines:\n  call: {{begins: 8, sargam: G m P || S' - - -}}\n{LOOP}"
        "form:\n  - play: call\n  - play: loop\n"
    )
    assert placed(text) == [("call", 7), ("loop", 10)]


def test_the_pickup_of_a_keeping_line_does_not_swallow_what_was_just_begun() -> None:
    text = (
        "lines:\n  call: {begins: 8, sargam: G m P || S'}\n"
        "  keep: {begins: 6, sargam: S R G m P || d - n d P - m G R S}\n"
        "form:\n  - play: call\n  - {solo: tabla, cycles: 2, over: keep}\n"
    )
    assert [start for _, start in placed(text)][:2] == [7, 15]
    assert (Fraction(10), "S'") in [(start, tone) for start, tone, _ in heard(text)]


@pytest.mark.parametrize(
    ("lands", "text"),
    [("anagat 2", "S R G m P d n - - -"), ("anagat 1", "S R G m P d P n - -")],
)
def test_a_line_said_to_be_anagat_hands_over_on_the_beat_it_aims_at(lands: str, text: str) -> None:
    lines = f"cycle: keherwa\nlines:\n  early: {{lands: {lands}, sargam: {text}}}\n"
    assert placed(f"{lines}form:\n  - {{play: early, times: 3}}\n") == [
        ("early", 8),
        ("early", 16),
        ("early", 24),
    ]


def test_a_slow_free_line_lasts_its_seconds() -> None:
    # 4 beats in 90 seconds: 2 2/3 a minute, less than a MIDI file's tempo can say.
    text = (
        "lines:\n  open: {lands: free, sargam: 'S - N, -'}\nform:\n  - {free: open, seconds: 90}\n"
    )
    assert heard(text) == [(0, "S", 4), (4, "N,", 4)]
    score = arrange(piece_of(text))
    (mark,) = score.tempos
    assert mark.tempo >= 4
    assert score.end * 60 / mark.tempo == 90
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(score)))
    assert file.length == pytest.approx(90, abs=1e-3)


@given(
    st.fractions(Fraction(1, 4), 3600, max_denominator=4),
    st.integers(1, 12),
    st.sampled_from(["", "/2", "/7"]),
)
def test_a_free_line_lasts_its_seconds_whatever_they_are(
    seconds: Fraction, cells: int, part: str
) -> None:
    text = " ".join([f"S{part}"] * cells)
    score = arrange(
        piece_of(
            f"lines:\n  open:\n    lands: free\n    sargam: {text}\n"
            f"form:\n  - {{free: open, seconds: {seconds}}}\n"
        )
    )
    (mark,) = score.tempos
    assert mark.tempo >= 4
    assert score.end * 60 / mark.tempo == seconds
    melody_part = next(part for part in score.parts if part.role.name == "melody")
    each = score.end / cells
    assert [sound.start for sound in melody_part.sounds] == [each * n for n in range(cells)]


def test_a_short_line_that_loops_goes_on_under_a_longer_one() -> None:
    text = (
        "cycle: rupak\nplayers:\n  flute: {plays: melody}\n  cello: {plays: melody}\nlines:\n"
        "  head: {sargam: S R G m P d n S' n d P m G R S R G m P d n S}\n"
        "  ground: {sargam: S - - P - P -}\nform:\n"
        "  - {play: {flute: head, cello: ground}}\n  - play: {cello: ground}\n"
    )
    score = arrange(piece_of(text))
    cello = next(part for part in score.parts if part.name == "cello")
    # Three cycles under the head, one in its own step; a cycle is counted in.
    assert [sound.start for sound in cello.sounds] == [
        7 + 7 * cycle + beat for cycle in range(4) for beat in (0, 3, 5)
    ]


def test_a_short_line_that_lands_is_said_once() -> None:
    text = (
        "cycle: rupak\nplayers:\n  flute: {plays: melody}\n  cello: {plays: melody}\nlines:\n"
        "  head: {sargam: S R G m P d n S' n d P m G R S R G m P d n S}\n"
        "  call: {sargam: S R G m P d n S}\nform:\n  - {play: {flute: head, cello: call}}\n"
    )
    cello = next(part for part in arrange(piece_of(text)).parts if part.name == "cello")
    assert len(cello.sounds) == 8
