"""Steady changes of tempo: folded like any cycles, marked once, and a new tempo where they arrive.

Gould, Behind Bars, "Tempo" (from memory): accel. and rit. are followed by dashes as far as they
hold, and the tempo that is reached has a metronome mark.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.bands import band_of, every_piece, parts_of
from support.making import piece_of
from support.reading_musicxml import parsed

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.arrange.sheet.tempo_marks import TempoChange
from cyclechart.write.musicxml.document import band_xml, part_xml, score_xml

BAND = (
    "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  guitar: {plays: voicings}\n"
    "  double-bass: {plays: pedal}\n  drum-kit: {plays: theka}\n"
)
LINES = "lines:\n  head: {sargam: S R G m P d n S' n d}\n  tail: {sargam: S' n d P m G R S R G}\n"


def band_for(change: str, after: str = "") -> Band:
    form = (
        "form:\n  - {play: head, times: 2}\n"
        f"  - {{solo: flute, over: head, by: [alto-sax], cycles: 16, tempo: {change}}}\n"
        f"  - {{play: tail{after}}}\n"
    )
    return Band(piece_of(f"{BAND}{LINES}{form}"))


def sheets_of(band: Band) -> dict[str, Sheet]:
    return {player.name: part_sheet(band, player) for player in band.piece.players}


@pytest.mark.parametrize(("change", "word"), [("{to: 132}", "accel."), ("{to: 60}", "rit.")])
def test_a_steady_change_is_marked_once_in_every_part(change: str, word: str) -> None:
    band = band_for(change)
    reached = Fraction(change.strip("{}").split()[1])
    for name, sheet in sheets_of(band).items():
        if name not in ("flute", "alto-sax", "guitar", "double-bass", "drum-kit"):
            continue
        before, during, after = sheet.strains
        folded = any(measure.times for measure in during.measures)
        shown = f"{word} through the repeats" if folded else word
        assert during.tempo_change == TempoChange(shown), name
        assert before.tempo_change is None and after.tempo_change is None
        assert (before.tempo, during.tempo, after.tempo) == (None, None, reached)
        assert f"{word} to {reached} a minute" in during.remark
        assert f"{reached} a minute" in sheet.road[2].changes
        part = parsed(part_xml(sheet))
        words = [element.text for element in part.iterfind(".//words")]
        assert [text for text in words if str(text).startswith(word)] == [shown]
        assert len(part.findall(".//dashes[@type='start']")) == 1
        assert len(part.findall(".//dashes[@type='stop']")) == 1
        tempos = [element.text for element in part.iterfind(".//per-minute")]
        assert tempos == ["92", str(reached)]


def test_equal_cycles_are_folded_under_it() -> None:
    sheets = sheets_of(band_for("{to: 132}"))
    for name in ("flute", "alto-sax", "drum-kit"):
        during = sheets[name].strains[1]
        opens = [measure for measure in during.measures if measure.opens]
        assert len(opens) == 1 and during.measures[-1].times == 16, name


@pytest.mark.parametrize(
    ("step", "shown"),
    [
        ("{play: head, times: 2, tempo: {to: 132}}", "accel. through the repeats"),
        ("{play: head, tempo: {to: 60}}", "rit."),
        ("{solo: flute, over: head, cycles: 3, tempo: {to: 60}}", "rit. through the repeats"),
        ("{solo: flute, over: head, cycles: 1, tempo: {to: 60}}", "rit."),
    ],
)
def test_a_change_over_a_repeat_says_that_it_goes_on_through_it(step: str, shown: str) -> None:
    # The dashes end at the repeat sign: without the words each time would seem to begin anew.
    band = Band(piece_of(f"{BAND}{LINES}form:\n  - {step}\n  - {{play: tail}}\n"))
    sheet = part_sheet(band, band.piece.players[1])
    change = sheet.strains[0].tempo_change
    assert change is not None and change.word == shown
    assert any(measure.times for measure in sheet.strains[0].measures) == ("through" in shown)
    lead = sheet_of(band.piece, band.road)
    assert lead.strains[0].tempo_change == change
    for xml in (part_xml(sheet), score_xml(lead)):
        assert shown in [element.text for element in parsed(xml).iterfind(".//words")]
    top = score_sheets(band)[0].strains[0]
    folded = any(measure.times for measure in top.measures)
    assert top.tempo_change is not None
    assert ("through" in top.tempo_change.word) == folded


def test_a_sudden_change_has_its_metronome_mark_as_ever() -> None:
    for sheet in sheets_of(band_for("120", ", tempo: 84")).values():
        assert [strain.tempo for strain in sheet.strains] == [None, 120, 84]
        assert not any(strain.tempo_change for strain in sheet.strains)


def test_score_and_lead_sheet_have_it_too() -> None:
    band = band_for("{to: 132}")
    score = parsed(band_xml(score_sheets(band)))
    assert len(score.findall(".//dashes[@type='start']")) == 1
    assert [element.text for element in score.iterfind(".//per-minute")] == ["92", "132"]
    lead = sheet_of(band.piece, band.road)
    assert [(strain.name, strain.tempo) for strain in lead.strains] == [
        ("head", None), ("tail", 132),
    ]  # fmt: skip
    assert "132" in [e.text for e in parsed(score_xml(lead)).iterfind(".//per-minute")]


@every_piece
def test_every_new_tempo_is_marked_in_every_part(name: str) -> None:
    # By the timeline: a step that begins at another tempo than the one before it began or that
    # comes after a change has a mark; where nothing changes there is none.
    band = band_of(name)
    metered = [passage for passage in band.passages if passage.step >= 0]
    for sheet in parts_of(name).values():
        rows = {strain.letter: strain for strain in sheet.strains}
        running, changed = band.piece.tempo, False
        for passage in metered:
            step = band.piece.steps[passage.step]
            state = step.state
            marked = rows[band.road[passage.step].letter].tempo
            changed = changed or state.tempo != running
            if passage.free:
                assert marked is None  # a metronome mark says nothing where there is no meter
            else:
                assert marked == (state.tempo if changed else None)
                changed = False
            changed = changed or state.to_tempo not in (None, state.tempo)
            running = state.to_tempo or state.tempo
