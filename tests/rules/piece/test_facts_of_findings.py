"""What a finding states, fact by fact: rule, place in the file and in the music, tone, the numbers
of its message, and what to write. The words around them are free to change.

The sums of the cadences are worked out beside each; modes are those of the catalogue.
"""

from __future__ import annotations

import re

import pytest
from support.making import findings_of, with_heading

from cyclechart.finding import MOST_OF_A_RULE, Finding
from cyclechart.write.terminal.findings import show_place

NUMBER = re.compile(r"\d+\.\d+|\d+ \d+/\d+|\d+/\d+|\d+")
WRITTEN = re.compile(r"(inner |outer )?gap: |begins: |within: |write |- play: |go |[\w-]+: \{")


def found(text: str, *rules: str) -> list[Finding]:
    whole = with_heading(text)
    every = findings_of(whole)
    assert not [one for one in every if one.rule in ("unreadable", "wrong-value", "unknown-key")]
    return [one for one in every if one.rule in rules]


def facts(text: str, *rules: str) -> list[tuple[str, str, str, str, list[str]]]:
    """(line:column in the text, place in the music, tone, numbers of the message, to try)."""
    above = with_heading(text).count("\n") - text.count("\n")
    return [
        (
            f"{one.spot.line - above}:{one.spot.column}",
            show_place(one.place) if one.place else "",
            one.tone or "",
            " ".join(NUMBER.findall(one.message)),
            [way if WRITTEN.match(way) else " ".join(NUMBER.findall(way)) for way in one.tries],
        )
        for one in found(text, *rules)
    ]


def cadence(how: str, more: str = "") -> str:
    return f"cycle: tintal\nlines:\n  closing:\n    {more}cadence: {{{how}}}\n"


STATEMENT = "sargam: P m GR G S"
"""Five beats, and the last stroke on the fifth."""


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # 3 (3·5 + 2·1) + 2·2 = 55: the last stroke 54 beats on, 6 over 48. Without the inner gap
        # 3·15 + 2·2 − 1 = 48; with 7 between the rounds 3·17 + 2·7 − 1 = 64.
        (
            cadence(f"begins: 1, gap: 2, cadence: {{{STATEMENT}, gap: 1}}"),
            ("4:5", "closing, cycle 1, beat 1", "", "3 5 1 3 2 1 10 6",
             ["inner gap: 0", "outer gap: 7", "begins: 11", "4 1/3"]),
        ),
        # One statement: 4 over; from beat 13 its last stroke is on the 17th. It has no gap to try.
        (
            cadence(f"{STATEMENT}, times: 1, begins: 1, gap: 0"),
            ("4:5", "closing, cycle 1, beat 1", "", "5 1 12 4", ["begins: 13"]),
        ),
        # 15 + 2·2 − 1 = 18 beats from the sixteenth: 33, one over 32.
        (
            cadence(f"{STATEMENT}, gap: 2, begins: 16"),
            ("4:5", "closing, pickup, beat 16", "", "3 5 2 16 15 1",
             ["gap: 1 1/2", "begins: 15", "4 2/3"]),
        ),
        # A beat before sam is aimed at: 15 + 2 − 1 = 16 is one over 15.
        (
            cadence(f"{STATEMENT}, gap: 1, begins: 1", "lands: anagat 1\n    "),
            ("5:5", "closing, cycle 1, beat 1", "", "3 5 1 1 15 1 1",
             ["gap: 1/2", "begins: 16", "4 2/3"]),
        ),
    ],
)  # fmt: skip
def test_a_cadence_that_misses(text: str, expected: tuple[str, str, str, str, list[str]]) -> None:
    assert facts(text, "cadence-misses") == [expected]


