"""A change of cycle within the form: on the timeline, in the drummer's hands, on the sheet.

The thekas are those that handbooks print; tests/catalog/test_cycles.py holds the catalogue to them.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import CHANGING_SEEDS, melody_of, piece_of, random_changing_piece

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Part, Score
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.timeline import Timeline
from cyclechart.arrange.unroller import unroll
from cyclechart.theory.tones import show_pitch
from cyclechart.write.musicxml.document import score_xml

BEATS = {"tintal": 16, "jhaptal": 10, "rupak": 7, "keherwa": 8, "dadra": 6}
THEKAS = {
    "tintal": "dha dhin dhin dha dha dhin dhin dha dha tin tin ta ta dhin dhin dha",
    "jhaptal": "dhi na dhi dhi na tin na dhi dhi na",
    "rupak": "tin tin na dhi na dhi na",
    "keherwa": "dha ge na tin na ka dhi na",
    "dadra": "dha dhi na dha tin na",
}
LOOP = '  loop: {sargam: "S R G m P d n"}\n'
HEAD = '  head: {sargam: "S R G m P d n S\' n d P m G R S R || S"}\n'


def part(score: Score, role: str) -> Part:
    return next(part for part in score.parts if part.role.name == role)


def said(score: Score, start: int, end: int) -> list[tuple[Fraction, str]]:
    """The drummer's syllables from a beat to another."""
    hits = part(score, "theka").hits
    return [(hit.start, hit.text) for hit in hits if hit.text and start <= hit.start < end]


def first_beats(timeline: Timeline) -> set[Fraction]:
    """Every first beat, the one after the last whole cycle of each stretch among them."""
    found = set()
    for stretch in timeline.stretches:
        if stretch.kind != "free":
            found.add(stretch.start)
            cycles = (stretch.end - stretch.start) // stretch.cycle.beats
            found |= {stretch.start + n * stretch.cycle.beats for n in range(int(cycles) + 1)}
    return found


_STEPS = st.lists(
    st.tuples(st.sampled_from(sorted(BEATS)), st.integers(0, 15), st.integers(1, 3)),
    min_size=1,
    max_size=6,
)


@given(_STEPS, st.booleans())
def test_lines_land_on_the_first_beat_that_the_next_cycle_begins_with(
    steps: list[tuple[str, int, int]], counts_in: bool
) -> None:
    # A line of every step's own, made to end on the first beat after so many cycles of it.
    lines, form = "", ""
    for number, (cycle, pickup, cycles) in enumerate(steps):
        pickup %= BEATS[cycle]
        cells = pickup + cycles * BEATS[cycle] + 1
        begins = BEATS[cycle] - pickup + 1 if pickup else 1
        lines += f"  l{number}: {{begins: {begins}, sargam: '{' '.join(['S'] * cells)}'}}\n"
        form += f"  - {{play: l{number}, cycle: {cycle}}}\n"
    piece = piece_of(f"count-in: {int(counts_in)}\nlines:\n{lines}form:\n{form}")
    timeline = unroll(piece)
    check_stretches(timeline)
    bodies = [stretch for stretch in timeline.stretches if stretch.label.startswith("l")]
    assert [stretch.cycle.beats for stretch in bodies if stretch.label != "lead-in"] == [
        BEATS[cycle] for cycle, _, _ in steps
    ]
    for placed, body, (cycle, pickup, cycles) in zip(
        timeline.placed_lines, bodies, steps, strict=True
    ):
        landing = placed.start_of(placed.line.notes[-1])
        assert landing == body.end == body.start + cycles * BEATS[cycle]
        assert placed.start == body.start - pickup % BEATS[cycle]
    for earlier, later in pairwise(bodies):
        # Between two lines stand only whole cycles of the earlier one's, for a long pickup.
        assert (later.start - earlier.end) % earlier.cycle.beats == 0
    assert timeline.closing == timeline.end - 1 == bodies[-1].end


def check_stretches(timeline: Timeline) -> None:
    """Stretches follow each other; each metered one but the last is whole cycles of its own."""
    assert all(placed.start >= 0 for placed in timeline.placed_lines)
    assert timeline.stretches[0].start == 0
    assert timeline.stretches[-1].end == timeline.end
    for earlier, later in pairwise(timeline.stretches):
        assert earlier.end == later.start
        if earlier.kind != "free":
            assert (earlier.end - earlier.start) % earlier.cycle.beats == 0


