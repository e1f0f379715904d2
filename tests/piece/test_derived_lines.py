"""Lines from lines: what each operation does, what it takes along, and what is told."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import findings_of, load_text, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.theory.tones import show_pitch
from cyclechart.write.midi.file import midi_with_report

HEAD = 'head: {begins: 7, sargam: "n, S || g m P n S\' - n D || P - - m g R S - || S"}'
HEADING = {"mode": "bhimpalasi", "cycle": "keherwa"}


def derived(keys: str, head: str = HEAD, **heading: str) -> Line:
    text = f"lines:\n  {head}\n  echo: {{from: head{keys}}}\n"
    return piece_of(text, **{**HEADING, **heading}).lines["echo"]


def told(keys: str, head: str = HEAD, **heading: str) -> list[Finding]:
    """The findings at what is written for the line, and not on its music."""
    text = with_heading(
        f"lines:\n  {head}\n  echo: {{from: head{keys}}}\n", **{**HEADING, **heading}
    )
    return list(load_text(text).findings)


def shown(line: Line) -> str:
    """Its notes with their lengths, and z for a rest."""
    found, at = [], Fraction(0)
    for note in line.notes:
        if note.start > at:
            found.append(f"z:{note.start - at}")
        what = note.syllable if note.pitch is None else show_pitch(note.pitch)
        found.append(f"{what}:{note.length}")
        at = note.end
    return " ".join(found) + (f" z:{line.length - at}" if line.length > at else "")


@pytest.mark.parametrize(
    ("keys", "found", "begins"),
    [
        (", part: 1", "n,:1 S:1 g:1 m:1 P:1 n:1 S':2 n:1 D:1", 7),
        (", part: 0", "n,:1 S:1", 7),
        (", part: 2", "P:3 m:1 g:1 R:1 S:2", 1),
        (", part: 2-3", "P:3 m:1 g:1 R:1 S:2 S:1", 1),
        (", part: 3", "S:1", 1),
        (", part: 2, move: -2", "g:3 R:1 S:1 n,:1 D,:2", 1),
        (", part: 2, turned: P", "P:3 D:1 n:1 S':1 R':2", 1),
        (", part: 2, reversed: true", "S:2 R:1 g:1 m:1 P:3", 1),
        (", part: 2, mode: marwa", "M:3 M:1 G:1 r:1 S:2", 1),
        (", part: 2, speed: 2", "P:3/2 m:1/2 g:1/2 R:1/2 S:1", 1),
        (", part: 2, speed: dugun", "P:3/2 m:1/2 g:1/2 R:1/2 S:1", 1),
        (", speed: 2, part: 1", "n,:1/2 S:1/2 g:1/2 m:1/2 P:1/2 n:1/2 S':1 n:1/2 D:1/2", 8),
    ],
)
def test_each_operation(keys: str, found: str, begins: int) -> None:
    line = derived(keys)
    assert shown(line) == found
    assert line.begins == begins


def test_operations_are_done_in_their_order_whatever_order_they_are_written_in() -> None:
    one = derived(", part: 2, reversed: true, turned: P, move: 1, mode: yaman, speed: 3/2")
    other = derived(", speed: 3/2, mode: yaman, move: 1, turned: P, reversed: true, part: 2")
    assert shown(one) == shown(other)
    # By hand: S R g m P (2 1 1 1 3), about P: R' S' n D P, a step up: g' R' S' n D (the turned line
    # falls); in yaman: G' R' S' N D, and at 3/2.
    assert shown(one) == "G':4/3 R':2/3 S':2/3 N:2/3 D:2"


def test_what_stands_on_first_beats_ends_on_them_backwards() -> None:
    line = derived(", reversed: true", "head: {sargam: S R G m P m G R || S - - -}")
    assert (line.begins, shown(line)) == (5, "S:4 R:1 G:1 m:1 P:1 m:1 G:1 R:1 S:1")


def test_glides_turn_round_and_graces_and_marks_stay_with_their_notes() -> None:
    line = derived(
        ", reversed: true", "head: {lands: free, sargam: 'S~R {m}G !accent!m z P~d n -'}"
    )
    assert [(n.pitch, n.glides, n.grace, n.marks) for n in line.notes] == [
        (10, False, (), ()),
        (8, True, (), ()),
        (7, False, (), ()),
        (5, False, (), ("accent",)),
        (4, False, (5,), ()),
        (2, True, (), ()),
        (0, False, (), ()),
    ]


def test_a_note_cut_by_a_part_ends_with_it_and_one_held_into_it_is_silent() -> None:
    head = "head: {sargam: S R G m P m G R~ || - - S R G m G R || S}"
    assert shown(derived(", part: 1", head)).endswith("R:1")
    assert not derived(", part: 1", head).notes[-1].glides
    assert shown(derived(", part: 2", head)).startswith("z:2 S:1 R:1")


def test_graces_are_moved_too() -> None:
    line = derived(", move: -2", "head: {lands: free, sargam: '{m}P m {P}m g'}")
    assert [(show_pitch(n.pitch or 0), tuple(map(show_pitch, n.grace))) for n in line.notes] == [
        ("g", ("R",)), ("R", ()), ("R", ("g",)), ("S", ()),
    ]  # fmt: skip


def test_words_are_sung_to_the_same_notes_and_left_out_backwards() -> None:
    head = "head: {sargam: S R g R, words: Row the boat home, lands: free}"
    assert [note.word for note in derived(", move: 2", head).notes] == [
        "Row",
        "the",
        "boat",
        "home",
    ]
    assert not any(note.word for note in derived(", reversed: true", head).notes)
    own = derived(", move: 2, words: Two by two by", head)
    assert [note.word for note in own.notes] == ["Two", "by", "two", "by"]


def test_what_stands_beside_it_goes_before_what_it_has_from_its_source() -> None:
    assert derived(", begins: 3").begins == 3
    assert derived(", lands: free").free
    assert derived(", eduppu: 1").eduppu == 1
    assert derived(", eduppu: 1").begins == 8  # its pickup leads to the eduppu
    assert derived("", 'head: {lands: anagat 1/2, sargam: "S R G m P d n d/2 S/2"}').lands
    faster = derived(", speed: 2", 'head: {lands: anagat 1/2, sargam: "(S R G m P d n d)*2"}')
    assert faster.lands is not None
    assert faster.lands.by == Fraction(1, 4)


def test_every_kind_of_line_can_be_a_source() -> None:
    text = """