def test_a_cadence_in_two_cycles_is_told_of_in_each() -> None:
    text = cadence(f"{STATEMENT}, gap: 2, begins: 1")
    form = "form:\n  - play: closing\n  - {play: closing, cycle: jhaptal}\n"
    assert facts(text + form, "cadence-misses") == [
        ("4:5", "closing, cycle 1, beat 1", "", "3 5 2 1 14 2", ["gap: 1", "begins: 15", "4 1/3"]),
        ("4:5", "closing, cycle 1, beat 1", "", "3 5 2 1 2 8", ["gap: 3", "begins: 3", "5 2/3"]),
    ]
    both = found(text + form, "cadence-misses")
    assert [one.cycle for one in both] == ["Tintal", "Jhaptal"]
    assert [one.cycle in one.message for one in both] == [True, True]
    (alone,) = found(text, "cadence-misses")
    assert (alone.cycle, "Tintal" in alone.message) == ("", False)
    # Where it is right in one of them, the other alone is told of.
    right = text.replace("gap: 2", "gap: 1")
    assert [one.cycle for one in found(right + form, "cadence-misses")] == ["Jhaptal"]


def test_a_cadence_without_an_answer() -> None:
    inner = "begins: 1, within: 1, cadence: {sargam: P m GR G S, body: S R G m}"
    # 3 (4 + 15) − 1 = 56 beats; the window has sixteen.
    assert facts(cadence(inner), "cadence-unsolved") == [
        ("4:5", "closing, cycle 1, beat 1", "", "4 3 5 3 1 56 16", ["within: 4"])
    ]


def test_what_stands_before_a_cadence_in_a_chain_is_no_beginning_to_change() -> None:
    # Three fives with a gap of 3, begun on the thirteenth beat: the first ends on sam, 13 + 4.
    text = (
        "cycle: tintal\nlines:\n  w:\n    chain: [run, closing]\n"
        "  run: {sargam: S R G m P d n S' n d P m}\n"
        "  closing:\n    cadence: {sargam: P m GR G S, gap: 3}\n"
    )
    assert facts(text, "cadence-lands-early") == [("4:18", "w, cycle 1, beat 13", "", "1 3", [])]


def test_notes_that_a_pickup_covers() -> None:
    text = (
        "cycle: tintal\nlines:\n  head: {sargam: S R G m P d n S' n d P m G R S R}\n"
        "  closing:\n    cadence: {sargam: P m GR G - -}\nform:\n  - play: head\n"
        "  - play: closing\n"
    )
    assert facts(text, "covered-notes") == [
        ("3:20", "head, cycle 1, beat 2", "", "15 15 16", ["gap: 1, begins: 16"])
    ]


@pytest.mark.parametrize(
    ("begins", "covered"),
    # Of eight notes a pickup of four covers half, of five more; of eight all: it waits a cycle.
    [(5, 0), (4, 5), (3, 6), (2, 7), (1, 0)],
)
def test_a_pickup_covers_more_than_half_of_a_line(begins: int, covered: int) -> None:
    pickup = (
        " ".join(["S", "R", "G", "m", "P", "d", "n"][: 9 - begins]) + " ||" if begins > 1 else ""
    )
    text = (
        "cycle: keherwa\nlines:\n  head: {sargam: S R G m P m G R}\n"
        f"  tail: {{begins: {begins}, sargam: {pickup} S R G m P m G R || S}}\n"
        "form:\n  - play: head\n  - play: tail\n"
    )
    told = facts(text, "covered-notes")
    assert [one[3] for one in told] == ([f"{covered} {covered} 8"] if covered else [])
    if covered:
        assert told[0][1] == f"head, cycle 1, beat {9 - covered}"


def test_two_lines_that_land_are_offered_for_the_end() -> None:
    close = "{sargam: S R G m P d n d || S}"
    text = (
        f"cycle: keherwa\nlines:\n  a: {close}\n  b: {close}\n  c: {close}\n"
        "  f: {lands: free, sargam: S}\n  head: {sargam: S R G m P d n d}\nform:\n"
        "  - play: a\n  - play: b\n  - play: c\n  - {free: f, seconds: 10}\n  - play: head\n"
    )
    (told,) = facts(text, "open-ending")
    assert told[0] == "13:11"
    assert told[4] == ["- play: a", "- play: b"]
    assert not found(text.replace("  - play: head\n", ""), "open-ending")


def test_nobody_plays_a_line() -> None:
    loop = "{sargam: S R G m P d n d}"
    text = (
        f"players: {{tabla: , tanpura: }}\ncycle: keherwa\nlines:\n  head: {loop}\n  tail: {loop}\n"
        "form:\n  - play: head\n  - play: tail\n  - play: head\n"
    )
    told = facts(text, "unplayed-line")
    assert [(one[0], one[4]) for one in told] == [
        ("7:11", ["flute: {plays: melody}"]),
        ("8:11", ["flute: {plays: melody}"]),
    ]
    assert ["head" in one.message for one in found(text, "unplayed-line")] == [True, False]


