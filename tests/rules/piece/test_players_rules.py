"""Ranges and breath: who is judged on what he plays himself, and suggestions that hold."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest
from music21 import pitch as music21
from support.making import findings_of, piece_of, with_heading

from cyclechart.catalog.instruments import instrument
from cyclechart.finding import Finding
from cyclechart.piece.model import Piece
from cyclechart.rules.piece.players import no_breath, out_of_range, player_lines, strained_range
from cyclechart.rules.rule import Rule
from cyclechart.theory.spelling import TONICS

RANGES = (out_of_range, strained_range)


def piece(players: str, head: str, form: str = "", **heading: str) -> Piece:
    return piece_of(_text(players, head, form, **heading))


def _text(players: str, head: str, form: str = "", **heading: str) -> str:
    lines = f'players: {players}\nlines:\n  head: {{sargam: "{head}"}}\n{form}'
    return with_heading(lines, **{"cycle": "keherwa", **heading})


def told(rule: Rule, one: Piece) -> list[Finding]:
    return list(rule.check(one, rule))


def test_a_player_is_judged_on_the_tonic_on_which_he_himself_plays() -> None:
    form = """form:
  - {play: head, by: [tenor], tonic: D}
  - {play: head, by: [flute], tonic: G}
"""
    band = piece("{flute: , tenor: {octave: -1}}", "P, S R G m P d n || S", form)
    # P, on D is A3, under the flute; on G, where the flute has it, D4.
    assert {part.tonic.letter for part in player_lines(band) if part.player.name == "flute"} == {
        "G"
    }
    assert ["flute" in finding.message for finding in told(out_of_range, band)] == [False]


def test_a_player_is_judged_at_the_tempo_at_which_he_himself_plays() -> None:
    form = """form:
  - {play: head, by: [flute]}
  - {play: head, by: [violin], tempo: 40}