lines:
  beat: {strokes: "dha ge na tin na ka dhi na"}
  back: {from: beat, reversed: true}
  half: {from: beat, speed: 1/2}
  tihai: {cadence: {sargam: "P m g", gap: auto}}
  above: {from: tihai, move: 2}
  low: {from: above, move: -2}
  joined: {chain: [low, tihai]}
  twice: {from: joined, speed: 2}
"""
    lines = piece_of(text, **HEADING).lines
    assert shown(lines["back"]) == "na:1 dhi:1 ka:1 na:1 tin:1 na:1 ge:1 dha:1"
    assert lines["half"].length == 16
    assert [n.start for n in lines["above"].notes] == [n.start for n in lines["tihai"].notes]
    assert shown(lines["low"]) == shown(lines["tihai"])
    assert lines["above"].cadences
    assert not lines["twice"].cadences
    assert lines["twice"].length == lines["joined"].length / 2


def test_a_cadence_is_worked_out_in_the_cycle_that_the_line_is_played_in() -> None:
    text = """
lines:
  tihai: {cadence: {sargam: "P m g S", gap: auto}}
  above: {from: tihai, move: 1}
form:
  - play: tihai
  - {play: above, cycle: tintal}
"""
    alone = text.replace("{from: tihai, move: 1}", '{cadence: {sargam: "n P m g", gap: auto}}')
    lines, other = piece_of(text, **HEADING).lines, piece_of(alone, **HEADING).lines
    assert [n.start for n in lines["above"].notes] == [n.start for n in other["above"].notes]
    assert lines["above"].begins == other["above"].begins
    assert not [f for f in findings_of(with_heading(text, **HEADING)) if "cadence" in f.rule]


def test_a_chain_works_out_a_line_from_a_cadence_where_it_comes_to_it() -> None:
    text = """