# The mode


@pytest.mark.parametrize(
    ("mode", "sargam", "rule", "expected"),
    [
        ("bhimpalasi", "S R R g m P D D n S'", "left-out-going-up",
         [("head, cycle -, beat 2", "R", "write g for R, g for R"),
          ("head, cycle -, beat 7", "D", "write n for D, n for D")]),
        ("khamaj", "S' N N D P m G", "left-out-coming-down",
         [("head, cycle -, beat 2", "N", "write n for N, n for N")]),
        ("bhimpalasi", "S {m}G~ m SGm N D P", "foreign-tone",
         [("head, cycle -, beat 2", "G", "write {m}g~ for {m}G~"),
          ("head, cycle -, beat 4 1/3", "G", "write Sgm for SGm, n for N"),
          ("head, cycle -, beat 5", "N", "write Sgm for SGm, n for N")]),
        ("marwa", "D N N S' z M N' S''", "turn-skipped",
         [("head, cycle -, beat 2", "N", "go N D S'"),
          ("head, cycle -, beat 7", "N", "go N' D' S''")]),
        ("bhimpalasi", "P D D P z m g m R m z S' D S' g' R' g'", "turns-on-left-out",
         [("head, cycle -, beat 2", "D", "")]),
    ],
)  # fmt: skip
def test_a_fault_of_movement(
    mode: str, sargam: str, rule: str, expected: list[tuple[str, str, str]]
) -> None:
    text = f'mode: {mode}\nlines:\n  head: {{lands: free, sargam: "{sargam}"}}\n'
    told = found(text, rule)
    shown = []
    for one in told:
        assert one.place is not None
        assert (one.place.within, one.place.cycle) == ("head", None)
        beat = show_place(one.place).rpartition(" beat ")[2] or str(one.place.beat)
        shown.append((f"head, cycle -, beat {beat}", one.tone, "; ".join(one.tries)))
    assert shown == expected


def test_a_grace_note_gives_way_to_the_nearest_tone() -> None:
    text = (
        "mode: bhupali\ncycle: keherwa\n"
        'lines:\n  head: {sargam: "{n}S {m}R {d}G {M}P {r}D {N}P {S}G R || S"}\n'
    )
    told = found(text, "foreign-tone")
    assert [one.tone for one in told] == list("nmdMrN")
    assert [one.place.beat for one in told if one.place] == [1, 2, 3, 4, 5, 6]
    # m stands a semitone over G, d over P, M under P, r over S, N under S; n a semitone over D.
    assert [one.tries[0].split()[-1] for one in told] == ["D", "G", "P", "P", "S", "S"]


def test_a_line_in_two_modes_is_given_a_line_of_its_own_and_one_in_one_is_rewritten() -> None:
    loop = "{sargam: S R G m P d n d}"
    text = (
        f"mode: charukeshi\ncycle: keherwa\nlines:\n  head: {loop}\n  tail: {loop}\nform:\n"
        "  - play: head\n  - {play: head, mode: yaman}\n  - {play: tail, mode: yaman}\n"
    )
    told = found(text, "foreign-tone")
    assert [one.place.within for one in told if one.place] == ["head"] * 4 + ["tail"] * 4
    assert {"Yaman" in one.tries[0] and len(one.tries) == 1 for one in told[:4]} == {True}
    assert {"a separate line for" in one.tries[0] for one in told[:4]} == {True}
    assert {"a separate line for" in one.tries[0] for one in told[4:]} == {False}
    # What is said of the piece in its one mode is not of one of its lines.
    (phrase,) = found(text, "own-phrase-missing")
    assert phrase.place is None


# The judge


