"""Rehearsal scores. Their files are read back by mido and pretty_midi, which are not ours."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import DEMO_BOOK, piece_of
from support.midi_files import midi_bytes
from support.scores import (
    check_note_count,
    check_score,
    file_seconds,
    onsets_by_mido,
    part_of,
    scores,
)

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse import score_transforms as renderings
from cyclechart.arrange.rehearse.excerpts import Excerpt, join_excerpts
from cyclechart.arrange.rehearse.score_transforms import (
    at_tempo,
    cycle_starts,
    looped,
    only_cycles,
    with_claps,
    without_claps,
    without_parts,
)
from cyclechart.arrange.roles.drummer import CLAPS
from cyclechart.arrange.score import Hit, Meter, Score, Sound, TempoMark
from cyclechart.piece.load import load

FEW = settings(max_examples=30)

CLAP = Hit(Fraction(0), Fraction(1, 2), 39, 100, "clap")


def score_of_demo(number: int) -> Score:
    piece = load(DEMO_BOOK[number]).piece
    assert piece is not None
    return arrange(piece)


# -- what is made of everything -------------------------------------------------------------


@FEW
@given(scores(counted=False))
def test_all_cycles_without_a_lead_in_are_the_score(score: Score) -> None:
    last = len(cycle_starts(score))
    assert only_cycles(score, 1, last, lead_in=False) == score
    assert at_tempo(score, Fraction(1)) == score
    assert looped(score, 1) == score
    assert without_parts(score, []) == score


@FEW
@given(scores(), st.data())
def test_every_rendering_holds_and_is_read_back(score: Score, data: st.DataObject) -> None:
    last = len(cycle_starts(score))
    first = data.draw(st.integers(1, last))
    upto = data.draw(st.integers(first, last))
    cut = only_cycles(score, first, upto, count=[CLAP], lead_in=data.draw(st.booleans()))
    made = [
        cut,
        looped(cut, data.draw(st.integers(1, 5))),
        looped(score, 3),
        without_parts(score, ["alto-sax"]),
        with_claps(score, [replace(CLAP, start=Fraction(n)) for n in range(int(score.end) + 3)]),
        at_tempo(score, Fraction(7, 10)),
    ]
    for one in made:
        check_score(one)
        check_note_count(one)


@pytest.mark.parametrize("number", range(len(DEMO_BOOK)))
def test_the_demo_book_is_rendered_and_read_back(number: int) -> None:
    score = score_of_demo(number)
    cut = only_cycles(score, 3, 6, count=[CLAP])
    for made in (cut, looped(cut, 4), looped(score, 2), at_tempo(cut, Fraction(3, 5))):
        check_score(made)
        check_note_count(made)
    assert midi_bytes(looped(cut, 3)) == midi_bytes(looped(cut, 3))


# -- tempo ----------------------------------------------------------------------------------


@pytest.mark.parametrize("factor", [Fraction(7, 10), Fraction(1, 2), Fraction(3, 2)])
def test_a_file_at_a_tempo_lasts_that_much_longer(factor: Fraction) -> None:
    score = score_of_demo(0)
    # mido adds up the seconds; a tempo in the file is whole microseconds a beat.
    assert file_seconds(at_tempo(score, factor)) == pytest.approx(
        file_seconds(score) / factor, rel=1e-5
    )


def test_a_tempo_that_midi_cannot_hold_is_refused() -> None:
    score = arrange(piece_of("lines: {a: {sargam: 'S - - - - - - - - -'}}\n", tempo="20"))
    assert at_tempo(score, Fraction(1, 5)).tempos[0].tempo == 4
    with pytest.raises(ValueError, match="10% of 20 beats a minute is 2; a tempo is 4 to 1000"):
        at_tempo(score, Fraction(1, 10))
    with pytest.raises(ValueError, match="is 1020; a tempo is 4 to 1000"):
        at_tempo(score, Fraction(51))


# -- players --------------------------------------------------------------------------------


@FEW
@given(scores())
def test_who_is_left_out_is_all_that_is_missing(score: Score) -> None:
    before, after = onsets_by_mido(score), onsets_by_mido(without_parts(score, ["tabla"]))
    assert after == {name: found for name, found in before.items() if name != "tabla"}


def test_a_name_that_is_not_there_is_answered_with_the_nearest() -> None:
    score = arrange(piece_of(LINES))
    with pytest.raises(ValueError, match="nobody is called 'tanpur'; did you mean 'tanpura'"):
        without_parts(score, ["tanpur"])
    with pytest.raises(ValueError, match="nobody is called 'xyzzy'; there are melody, tabla"):
        without_parts(score, ["xyzzy"])
    with pytest.raises(ValueError, match="nobody to play"):
        without_parts(score, [part.name for part in score.parts])


@FEW
@given(scores())
def test_a_click_comes_and_goes(score: Score) -> None:
    hits = [replace(CLAP, start=Fraction(n)) for n in range(int(score.end) + 2)]
    clicked = with_claps(score, hits)
    at = [time for time, _ in onsets_by_mido(clicked)[CLAPS]]
    assert at == [n for n in range(int(score.end) + 2) if n < score.end]
    assert without_claps(clicked) == without_claps(score)
    assert with_claps(clicked, hits) == clicked


# -- cycles ---------------------------------------------------------------------------------


@FEW
@given(scores(), st.data())
def test_cycles_are_cut_out_of_the_file(score: Score, data: st.DataObject) -> None:
    starts = [*cycle_starts(score), score.end]
    first = data.draw(st.integers(1, len(starts) - 1))
    last = data.draw(st.integers(first, len(starts) - 1))
    begin, end = starts[first - 1], starts[last]
    made = only_cycles(score, first, last, lead_in=False)
    assert made.end == end - begin
    whole, cut = onsets_by_mido(score), onsets_by_mido(made)
    for name in ("alto-sax", "tabla"):
        assert cut[name] == [(at - begin, key) for at, key in whole[name] if begin <= at < end]
    inside = [(at - begin, key) for at, key in whole["tanpura"] if begin < at < end]
    assert [onset for onset in cut["tanpura"] if onset[0] > 0] == inside
    assert cycle_starts(made) == tuple(at - begin for at in starts[first - 1 : last])
    # The seconds of what is cut out, by mido's account, are what they were.
    upto = join_excerpts(score, [Excerpt(Fraction(0), end)])
    before = file_seconds(join_excerpts(score, [Excerpt(Fraction(0), begin)])) if begin else 0.0
    assert file_seconds(made) == pytest.approx(file_seconds(upto) - before, abs=1e-3)


LINES = """
lines:
  a: {sargam: 'S - R - G - m - P D'}
  b: {begins: 9, sargam: 'G m || P - - - - - - - - -'}