"""
    players = "{flute: {octave: 1}, violin: }"
    head = "S R G m P d n d || S"
    assert told(no_breath, piece(players, head, form, tempo="120")) == []
    both = form.replace("by: [violin], ", "")
    assert len(told(no_breath, piece(players, head, both, tempo="120"))) == 1


def test_two_players_of_one_note_are_both_told() -> None:
    both = piece("{flute: , oboe: }", "S R G m P d n d || G,,")
    found = told(out_of_range, both)
    assert ["flute" in one.message for one in found] == [True, False]
    assert "oboe" in found[1].message


def test_each_way_is_told_once_of_the_note_furthest_out() -> None:
    # On D: G,, is F♯2, under a tenor's B2; S, (D3) he has. P'' is A6, S'' D6: he has C5.
    found = told(out_of_range, piece("{tenor: }", "P, S, G,, P,, S' S'' P'' S'' || S"))
    assert [one.message.split()[0] for one in found] == ["F♯2", "A6"]
    assert ["too low" in one.message for one in found] == [True, False]


def test_a_grace_note_has_to_be_there_too() -> None:
    low = told(out_of_range, piece("{flute: }", "S R G m P d n {P,}S || S"))
    assert [one.message.split()[0] for one in low] == ["A3"]
    assert told(out_of_range, piece("{flute: }", "S R G m P d n {P}S || S")) == []


@pytest.mark.parametrize(
    ("players", "tonic", "head", "heard", "read"),
    [
        # By letter as the piece's Sa has it: G is G♯ on E, never A♭.
        ("{baritone: }", "E", "S G R G S G R G || S", "G♯4", None),
        # Outside: music21's transposition of the alto saxophone, a major sixth down.
        ("{alto-sax: {octave: 1}}", "D", "S R G m P d n d || S", "C6", "A6"),
        ("{tenor-sax: {octave: 1}}", "F", "S R G m P d n d || S", "E♭6", "F7"),
    ],
)
def test_notes_are_called_as_they_sound_and_as_they_are_read(
    players: str, tonic: str, head: str, heard: str, read: str | None
) -> None:
    band = piece(players, head, tonic=tonic)
    (found,) = told(out_of_range, band)
    assert found.message.startswith(heard)
    on = band.players[0].instrument
    if read is not None:
        assert f"(written {read})" in found.message
        sounding, written = (_key(note) for note in (heard, read))
        assert sounding - written == on.transposes


def _key(note: str) -> int:
    """Outside: music21 reads the note name."""
    return int(music21.Pitch(note.replace("♭", "-").replace("♯", "#")).ps)


def test_who_reads_another_octave_of_the_same_letters_is_told_the_sounding_one_alone() -> None:
    # A piccolo's lowest note is D5 (common practice); it is written an octave lower.
    (found,) = told(out_of_range, piece("{piccolo: }", "S R G m P d n S' || S"))
    assert found.message == "D4 is too low for piccolo, whose lowest note is D5"


@pytest.mark.parametrize(
    ("players", "who"),
    [
        ("{tenor sax: {instrument: tenor-sax, octave: 1}}", "tenor sax"),
        ("{Tenor Saxophone: {instrument: tenor-sax, octave: 1}}", "Tenor Saxophone"),
        ("{tenor saxophone: {instrument: tenor-sax, octave: 1}}", "tenor saxophone"),
        ("{lead tenor: {instrument: tenor-sax, octave: 1}}", "lead tenor (Tenor Saxophone)"),
    ],
)
def test_an_instrument_is_not_named_twice(players: str, who: str) -> None:
    (found,) = told(out_of_range, piece(players, "S R G m P d n S' || S"))
    assert f"is too high for {who}, whose highest note is E5" in found.message


def test_a_player_with_a_name_of_his_own_is_told_with_his_instrument() -> None:
    (found,) = told(out_of_range, piece("{lead: {instrument: flute}}", "S R G m P d n d || P,"))
    assert "too low for lead (Flute)" in found.message


def test_who_is_not_named_is_not_judged(tmp_path: Path) -> None:
    text = with_heading("lines:\n  head: {sargam: \"S,, R,, G S' S''' S, z z\"}\n")
    assert not {"out-of-range", "strained-range", "no-breath"} & {
        finding.rule for finding in findings_of(text, tmp_path)
    }


HEADS = (
    "P, S R G m P d n || S",
    "S R G m P d n d || S'",
    "S' R' G' m' P' m' G' R' || S'",
    "G, P, S R G P S' P || S",
)
BANDS = (
    "{flute: }",
    "{violin: {octave: -1}}",
    "{alto-sax: {octave: 1}}",
    "{tenor: }",
    "{baritone: {octave: -3}}",
    "{trumpet: {octave: 3}}",
    "{flute: , alto-sax: }",
    "{soprano: , baritone-sax: {octave: -2}}",
)


@pytest.mark.parametrize("players", BANDS)
def test_what_is_suggested_holds(players: str) -> None:
    """Every suggestion is written into the piece, and what it is for is gone."""
    tried = 0
    for head, sa in product(HEADS, ("C", "D", "F", "G", "A", "Bb")):
        text = _text(players, head, tonic=sa)
        before = piece_of(text)
        for rule in RANGES:
            for finding in told(rule, before):
                who = finding.message.partition(" for ")[2].partition(",")[0]
                for suggestion in finding.tries:
                    tried += 1
                    after = piece_of(_with(text, suggestion))
                    errors = [one.message for one in told(out_of_range, after)]
                    assert not [one for one in errors if f"for {who}," in one], suggestion
                    if suggestion.startswith("tonic"):
                        strained = [one.message for one in told(strained_range, after)]
                        assert not [one for one in strained if f"for {who}," in one], suggestion
                        # Nobody else falls out of reach by it.
                        assert len(errors) < 1 + len(told(out_of_range, before))
    assert tried


def _with(text: str, suggestion: str) -> str:
    """The text with ``flute: {octave: 1}`` or ``tonic: G`` in place of what stands there."""
    key = suggestion.partition(":")[0]
    if key == "tonic":
        letter = suggestion.replace("♭", "b").replace("♯", "#")
        return re.sub(r"^tonic: .*$", letter, text, flags=re.MULTILINE)
    return re.sub(rf"\b{key}: (\{{[^}}]*\}})?", suggestion, text, count=1)


def test_an_octave_that_cannot_be_written_is_not_suggested() -> None:
    # Three octaves are the most; D1, four octaves under where a violin would have it well.
    low = piece("{piccolo: {octave: -3}}", "S, R, G, m, P, d, n, d, || S,")
    octaves = [
        int(found[1])
        for one in told(out_of_range, low)
        for suggestion in one.tries
        if (found := re.search(r"octave: (-?\d+)", suggestion))
    ]
    assert all(-3 <= octave <= 3 for octave in octaves)


def test_a_tonic_is_not_suggested_where_the_form_has_its_own() -> None:
    form = "form:\n  - {play: head}\n  - {play: head, tonic: C}\n"
    for one in told(out_of_range, piece("{flute: }", "P, S R G m P d n || S", form)):
        assert not [suggestion for suggestion in one.tries if suggestion.startswith("tonic")]


@pytest.mark.parametrize("tempo", ["30", "60", "72"])
def test_the_places_to_breathe_part_a_line_into_breaths(tempo: str) -> None:
    head = "S R G - m P d - n d P m - G R S || S"
    band = piece("{flute: {octave: 1}}", head, tempo=tempo)
    (found,) = told(no_breath, band)
    notes = {
        (note.cell, 1 + note.start // 8, note.start % 8 + 1): note
        for note in band.lines["head"].notes
    }
    ends = []
    for suggestion in found.tries:
        match = re.fullmatch(r"end '(\S+)' \(cycle (\d), beat (\d)\) with a rest, z", suggestion)
        assert match
        ends.append(notes[match[1], int(match[2]), int(match[3])].end)
    beat = 60 / int(tempo)
    runs = [b - a for a, b in zip([0, *ends], [*ends, band.lines["head"].length], strict=True)]
    assert max(runs) * beat <= 12 or len(ends) == 3
    assert ends == sorted(set(ends))


def test_strings_and_keys_are_not_asked_to_breathe() -> None:
    for name in ("violin", "piano", "sitar", "vibraphone"):
        assert instrument(name) is not None
        band = piece(f"{{{name}: {{plays: melody}}}}", "S R G m P d n d || S", tempo="30")
        assert told(no_breath, band) == []


def test_there_are_twelve_places_for_sa() -> None:
    assert [tonic.semitone for tonic in TONICS] == list(range(12))


def test_a_line_on_two_sa_says_on_which_it_is_out_of_range_and_how_the_limit_is_written() -> None:
    text = with_heading(
        "mode: bilawal-thaat\nplayers: {tenor-sax: melody}\n"
        "lines:\n  head:\n    sargam: S' R' G' m' P' D' N' S'' - -\n"
        "form:\n  - play: head\n  - play: head\n    tonic: G\n"
    )
    said = [one.message for one in findings_of(text) if one.rule == "out-of-range"]
    # The tenor saxophone sounds a major ninth below what is written (handbooks of instrumentation).
    assert said == [
        "D6 (written E7) is too high for tenor-sax, whose highest note is E5 (written F♯6), on D",
        "G6 (written A7) is too high for tenor-sax, whose highest note is E5 (written F♯6), on G",
    ]