@pytest.mark.parametrize("seed", CHANGING_SEEDS)
def test_any_form_is_whole_cycles_and_any_landing_is_on_a_first_beat(seed: int) -> None:
    piece = piece_of(random_changing_piece(seed))
    timeline = unroll(piece)
    check_stretches(timeline)
    firsts = first_beats(timeline)
    free = [(s.start, s.end) for s in timeline.stretches if s.kind == "free"]
    by_start = {s.start: s for s in timeline.stretches if s.end > s.start or s.label}
    for placed in timeline.placed_lines:
        body = next(
            (
                stretch
                for start, stretch in sorted(by_start.items())
                if start >= placed.start and stretch.label == placed.line.name
            ),
            None,
        )
        for note in placed.line.notes:
            # A pickup never sounds over what has no meter.
            at = placed.start_of(note)
            if placed.until is None and body is not None and at < body.start:
                assert not any(start <= at < end for start, end in free)
        if body is None or placed.until is not None:
            continue
        last = placed.start_of(placed.line.notes[-1])
        position = placed.line.begins - 1 + placed.line.notes[-1].start
        if position % body.cycle.beats == 0 and last <= timeline.end:
            assert last in firsts


@pytest.mark.parametrize("seed", range(20))
def test_the_drummer_keeps_each_stretch_in_its_own_cycle(seed: int) -> None:
    names = sorted(BEATS)
    order = [names[(seed + 3 * n * n + n * seed) % len(names)] for n in range(5)]
    form = "".join(
        f"  - {{solo: melody, cycles: {n + 1}, cycle: {c}}}\n" for n, c in enumerate(order)
    )
    score = arrange(piece_of(f"seed: 0\nlines:\n{LOOP}form:\n{form}"))
    at = 0
    for cycles, cycle in [(0, order[0]), *enumerate(order, start=1)]:
        for _ in range(cycles):
            wanted = [(Fraction(at + n), word) for n, word in enumerate(THEKAS[cycle].split())]
            assert said(score, at, at + BEATS[cycle]) == wanted
            at += BEATS[cycle]
        at += 0 if cycles else BEATS[order[0]]  # the count-in
    assert score.end == at


def test_the_count_in_is_in_the_cycle_of_the_first_metered_step() -> None:
    text = (
        f"cycle: tintal\nlines:\n{LOOP}form:\n  - {{free: melody, seconds: 5}}\n"
        "  - {play: loop, cycle: rupak}\n"
    )
    score = arrange(piece_of(text))
    claps = [(hit.start, hit.text) for hit in part(score, "count").hits if hit.text]
    # Rupak: a wave on the first beat, claps on 4 and 6 (any account of the tala).
    assert claps == [(5, "wave"), (8, "clap"), (10, "clap")]
    assert [(m.at, m.beats) for m in score.meters] == [(0, 5), (5, 7)]


def test_a_pickup_with_a_fraction_sounds_over_the_end_of_the_old_cycle() -> None:
    text = (
        f"cycle: tintal\nlines:\n{HEAD}"
        '  turn: {begins: 6 1/2, sargam: "P/2 d || n S\' n d P m G || S"}\n'
        "form:\n  - play: head\n  - {play: turn, cycle: rupak}\n"
    )
    piece = piece_of(text)
    sounds = melody_of(piece).sounds
    heard = [(s.start, show_pitch(s.pitch), s.length) for s in sounds if s.start >= 28]
    half = Fraction(1, 2)
    # head is counted in for 16 beats and lands at 32, where rupak begins: its landing note gives
    # way to the pickup's own first beat, the pickup to nothing.
    assert heard[:5] == [
        (28, "G", 1),
        (29, "R", 1),
        (30, "S", half),
        (30 + half, "P", half),
        (31, "d", 1),
    ]
    assert heard[5] == (32, "n", 1)
    assert [meter.beats for meter in arrange(piece).meters] == [16, 7]