form:
  - play: a
  - play: a
  - play: b
"""


def test_a_lead_in_counts_a_cycle_and_keeps_the_pickup() -> None:
    score = arrange(piece_of(LINES))
    count = [replace(CLAP, start=Fraction(n)) for n in range(12)]
    cut = only_cycles(score, 3, 3, count=count, pickup=Fraction(2))
    found = onsets_by_mido(cut)
    sa = score.tonic.midi
    # By hand: the two tones of the pickup on beats 9 and 10 of the count-in, then Pa on beat 1.
    assert found["melody"][:3] == [(Fraction(8), sa + 4), (Fraction(9), sa + 5), (10, sa + 7)]
    assert [at for at, _ in found[CLAPS]] == list(range(10))
    assert found["tabla"][0][0] == 10
    assert found["tanpura"][0][0] == 0
    assert [marker.at for marker in cut.markers if marker.text == "count-in"] == [0]
    bare = only_cycles(score, 3, 3, count=count, pickup=Fraction(0))
    assert onsets_by_mido(bare)["melody"][0] == (10, sa + 7)
    check_score(only_cycles(score, 3, 3, pickup=Fraction(1000)))
    # Nothing is said twice where it stays as it is.
    assert cut.tempos == (TempoMark(Fraction(0), Fraction(92)),)
    assert cut.meters == looped(cut, 3).meters == (Meter(Fraction(0), Fraction(10)),)


@pytest.mark.parametrize(
    ("rest", "kept"), [(0, [5, 6, 7, 8, 9]), (Fraction(1, 4), [5, 6, 7, 8, 9]), (1, [8, 9])]
)
def test_what_leads_up_to_a_cycle_is_kept_from_the_last_rest_on(
    rest: Fraction, kept: list[int]
) -> None:
    score = arrange(piece_of(LINES))
    start = cycle_starts(score)[2]
    # A tone a beat before the cycle, the third last of them shortened by the rest or left out.
    lengths = {start - 3: 1 - rest}
    tones = tuple(
        Sound(at, lengths.get(at, Fraction(1)), 0, 90)
        for at in (start - 9 + n for n in range(9))
        if lengths.get(at, 1)
    )
    parts = tuple(replace(p, sounds=tones) if p.role.name == "melody" else p for p in score.parts)
    made = onsets_by_mido(only_cycles(replace(score, parts=parts), 3, 3))["melody"]
    # Half a cycle of ten beats at most.
    assert [at for at, _ in made] == kept


def test_a_tone_tied_over_the_first_beat_is_kept_whole() -> None:
    score = arrange(piece_of(LINES))
    start = cycle_starts(score)[2]
    tied = (Sound(start - 1, Fraction(3), 0, 90),)
    parts = tuple(replace(p, sounds=tied) if p.role.name == "melody" else p for p in score.parts)
    score = replace(score, parts=parts)
    assert part_of(only_cycles(score, 3, 3), "melody").sounds == (Sound(Fraction(9), 3, 0, 90),)
    assert not part_of(only_cycles(score, 3, 3, lead_in=False), "melody").sounds
    assert part_of(only_cycles(score, 2, 2), "melody").sounds[0].length == 1


def test_the_lead_in_is_at_the_tempo_that_the_cycles_begin_at() -> None:
    score = arrange(piece_of(LINES))
    ramp = tuple(TempoMark(Fraction(n, 2), 60 + Fraction(n)) for n in range(100))
    starts = cycle_starts(score)
    cut = only_cycles(replace(score, tempos=ramp), 2, 3)
    assert cut.tempos[0] == TempoMark(Fraction(0), 60 + 2 * starts[1])
    assert cut.tempos[1] == TempoMark(10 + Fraction(1, 2), 61 + 2 * starts[1])
    inside = replace(score, tempos=(TempoMark(Fraction(0), Fraction(60)), *ramp[15:16]))
    cut = only_cycles(inside, 2, 3, lead_in=False)
    assert cut.tempos == (TempoMark(Fraction(0), Fraction(75)),)


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [(1, 9, "no cycle 9; they go from 1 to"), (0, 1, "no cycle 0"), (2, 1, "comes after")],
)
def test_cycles_that_are_not_there_are_refused(first: int, last: int, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        only_cycles(arrange(piece_of(LINES)), first, last)


def test_a_half_beat_is_no_first_beat() -> None:
    texts = ["cycle 1 beat 1 ×", "cycle 1 beat 1 1/2 0", "cycle 1 beat 1 1/2", "cycle 2 beat 1"]
    found = [bool(renderings._FIRST_BEAT.fullmatch(text)) for text in texts]
    assert found == [True, False, False, True]


# -- loops ----------------------------------------------------------------------------------


@FEW
@given(scores(), st.integers(1, 6))
def test_a_loop_is_the_piece_again_and_again(score: Score, times: int) -> None:
    start = cycle_starts(score)[0]
    made = looped(score, times)
    length = score.end - start
    assert made.end == score.end + (times - 1) * length
    whole, loop = onsets_by_mido(score), onsets_by_mido(made)
    for name, found in whole.items():
        again = [
            (at + length * number, key)
            for number in range(1, times)
            for at, key in found
            if at >= start
        ]
        assert Counter(loop[name]) == Counter([*found, *again])
    for part, old in zip(made.parts, score.parts, strict=True):
        seams = [start + length * number for number in range(1, times)]
        if part.role.name != "drone":
            events = (*part.sounds, *part.hits)
            assert not any(e.start < s < e.start + e.length for e in events for s in seams)
            if old.sounds and old.sounds[-1].start >= start:
                assert part.sounds[-1].length == old.sounds[-1].length


def test_the_markers_say_which_round_it_is() -> None:
    score = arrange(piece_of(LINES))
    made = looped(score, 3)
    texts = [marker.text for marker in made.markers]
    assert texts[0] == "count-in"
    first = cycle_starts(score)[0]
    length = score.end - first
    rounds = [m.at for m in made.markers if m.text.endswith(": cycle 1 beat 1 ×")]
    assert rounds == [first, first + length, first + 2 * length]
    assert "round 2 of 3: cycle 1 beat 1 ×" in texts
    bare = looped(replace(score, markers=()), 2)
    assert [(m.at, m.text) for m in bare.markers] == [
        (0, "round 1 of 2"),
        (score.end, "round 2 of 2"),
    ]
    # mido reads them from the file.
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(made)), charset="utf-8")
    read = [message.text for message in file.tracks[0] if message.type == "marker"]
    assert read == [text.replace("×", "x") for text in texts]  # in Latin-1 too


@pytest.mark.parametrize("times", [0, 201])
def test_a_loop_has_bounds(times: int) -> None:
    with pytest.raises(ValueError, match="1 to 200"):
        looped(score_of_demo(0), times)


def test_a_loop_of_too_many_beats_is_refused() -> None:
    score = replace(score_of_demo(0), end=Fraction(5000))
    with pytest.raises(ValueError, match="100,000 is the most"):
        looped(score, 21, Fraction(0))


def test_a_hit_that_rings_over_the_edge_is_cut_there() -> None:
    score = arrange(piece_of(LINES))
    end = cycle_starts(score)[1]
    clicked = with_claps(
        score, [Hit(end - 1, Fraction(4), 39, 100), Hit(score.end - 1, end, 39, 100)]
    )
    cut = part_of(only_cycles(clicked, 1, 1, lead_in=False), "count")
    assert [hit.length for hit in cut.hits] == [1]
    assert part_of(clicked, "count").hits[-1].length == 1