def test_no_more_of_a_rule_than_the_most_and_the_last_says_so() -> None:
    def many(count: int) -> list[Finding]:
        cells = " ".join(["n S"] * count)
        text = f"mode: bhupali\nlines:\n  head: {{lands: free, sargam: {cells}}}\n"
        return found(text, "foreign-tone")

    just, more = many(MOST_OF_A_RULE), many(MOST_OF_A_RULE + 1)
    assert len(just) == len(more) == MOST_OF_A_RULE
    assert just[-1].message != more[-1].message
    assert more[-1].message.startswith(just[-1].message)
    assert just[:-1] == more[:-1]


def test_each_liberty_covers_its_own_and_what_it_does_not_cover_is_told_of() -> None:
    text = (
        "mode: bhupali\ncycle: keherwa\nlines:\n  head: {lands: free, sargam: S n S n}\n"
        "  tail: {lands: free, sargam: (n S)*2}\nliberties:\n"
        "  - {rule: foreign-tone, line: head, tone: n, why: so}\n"
        "  - {rule: foreign-tone, line: tail, tone: d, why: not}\n"
        "  - {rule: weak-rest, why: never}\n"
    )
    told = found(text, "foreign-tone")
    assert [(one.spot.column, one.liberty) for one in told] == [(33, "so"), (37, "so"), (32, None)]
    unused = found(text, "unused-liberty")
    assert [one.spot.column for one in unused] == [5, 5]
    assert "foreign-tone with d in 'tail'" in unused[0].message
    assert "weak-rest" in unused[1].message
    assert "'" not in unused[1].message


# Players


@pytest.mark.parametrize(
    ("players", "head", "rule", "expected"),
    [
        # On D: G, is F♯3, S' D5 or an octave up D6; the alto saxophone reads a sixth higher.
        ("{flute: }", "P, S R G m P d n || G,", "out-of-range",
         [("F♯3", "C4", "flute: {octave: 1}", "head, cycle 2, beat 1")]),
        ("{alto-sax: {octave: 1}}", "S R G m P d n d || S'", "out-of-range",
         [("D6 (written B6)", "A5 (written F♯6)", "alto-sax: {octave: 0}",
           "head, cycle 2, beat 1")]),
        ("{flute: , tenor: }", "G,, S R G' S'' P d n || S", "out-of-range",
         [("F♯2", "C4", "", "head, cycle 1, beat 1"), ("F♯2", "B2", "", "head, cycle 1, beat 1"),
          ("D6", "C5", "", "head, cycle 1, beat 5")]),
        ("{tenor: }", "S R G - m P d - n d P m - G R S || S", "strained-range",
         [("C5", "G4", "tenor: {octave: -1}", "head, cycle 2, beat 1")]),
        ("{lead: {instrument: flute}, low-man: {instrument: baritone}}", "S R G m P d n d || P,",
         "out-of-range", [("C5", "G4", "low-man: {octave: -1}", "head, cycle 1, beat 7")]),
    ],
)  # fmt: skip
def test_a_note_out_of_a_range(
    players: str, head: str, rule: str, expected: list[tuple[str, str, str, str]]
) -> None:
    text = f'cycle: keherwa\nplayers: {players}\nlines:\n  head: {{sargam: "{head}"}}\n'
    told = [one for one in found(text, rule) if "lead" not in one.message]
    assert len(told) == len(expected)
    for one, (note, limit, way, place) in zip(told, expected, strict=True):
        assert one.message.startswith(f"{note} ")
        assert one.message.endswith(f" {limit}")
        assert (one.tries[0] if way else "") == way
        assert bool(one.tries) == bool(way)
        assert one.place is not None
        assert show_place(one.place) == place


@pytest.mark.parametrize(
    ("tempo", "seconds"), [(90, None), (80, None), (79, "13"), (60, "17"), (40, "26")]
)
def test_seconds_without_a_rest(tempo: int, seconds: str | None) -> None:
    # Sixteen beats and the landing of one: 17 × 60 / tempo; twelve seconds are not too many.
    beats = "(S R G m P d n d)*2 || S" if tempo != 80 else "(S R G m P d n d)*2"
    text = f"cycle: keherwa\ntempo: {tempo}\nplayers: {{flute: {{octave: 1}}}}\n"
    told = found(f'{text}lines:\n  head: {{sargam: "{beats}"}}\n', "no-breath")
    assert [NUMBER.findall(one.message) for one in told] == ([[seconds]] if seconds else [])