lines:
  tihai: {cadence: {sargam: "P m g S", gap: auto}}
  run: {sargam: "S g m"}
  same: {from: tihai}
  above: {from: tihai, move: 1}
  one: {chain: [run, tihai]}
  two: {chain: [run, same]}
  three: {chain: [run, above]}
"""
    lines = piece_of(text, **HEADING).lines
    assert shown(lines["one"]) == shown(lines["two"])
    one, three = ([note.start for note in lines[name].notes] for name in ("one", "three"))
    assert one == three
    assert shown(lines["three"]).startswith("S:1 g:1 m:1 D:1 P:1")
    assert not [f for f in findings_of(with_heading(text, **HEADING)) if "first-beat" in f.rule]


def test_a_source_that_is_not_played_is_judged_where_its_lines_are() -> None:
    text = """
lines:
  cell: {sargam: M G r}
  echo: {from: cell, move: 1}
form:
  - {play: echo, mode: marwa}
"""
    found = findings_of(with_heading(text, **HEADING))
    assert not [f for f in found if f.place and f.place.within == "cell"], found


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (", part: 4", "'head' has cycles 1 to 3 and a pickup, 0, not 4"),
        (", part: 2-1", "not 2-1"),
        (", part: first", "'first' is not a part of a line"),
        (", turned: x", "'x' is not a tone"),
        (", turned: N", "Bhimpalasi has no N"),
        (", move: 1/2", "moved by whole steps"),
        (", move: 99", "21 at most"),
        (", speed: fast", "'fast' is not a speed"),
        (", speed: 0", "a speed must be 1/64 to 64"),
        (", speed: -2", "a speed must be 1/64 to 64"),
        (", reversed: maybe", "reversed must be true or false"),
        (", move: 21, turned: R''", "more than three octaves above Sa"),
        (", mode: nothing-such", "there is no mode 'nothing-such'"),
        (", sargam: S R", "written twice"),
    ],
)
def test_a_mistake_gets_one_finding_and_no_traceback(keys: str, words: str) -> None:
    (finding,) = told(keys)
    assert words in finding.message
    assert finding.spot.line == with_heading("", **HEADING).count("\n") + 3


def test_a_pickup_that_is_not_there_and_a_line_without_cycles_are_told_of() -> None:
    (finding,) = told(", part: 0", "head: {sargam: S g m P n P m g}")
    assert "'head' has one cycle, not 0" in finding.message
    (finding,) = told(", part: 1", "head: {lands: free, sargam: S g m P n P m g}")
    assert "free of the cycle" in finding.message


def test_strokes_have_no_degrees() -> None:
    found = told(", move: 1, turned: S", "head: {strokes: dha ge na tin na ka dhi na}")
    assert ["'turned' needs tones" in f.message or "'move' needs" in f.message for f in found]
    assert len(found) == 2


def test_operations_without_a_source_circles_and_strangers_are_told_of() -> None:
    def messages(lines: str) -> list[str]:
        return [f.message for f in load_text(with_heading(f"lines:\n{lines}", **HEADING)).findings]

    (one,) = messages("  head: {sargam: S g m P n P m g, move: 2}\n")
    assert "'move' is done to another line" in one
    assert messages("  a: {from: b}\n  b: {from: a}\n") == ["'a' would contain itself"]
    assert messages("  a: {from: a}\n") == ["'a' would contain itself"]
    (one,) = messages("  head: {sargam: S g m P n P m g}\n  b: {from: haed}\n")
    assert one == "the piece has no line 'haed'"
    (one,) = messages(
        "  head: {sargam: S g m P n P m g}\n  c: {chain: [head, c2]}\n  c2: {from: c}\n"
    )
    assert "would contain itself" in one


def test_hostile_lines_stop() -> None:
    deep = "".join(f"  l{n}: {{from: l{n + 1}, speed: 64}}\n" for n in range(300))
    found = load_text(with_heading(f"lines:\n{deep}  l300: {{sargam: S}}\n", **HEADING)).findings
    assert any("at most 40 deep" in f.message for f in found)
    slow = "".join(f"  l{n}: {{from: l{n - 1}, speed: 1/64}}\n" for n in range(1, 300))
    found = load_text(with_heading(f"lines:\n  l0: {{sargam: S}}\n{slow}", **HEADING)).findings
    assert any("more than 20,000" in f.message for f in found)
    fast = slow.replace("1/64", "63/64")
    found = load_text(with_heading(f"lines:\n  l0: {{sargam: S}}\n{fast}", **HEADING)).findings
    assert any("too finely" in f.message for f in found)
    full = "".join(f"  m{n}: {{from: l0}}\n" for n in range(50))
    found = load_text(with_heading(f"lines:\n  l0: {{sargam: (S)*1000 (S)*1000 (S)*1000}}\n{full}"))
    assert any("at most 20,000 of them" in f.message for f in found.findings)


_CELLS = st.lists(
    st.sampled_from(["S", "Rg", "m-P", "z", "-", "S'~n", "{g}m", "P/2", "[S R g]x3/2", "!p!D"]),
    min_size=1,
    max_size=12,
)


@given(_CELLS, st.sampled_from(["1", "3", "4 1/2", "10 1/3"]))
def test_what_is_undone_is_the_line_itself(cells: list[str], begins: str) -> None:
    text = f'lines:\n  head: {{begins: {begins}, sargam: "!mp!S {" ".join(cells)}"}}\n' + (
        "  back: {from: head, reversed: true}\n  forth: {from: back, reversed: true}\n"
        "  fast: {from: head, speed: 4/3}\n  slow: {from: fast, speed: 3/4}\n"
        "  up: {from: head, move: 3}\n  down: {from: up, move: -3}\n"
        "  over: {from: head, turned: P}\n  under: {from: over, turned: P}\n"
        "  same: {from: head}\n"
    )
    lines = piece_of(text, mode="kafi-thaat", cycle="jhaptal").lines
    head = lines["head"]

    def facts(line: Line) -> object:
        return (
            line.begins,
            line.length,
            [(n.start, n.length, n.pitch, n.grace, n.marks, n.glides) for n in line.notes],
            [(one.start, one.end, one.speed) for one in line.speeds],
        )

    for name in ("same", "down", "under", "slow"):
        assert facts(lines[name]) == facts(head), name
    assert facts(lines["forth"])[1:] == facts(head)[1:]  # type: ignore[index]
    assert (lines["forth"].begins - head.begins) % 10 == 0
    assert lines["fast"].length == head.length * 3 / 4
    back = [(n.length, n.pitch) for n in lines["back"].notes]
    assert back == [(n.length, n.pitch) for n in reversed(head.notes)]


def test_a_line_from_a_line_sounds_as_the_same_line_written_out() -> None:
    form = "form:\n  - {play: echo, times: 2}\n  - solo: melody\n    cycles: 2\n  - play: echo\n"
    body = HEAD.removeprefix("head: ")
    own = f"lines:\n  echo: {body}\n{form}"
    from_other = f"lines:\n  {HEAD}\n  echo: {{from: head}}\n{form}"
    one, other = (
        midi_with_report(arrange(piece_of(text, **HEADING)))[0] for text in (own, from_other)
    )
    assert one == other


def test_what_to_try_for_a_cadence_is_tried_where_it_is_written() -> None:
    text = with_heading(
        "lines:\n  tihai: {cadence: {sargam: P m g R S, gap: 0, begins: 2}}\n"
        "  above: {from: tihai, move: 2}\n  higher: {from: above, move: 1}\n",
        **HEADING,
    )
    told = [f for f in findings_of(text) if f.rule == "cadence-misses"]
    own, *others = told
    assert len(others) == 2
    for finding in others:
        assert finding.tries == tuple(f"in 'tihai': {one}" for one in own.tries)


def test_a_mode_may_be_written_out() -> None:
    river = "{name: River, ascent: S R G m P d n S', descent: S' n d P m G R S}"
    assert shown(derived(f", part: 2, mode: {river}")) == "P:3 m:1 G:1 R:1 S:2"


CHORDS = 'head: {rhythm: RHYTHM, chords: "Bm7 - C#m7 - D - F#m7 - || - - G/B - Em7 - z -"}'


def chords_of(keys: str, head: str = CHORDS, rhythm: str = "own") -> Line:
    text = f"  stabs: {{sargam: 'z S z S - z z S/2 S/2'}}\n  {head.replace('RHYTHM', rhythm)}\n"
    text = f"lines:\n{text}  echo: {{from: head{keys}}}\n"
    return piece_of(text, mode="kafi", cycle="keherwa", tonic="B").lines["echo"]


def symbols(line: Line) -> str:
    return " ".join(f"{n.symbol}:{n.length}" for n in line.notes)


@pytest.mark.parametrize(
    ("keys", "found"),
    [
        ("", "Bm7:2 C#m7:2 D:2 F#m7:4 G/B:2 Em7:2"),
        (", part: 1", "Bm7:2 C#m7:2 D:2 F#m7:2"),
        # A chord that is held into a part begins there.
        (", part: 2", "F#m7:2 G/B:2 Em7:2"),
        (", reversed: true", "Em7:2 G/B:2 F#m7:4 D:2 C#m7:2 Bm7:2"),
        (", speed: 2", "Bm7:1 C#m7:1 D:1 F#m7:2 G/B:1 Em7:1"),
        # Kafi on B: B C# D E F# G# A. G is from outside and keeps its quality; its root is
        # between F# and G#. D and C#m7 become what the mode has there.
        (", part: 1, move: 1", "C#m7:2 Dmaj7:2 E:2 G#m7b5:2"),
        (", part: 1, move: -2", "G#m7b5:2 Amaj7:2 Bm:2 Dmaj7:2"),
        (", part: 1, mode: bilawal", "Bmaj7:2 C#m7:2 D#m:2 F#7:2"),
        (", part: 1, turned: S", "Bm7:2 Amaj7:2 G#dim:2 E7:2"),
    ],
)
def test_chords_go_along_with_every_operation(keys: str, found: str) -> None:
    assert symbols(chords_of(keys)) == found


def test_the_rhythm_of_chords_goes_along() -> None:
    def strikes(line: Line) -> list[tuple[Fraction, Fraction, str]]:
        assert line.struck is not None
        return [(n.start, n.length, n.symbol) for n in line.struck]

    assert chords_of("").struck is None
    written = chords_of(", reversed: true", rhythm="written")
    assert written.struck == written.notes
    own, back = chords_of("", rhythm="stabs"), chords_of(", reversed: true", rhythm="stabs")
    mirrored = [(16 - at - length, length, name) for at, length, name in reversed(strikes(own))]
    assert strikes(back) == mirrored
    fast = chords_of(", speed: 2", rhythm="stabs")
    assert strikes(fast) == [(at / 2, length / 2, name) for at, length, name in strikes(own)]
    other = chords_of(", speed: 2, rhythm: written", rhythm="stabs")
    assert other.struck == other.notes
    assert chords_of(", rhythm: own", rhythm="stabs").struck is None


def test_kits_go_along_and_have_no_tones() -> None:
    text = "lines:\n  beat: {kit: k+h h s+h h k h s+o !f!h}\n  back: {from: beat, reversed: true}\n"
    text += "  fast: {from: beat, speed: 2, part: 1}\n"
    lines = piece_of(text, **HEADING).lines
    back = ["+".join(note.drums) for note in lines["back"].notes]
    assert back == ["+".join(note.drums) for note in reversed(lines["beat"].notes)]
    assert lines["fast"].length == 4
    (finding,) = told(", move: 1", "head: {kit: k h s h k h s h}")
    assert "'move' needs tones, and 'head' is a line of kit" in finding.message
