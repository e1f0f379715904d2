"""The contents of a part: letters, cues, slashes with their tones, theka, what changes, drones."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from support.making import DEMO_BOOK, piece_of
from write.musicxml.test_parts_written import check_part, valid_part

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.bars import bars_of
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.dal_segno import jump_of
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.key_signatures import with_signature
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load

BAND = (
    "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  piano: {plays: voicings}\n"
    "  double-bass: {plays: pedal}\n  tabla: {plays: theka}\n  drum-kit: {plays: theka}\n"
    "  tanpura: {plays: drone}\n"
)
LINES = "lines:\n  head: {sargam: S R G m P | d n | S' n d}\n"
TUNE = (
    f"cycle: jhaptal\n{BAND}lines:\n  head: {{sargam: S R G m P d n S' n d}}\nform:\n"
    "  - {play: head, by: [alto-sax], times: 2}\n  - {solo: alto-sax, cycles: 6}\n"
    "  - {play: head, by: [alto-sax], mode: yaman, tonic: A}\n  - {play: head}\n"
)


def parts_of(text: str) -> dict[str, Sheet]:
    piece = piece_of(text)
    band = Band(piece)
    return {player.name: part_sheet(band, player) for player in piece.players}


def test_every_step_has_the_same_letter_in_every_part() -> None:
    for sheet in parts_of(TUNE).values():
        assert [strain.letter for strain in sheet.strains] == ["A", "B", "C", "D"]
        assert [box.letter for box in sheet.road] == ["A", "B", "C", "D"]


def test_a_solo_is_slashes_with_the_tones_in_the_players_letters() -> None:
    solo = parts_of(TUNE)["alto-sax"].strains[1]
    assert {note.syllable for note in solo.notes} == {"/"}
    assert solo.measures[0].forward and solo.measures[-1].times == 6
    # Charukeshi on D, read a major sixth higher on the alto: on B.
    assert solo.tones.startswith("Charukeshi: up B C♯ D♯ E F♯ G A B, down B A G F♯ E D♯ C♯ B")


def test_a_long_rest_ends_with_a_cue_that_says_whose_it_is() -> None:
    flute = parts_of(TUNE)["flute"]
    cued = [
        note
        for strain in flute.strains
        for note in strain.notes
        if getattr(note, "head", "") == "cue"
    ]
    assert [getattr(note, "text", "") for note in cued] == ["Alto Sax"] + [""] * 9
    # Sounding as the alto plays it: the flute reads the same keys.
    key = flute.strains[2].key
    assert [note.pitch for note in cued] == [0, 2, 4, 5, 7, 8, 10, 12, 10, 8]
    assert str(key.tonic) == "A"
    assert flute.strains[0].rests == 2 and flute.strains[1].rests == 6


def test_what_changes_is_told_before_it() -> None:
    # The new Sa is told in the letters of who reads it, as the heading tells the first one.
    for name, sheet in parts_of(TUNE).items():
        own = "F♯ (sounds A)" if name == "alto-sax" else "A"
        assert sheet.strains[1].next_change == f"next C: Yaman, Sa = {own}", name
        assert sheet.strains[0].next_change == "" and sheet.strains[3].next_change == ""


def test_after_a_step_with_dynamics_it_is_plain_again() -> None:
    form = "form:\n  - {play: head, dynamics: pp}\n  - play: head\n  - play: head\n"
    turns = [box.changes for box in parts_of(f"{BAND}{LINES}{form}")["flute"].road]
    assert turns == [("pp",), ("mf",), ()]


def test_in_a_trade_a_drummer_sees_his_own_cycles() -> None:
    form = "form:\n  - {trade: [flute, tabla], cycles: 2, times: 3}\n"
    sheet = parts_of(f"{BAND}{LINES}{form}")["tabla"]
    notes = sheet.strains[0].notes
    told = [(note.start, getattr(note, "text", "")) for note in notes]
    assert [(at, text) for at, text in told if text] == [(0, "time (flute)"), (20, "solo")]
    assert [m.times for m in sheet.strains[0].measures if m.times] == [3]
    assert parts_of(f"{BAND}{LINES}{form}")["flute"].strains[0].notes[0].text == "solo"  # type: ignore[attr-defined]


def test_a_free_opening_before_the_count_in_is_no_pickup() -> None:
    form = "form:\n  - {free: flute, seconds: 30}\n  - play: head\n"
    for name, sheet in parts_of(f"{BAND}{LINES}{form}").items():
        if name != "tanpura":
            assert sheet.strains[1].measures[0].start == 0, name


def test_a_pickup_to_another_sa_has_the_letters_of_that() -> None:
    # From A♭ to B: the pickup's E is no F♭.
    lines = f'{LINES}  late: {{begins: 9, sargam: "m M S"}}\n'
    form = "form:\n  - {play: head, tonic: Ab}\n  - {play: late, tonic: B}\n"
    key = parts_of(f"{BAND}{lines}{form}")["flute"].strains[0].key
    assert str(key.tonic) == "A♭"
    assert [str(spelled) for _, spelled in key.borrowed] == ["E", "E♯"]


def test_what_is_an_accidental_for_one_is_one_for_all() -> None:
    # Two signatures are equally near to Jog (both thirds): all take the same one, moved.
    lines = "lines:\n  head: {sargam: S G m P n S' n P m g}\n"
    sheets = parts_of(f"cycle: jhaptal\nmode: jog\ntonic: C\n{BAND}{lines}").values()
    told = {sheet.strains[0].key.tonic.letter: sheet.fifths for sheet in sheets if sheet.reader}
    assert told["A"] - told["C"] == 3  # an alto saxophone reads C as A


def test_rests_between_composed_strokes_are_rests() -> None:
    lines = f"{LINES}  roll: {{strokes: dha - ti ta dha - ti - na dha}}\n"
    form = "form:\n  - {play: {flute: head, tabla: roll}}\n  - play: head\n"
    sheet = parts_of(f"{BAND}{lines}{form}")["tabla"]
    read = [note.syllable for note in sheet.strains[0].notes]
    assert read == ["dha", "ti", "ta", "dha", "ti", "na", "dha"]


def test_a_drummer_sees_every_statement_of_the_last_cadence() -> None:
    lines = f"{LINES}  last: {{cadence: {{sargam: S R G}}}}\n"
    sheet = parts_of(f"{BAND}{lines}form:\n  - play: head\n  - play: last\n")["tabla"]
    spans = [span for strain in sheet.strains for span in strain.brackets]
    assert [span.label[:2] for span in spans] == ["×3", "2", "3", ""]
    assert spans[-1].first == spans[-1].last == 0  # as in the melody: the last stroke is in it
    last = sheet.strains[-1].notes
    starts = [note.start for note in last]
    assert len(set(starts)) == len(starts)


def test_drummers_have_the_theka_once() -> None:
    tabla = parts_of(TUNE)["tabla"]
    first = [note.syllable for note in tabla.strains[0].notes]
    # Jhaptal's own strokes, as handbooks print them (common practice).
    assert first == ["dhi", "na", "dhi", "dhi", "na", "tin", "na", "dhi", "dhi", "na"]
    later = {note.syllable for strain in tabla.strains[1:3] for note in strain.notes}
    assert later == {"/"}


def test_chords_and_bass_are_named_by_what_they_sound() -> None:
    sheets = parts_of(TUNE)
    for strain in sheets["piano"].strains:
        for note in strain.notes:
            if getattr(note, "head", "") == "slash":
                assert getattr(note, "under", None) == ()
                continue
            assert getattr(note, "under", None) == (note.pitch, *getattr(note, "also", ()))
    for strain in sheets["double-bass"].strains:
        for note in strain.notes:
            (under,) = getattr(note, "under", None) or (note.pitch,)
            assert note.pitch is not None and (under - note.pitch) % 12 == 0


def test_a_drone_is_told_what_to_sound_and_when_to_tune() -> None:
    holds = [strain.staff_text for strain in parts_of(TUNE)["tanpura"].strains]
    assert holds == ["drone D A", "drone D A", "tune to A E", "drone A E"]


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_bars_are_numbered_as_the_midi_file_says(path: Path) -> None:
    piece = load(path).piece
    assert piece is not None
    marked = {
        marker.at: int(marker.text.split()[1])
        for marker in arrange(piece).markers
        if marker.text.startswith("cycle ") and " beat 1 " in f"{marker.text} "
    }
    band = Band(piece)
    bars = bars_of(band.timeline)
    assert {bar.start: bar.number for bar in bars if bar.number} == marked
    assert all(one.end == two.start for one, two in pairwise(bars))
    assert bars[0].start == 0 and bars[-1].end == band.timeline.end


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_a_score_has_the_same_measures_in_all_its_staves(path: Path) -> None:
    piece = load(path).piece
    assert piece is not None
    sheets = score_sheets(Band(piece))
    shapes = {
        tuple(
            (m.start, m.length, m.forward, m.times, m.ending)
            for s in sheet.strains
            for m in s.measures
        )
        for sheet in sheets
    }
    assert len(shapes) == 1


def test_a_signature_is_the_nearest_the_modes_own_or_none() -> None:
    sheet = parts_of(TUNE)["flute"]
    assert sheet.strains[0].key.fifths == 1
    # Charukeshi on D: F sharp, B flat, C natural (its own signs, flats first).
    assert with_signature(sheet, "own").strains[0].key.signs == (("B", -1), ("F", 1))
    none = with_signature(sheet, "none").strains[0].key
    assert none.fifths == 0 and set(none.alters.values()) == {0}


LONG = (
    f"cycle: rupak\n{BAND}lines:\n  head: {{sargam: S R G m P d n S' n d P m G R}}\n"
    "  tail: {sargam: P m G R S R G m P d n S' n d S}\n"
)


def jumps_in(sheet: Sheet) -> dict[str, list[str]]:
    """Return the signs and words of a jump in each strain."""
    return {
        strain.letter: [jump for measure in strain.measures for jump in measure.jumps]
        for strain in sheet.strains
    }


def test_what_comes_again_at_the_end_is_played_from_the_sign() -> None:
    form = "form:\n  - {play: head, times: 2}\n  - {play: tail}\n  - {solo: flute, cycles: 4}\n"
    whole = parts_of(LONG + form + "  - play: head\n  - play: tail\n  - play: head\n")["flute"]
    # One letter for each step, and those that come again are not written.
    assert jumps_in(whole) == {
        "A": ["segno"], "B": ["To Coda"], "C": ["D.S. al Coda"], "D": [], "E": [], "F": ["coda"],
    }  # fmt: skip
    assert [bool(strain.measures) for strain in whole.strains] == [1, 1, 1, 0, 0, 1]
    assert [strain.staff_text for strain in whole.strains[3:5]] == [
        "D.S. al Coda, no repeats (cycles 11–12)", "D.S. al Coda, no repeats (cycles 13–14)",
    ]  # fmt: skip
    # Bass and drums go on, and are written out.
    for name in ("double-bass", "tabla"):
        assert not any(jumps_in(parts_of(LONG + form + "  - play: head\n")[name]).values())


@pytest.mark.parametrize("times", [1, 3])
def test_the_row_of_what_is_played_from_the_sign_names_its_cycles(times: int) -> None:
    # Who gets lost asks for a cycle by its number: the row has those that it stands for. Where
    # nothing is repeated from the sign on there is nothing to leave out.
    form = (
        f"form:\n  - {{solo: flute, cycles: 4}}\n  - {{play: head, times: {times}}}\n"
        "  - {play: tail}\n  - {solo: flute, cycles: 3}\n  - play: head\n  - play: tail\n"
    )
    band = Band(piece_of(LONG + form))
    sheet = part_sheet(band, band.piece.players[1])
    rows = {strain.letter: strain.staff_text for strain in sheet.strains if strain.staff_text}
    words = ", no repeats" if times > 1 else ""
    # By the timeline: the last cycle has the landing alone, and is the coda.
    numbers = {
        letter: [band.bars[at].number for at in band.bars_of_step["ABCDEF".index(letter)]]
        for letter in "EF"
    }
    coda = sheet.strains[-1].measures[0].cycle
    assert numbers["F"].pop() == coda
    assert rows == {
        letter: f"D.S. al Coda{words} (cycles {of[0]}–{of[-1]})" for letter, of in numbers.items()
    }


def test_little_that_comes_again_is_written_again() -> None:
    form = "form:\n  - {play: head}\n  - {solo: flute, cycles: 4}\n  - {play: head}\n"
    assert not any(jumps_in(parts_of(LONG + form)["flute"]).values())


@pytest.mark.parametrize("tail", ["  - {play: tail}\n", "  - {play: tail, dynamics: f}\n", ""])
def test_a_part_with_a_jump_plays_the_timeline(tail: str) -> None:
    form = (
        "form:\n  - {play: head, times: 2}\n  - {play: tail}\n  - {play: head, times: 3}\n"
        f"  - {{solo: flute, cycles: 4}}\n  - {{play: head}}\n  - {{play: tail}}\n{tail}"
    )
    piece = piece_of(LONG + form)
    band = Band(piece)
    assert jump_of(band) is not None
    for player in piece.players:
        if player.plays != "drone":
            check_part(piece, band, player, valid_part(part_sheet(band, player)))


@pytest.mark.parametrize("cycle", ["tintal", "jhaptal", "{beats: 11 1/2, sections: [4, 4, 3 1/2]}"])
def test_an_empty_cycle_is_one_measure_with_one_rest_in_the_middle(cycle: str) -> None:
    """E. Gould, Behind Bars, Rests: an empty bar has one centred rest, however it is divided (from
    memory). In a score, where others have the sections, each of them has its own."""
    tail = "/2" if "1/2" in cycle else ""
    beats = 11 if tail else {"tintal": 16, "jhaptal": 10}[cycle]
    silent = " ".join(["z"] * beats) + (" z/2" if tail else "")
    sung = " ".join(["S"] * beats) + (" S/2" if tail else "")
    text = f"cycle: {cycle}\n{BAND}lines:\n  head: {{sargam: {sung} || {silent} || {sung}}}\n"
    text += "form:\n  - {play: head, by: [flute]}\n"
    flute = parts_of(text)["flute"].strains[0]
    length = flute.cycle.beats
    empty = [measure for measure in flute.measures if measure.rests]
    assert [(m.start, m.length, m.rests, m.cycle) for m in empty] == [(length, length, 1, 2)]
    band = Band(piece_of(text))
    score = score_sheets(band)[0].strains[0]
    assert not any(measure.rests for measure in score.measures)
    part = valid_part(parts_of(text)["flute"])
    second = next(m for m in part.iterfind("measure") if m.get("number") == "2")
    assert len(second.findall("note")) == 1 and second.find("note/rest[@measure='yes']") is not None
    assert second.find("attributes/measure-style") is None


def test_a_part_is_headed_with_the_line_that_is_the_players_own() -> None:
    text = (
        "players: {flute: {plays: melody}, alto-sax: {plays: melody}, trombone: {plays: melody},"
        " guitar: {plays: voicings}, double-bass: {plays: pedal}, tanpura: }\n"
        "lines:\n  bridge: {sargam: S R G m P d n S' n d}\n  stabs: {sargam: S z z G z R S z z z}\n"
        "  pad: {sargam: S - - - - P - - - -}\nform:\n"
        "  - play: {flute: bridge, alto-sax: bridge, trombone: stabs}\n"
        "  - play: {flute: pad, alto-sax: bridge, trombone: stabs}\n  - play: bridge\n"
    )
    sheets = parts_of(text)
    names = {player: [strain.name for strain in sheet.strains] for player, sheet in sheets.items()}
    assert names["flute"] == ["bridge (with stabs)", "pad (with bridge + stabs)", "bridge"]
    assert names["alto-sax"] == ["bridge (with stabs)", "bridge (with pad + stabs)", "bridge"]
    assert names["trombone"] == ["stabs (with bridge)", "stabs (with pad + bridge)", "bridge"]
    both = ["bridge + stabs", "pad + bridge + stabs", "bridge"]
    assert names["guitar"] == names["double-bass"] == names["tanpura"] == both
    for sheet in score_sheets(Band(piece_of(text))):
        assert [strain.name for strain in sheet.strains] == both
