"""The advice on chords: what is tried holds, liberties cover it, and melodies are left alone."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st
from support.making import findings_of, load_text, piece_of, with_heading

from cyclechart.finding import Finding
from cyclechart.theory.chord_qualities import COMMON

RULES = ("chord-outside-mode", "chord-pulls-from-sa")
MODES = ("bhimpalasi", "hamsadhwani", "marwa", "khamaj", "charukeshi", "yaman", "durga")
PLAYERS = "players: {flute: , guitar: {plays: voicings}, tanpura: }\n"
LINE = "    chords: |\n      "

ROOTS = st.sampled_from(["D", "E", "F", "F#", "G", "A", "Bb", "B", "C", "C#"])
CHORDS = st.builds(
    lambda root, suffix, bass: f"{root}{suffix}{'' if bass == f'/{root}' else bass}",
    ROOTS,
    st.sampled_from([*COMMON, "7", "7", "9"]),
    st.sampled_from(["", "", "", "/D", "/A", "/G"]),
)


def text_of(cells: list[str], mode: str) -> str:
    return with_heading(
        f"{PLAYERS}mode: {mode}\ncycle: rupak\nlines:\n  comp:\n    lands: free\n{LINE}"
        f"{' '.join(cells)}\n"
    )


def advice(text: str) -> list[Finding]:
    return [finding for finding in findings_of(text) if finding.rule in RULES]


@given(st.lists(CHORDS, min_size=2, max_size=7, unique=True), st.sampled_from(MODES))
def test_what_is_tried_holds(chords: list[str], mode: str) -> None:
    # Each cell is unlike the others, so that the text says which is meant.
    cells = list(chords)
    starts = [len(" ".join(cells[:at])) + (7 if at else 6) + 1 for at in range(len(cells))]
    for finding in advice(text_of(cells, mode)):
        at = starts.index(finding.spot.column)
        for tried in finding.tries:
            match = re.fullmatch(r"write (\S+) for (\S+)", tried)
            assert match is not None, tried
            old = next(n for n in range(at, len(cells)) if cells[n] == match[2])
            changed = [*cells[:old], match[1], *cells[old + 1 :]]
            text = text_of(changed, mode)
            assert not [one for one in findings_of(text) if one.rule == "bad-cell"]
            assert not [
                one
                for one in advice(text)
                if (one.rule, one.spot.column, one.message)
                == (finding.rule, finding.spot.column, finding.message)
            ], tried
            if finding.rule == "chord-outside-mode":
                place = len(" ".join(changed[:old])) + (7 if old else 6) + 1
                assert not [
                    one
                    for one in advice(text)
                    if one.rule == finding.rule and one.spot.column == place
                ]


def test_a_liberty_covers_a_borrowed_chord() -> None:
    liberties = "liberties: [{rule: chord-outside-mode, line: comp, tone: N, why: it leads home}]\n"
    text = with_heading(
        f"{PLAYERS}cycle: keherwa\nlines:\n  comp: {{chords: 'S - P7 - | S - - -'}}\n{liberties}"
    )
    (found,) = [one for one in findings_of(text) if one.rule == "chord-outside-mode"]
    assert found.liberty == "it leads home"


def test_a_line_in_two_modes_is_compared_with_both() -> None:
    text = with_heading(
        f"{PLAYERS}mode: bilawal\ncycle: keherwa\nlines:\n"
        "  comp: {chords: 'S - P7 - | S - - -'}\n"
        "form: [{play: comp}, {play: comp, mode: kafi}]\n"
    )
    found = [one.message for one in findings_of(text) if one.rule == "chord-outside-mode"]
    assert [message for message in found if "Bilawal" in message] == []
    assert len([message for message in found if "Kafi" in message]) == 2


def test_other_rules_of_the_mode_leave_chords_alone() -> None:
    """Chords that would be faults of every kind, if they were taken for notes of a melody."""
    text = with_heading(
        f"{PLAYERS}mode: marwa\ncycle: keherwa\nlines:\n"
        "  comp: {chords: 'S - - - | M - - - || d - - - | P - n -'}\n"
    )
    rules = {one.rule for one in findings_of(text)}
    allowed = {*RULES, "unplayed-line", "open-ending", "vadi-faint"}
    assert rules <= allowed, rules - allowed
    loaded = load_text(text)
    assert loaded.piece is not None


def test_a_chord_line_fills_whole_cycles_or_lands() -> None:
    def shapes(chords: str) -> list[str]:
        text = with_heading(f"{PLAYERS}cycle: keherwa\nlines:\n  comp: {{chords: '{chords}'}}\n")
        families = ("landing", "misses", "first-beat")
        return [one.rule for one in findings_of(text) if any(word in one.rule for word in families)]

    assert not shapes("S - - - | - - - - || - - - - | Pm - - -")
    assert not shapes("S - - - | Pm - - - || S")
    assert shapes("S - - - | Pm") == ["misses-first-beat"]
    assert piece_of(f"{PLAYERS}lines:\n  comp: {{lands: free, chords: S}}\n").lines["comp"].free