def test_a_landing_rings_on_over_the_change() -> None:
    text = (
        f"cycle: tintal\nlines:\n{HEAD.replace('|| S', '|| S - - - -')}"
        "form:\n  - play: head\n  - {solo: tabla, cycles: 2, cycle: rupak}\n"
    )
    sounds = melody_of(piece_of(text)).sounds
    assert (sounds[-1].start, sounds[-1].length) == (32, 5)


def test_a_pickup_longer_than_the_step_before_waits_whole_cycles_of_the_old_one() -> None:
    text = (
        f"cycle: rupak\ncount-in: 0\nlines:\n{LOOP}"
        f'  long: {{begins: 2, sargam: "{" ".join(["R"] * 15)} || S"}}\n'
        "form:\n  - play: loop\n  - {play: long, cycle: tintal}\n"
    )
    timeline = unroll(piece_of(text))
    lengths = [(s.kind, s.end - s.start, s.cycle.name) for s in timeline.stretches]
    assert lengths == [
        ("metered", 7, "Rupak"),
        ("metered", 7, "Rupak"),
        ("metered", 7, "Rupak"),
        ("metered", 0, "Tintal"),
        ("metered", 1, "Tintal"),
    ]
    assert [placed.start for placed in timeline.placed_lines] == [0, 6]
    assert len(melody_of(piece_of(text)).sounds) == 6 + 16


@pytest.mark.parametrize("solo", ["solo: melody", "solo: tabla, over: loop"])
def test_a_pickup_does_not_silence_the_whole_of_a_solo(solo: str) -> None:
    # Ten in tintal leaves seven beats of pickup: all of one cycle of rupak.
    text = (
        f"cycle: rupak\nlines:\n{LOOP}"
        '  long: {begins: 10, sargam: "R R R R R R R || S"}\n'
        f"form:\n  - {{{solo}, cycles: 1}}\n  - {{play: long, cycle: tintal}}\n"
    )
    timeline = unroll(piece_of(text))
    assert [placed.start for placed in timeline.placed_lines][-1] == 14
    assert timeline.closing == 21


def test_a_line_under_a_solo_keeps_time_in_the_solos_cycle() -> None:
    keep = '  keep: {strokes: "dha - ge na tin na ka"}\n'
    text = (
        f"cycle: tintal\nlines:\n{HEAD}{keep}form:\n  - play: head\n"
        "  - {solo: melody, cycles: 3, over: keep, cycle: rupak}\n"
    )
    timeline = unroll(piece_of(text))
    starts = [placed.start for placed in timeline.placed_lines if placed.line.name == "keep"]
    assert starts == [32, 39, 46]


def test_the_last_landing_closes_with_the_sam_of_the_cycle_played_in() -> None:
    text = f'seed: 0\ncycle: tintal\nlines:\n{HEAD}  end: {{sargam: "S R G m P d n || S\' -"}}\n'
    text += "form:\n  - play: head\n  - {play: end, cycle: rupak}\n"
    score = arrange(piece_of(text))
    assert said(score, 32, 99) == [
        (Fraction(32 + n), word) for n, word in enumerate([*THEKAS["rupak"].split(), "tin"])
    ]


def test_the_closing_stroke_is_the_first_of_the_cycle_played_in_even_where_it_has_none_there() -> (
    None
):
    # A cycle whose first beat is silent still closes with a stroke, and not with tintal's dha.
    quiet = '{name: Quiet, beats: 4, strokes: "- ta ta ta"}'
    text = f'seed: 0\ncycle: tintal\nlines:\n{HEAD}  end: {{sargam: "S R G m || S\' -"}}\n'
    text += f"form:\n  - play: head\n  - play: end\n    cycle: {quiet}\n"
    score = arrange(piece_of(text))
    assert said(score, 32, 99) == [(Fraction(n), "ta") for n in (33, 34, 35, 36)]


def test_markers_name_the_change_and_sign_the_right_cycle() -> None:
    text = f"cycle: tintal\nlines:\n{HEAD}{LOOP}"
    text += "form:\n  - play: head\n  - {play: loop, cycle: rupak}\n  - play: loop\n"
    markers = [(m.at, m.text) for m in arrange(piece_of(text)).markers if m.at >= 28]
    assert markers == [
        (28, "cycle 1 beat 13 3"),
        (32, "in Rupak"),
        (32, "loop"),
        (32, "cycle 2 beat 1 0"),
        (35, "cycle 2 beat 4 2"),
        (37, "cycle 2 beat 6 3"),
        (39, "loop"),
        (39, "cycle 3 beat 1 0"),
        (42, "cycle 3 beat 4 2"),
        (44, "cycle 3 beat 6 3"),
    ]


def test_a_free_step_carries_the_change_on() -> None:
    text = f"cycle: tintal\nlines:\n{LOOP}form:\n"
    text += "  - {free: melody, seconds: 5, cycle: rupak}\n  - play: loop\n"
    piece = piece_of(text)
    assert [step.cycle.name for step in piece.steps] == ["Rupak", "Rupak"]
    assert [cycle.name for cycle in piece.cycles] == ["Rupak"]
    assert [box.changes_text for box in sheet_of(piece).road] == ["", ""]


def test_a_line_in_two_cycles_stands_twice_on_the_sheet() -> None:
    text = (
        f"cycle: keherwa\nlines:\n{LOOP.replace('n', 'n S', 1)}  hit: {{sargam: S}}\n"
        "form:\n  - play: hit\n  - {play: hit, cycle: dadra}\n  - {play: hit, cycle: keherwa}\n"
    )
    sheet = sheet_of(piece_of(text))
    shown = [(s.letter, s.name, s.cycle.name, s.first, s.remark) for s in sheet.strains]
    assert shown == [
        ("A", "hit", "Keherwa", True, "in Keherwa"),
        ("B", "hit", "Dadra", True, "in Dadra"),
        ("D", "loop", "Keherwa", True, "in Keherwa"),  # after the form's last step, C
    ]
    assert [measure.length for measure in sheet.strains[1].measures] == [3]
    road = [(box.letter, box.changes_text) for box in sheet.road]
    assert road == [("A", ""), ("B", "Dadra 6"), ("C", "Keherwa 8")]
    assert [cycle.name for cycle in sheet.cycles] == ["Keherwa", "Dadra"]


def test_after_a_free_line_the_time_signature_is_shown_again() -> None:
    text = (
        f"cycle: tintal\nlines:\n{LOOP}  open: {{lands: free, sargam: S}}\n  hit: {{sargam: S}}\n"
        "form:\n  - {play: loop, cycle: rupak}\n  - free: open\n  - play: hit\n"
    )
    assert [strain.first for strain in sheet_of(piece_of(text)).strains] == [True, False, True]


def test_a_piece_in_one_cycle_says_nothing_of_it() -> None:
    text = f"cycle: rupak\nlines:\n{LOOP}form:\n  - play: loop\n  - {{play: loop, cycle: Roopak}}\n"
    sheet = sheet_of(piece_of(text))
    assert [(strain.letter, strain.remark) for strain in sheet.strains] == [("A", "")]
    assert [box.changes_text for box in sheet.road] == ["", ""]


def test_a_line_on_another_sa_stands_on_the_page_on_it() -> None:
    text = f"lines:\n{LOOP}form:\n  - play: loop\n  - {{play: loop, tonic: A, mode: yaman}}\n"
    sheet = sheet_of(piece_of(text))
    assert [(s.letter, str(s.key.tonic), s.key.mode.name) for s in sheet.strains] == [
        ("A", "D", "Charukeshi"),
        ("B", "A", "Yaman"),
    ]
    assert sheet.strains[1].remark.startswith("Sa = A, Yaman")
    # Read by music21: the same line a fifth higher, its key signature with it.
    score = music21.converter.parse(score_xml(sheet).decode(), format="musicxml")
    pitches = [note.pitch.midi for note in score.flatten().notes if note.isNote]
    half = len(pitches) // 2
    assert [b - a for a, b in zip(pitches[:half], pitches[half:], strict=True)] == [7] * half
    # Charukeshi's nearest signature on D has one sharp (its B flat and C are in the line), Yaman
    # on A is A major with a raised fourth: four.
    fifths = [key.sharps for key in score.flatten().getElementsByClass(music21.key.KeySignature)]
    assert fifths == [s.key.fifths for s in sheet.strains] == [1, 4]
