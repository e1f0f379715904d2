"""Bars of MusicXML whose lengths no float holds, that are a little overfull, in fine divisions."""

from __future__ import annotations

from fractions import Fraction

import pytest

from cyclechart.transcription.losses import Losses
from cyclechart.transcription.music21_reader import musicxml_tune
from cyclechart.transcription.refusal import CannotRead
from cyclechart.transcription.sections import sections_of

FREE = "<time><senza-misura/></time>"
FIVE = "<time><beats>5</beats><beat-type>4</beat-type></time>"


def measure(number: int, durations: list[int], signs: str = "", name: str = "") -> str:
    """Return a measure of notes on one pitch, with a rehearsal mark."""
    mark = f"<rehearsal>{name}</rehearsal>"
    direction = f"<direction><direction-type>{mark}</direction-type></direction>" if name else ""
    notes = "".join(
        "<note><pitch><step>D</step><octave>4</octave></pitch>"
        f"<duration>{duration}</duration><voice>1</voice></note>"
        for duration in durations
    )
    head = f"<attributes>{signs}</attributes>" if signs else ""
    return f'<measure number="{number}">{head}{direction}{notes}</measure>'


def score(*measures: str) -> bytes:
    """Return a score of one part, by no program of ours."""
    listed = "<score-part id='P1'><part-name>Melody</part-name></score-part>"
    inside = f"<part-list>{listed}</part-list><part id='P1'>{''.join(measures)}</part>"
    return f"<score-partwise version='4.0'>{inside}</score-partwise>".encode()


def test_a_meter_after_bars_of_thirds_begins_with_its_bar() -> None:
    data = score(
        measure(1, [5, 2], f"<divisions>3</divisions>{FREE}", "slow"),
        measure(2, [15], FIVE, "fast"),
        measure(3, [15]),
    )
    tune = musicxml_tune(data)
    assert [meter.start for meter in tune.meters] == [Fraction(0), Fraction(7, 3)]
    sections = sections_of(tune, Losses()).sections
    assert [(one.name, one.length, one.meter.beats) for one in sections] == [
        ("slow", Fraction(7, 3), Fraction(0)),
        ("fast", Fraction(10), Fraction(5)),
    ]


def test_a_bar_without_meter_lasts_as_long_as_its_notes() -> None:
    signs = f"<divisions>15</divisions>{FREE}"
    tune = musicxml_tune(score(measure(1, [30, 34], signs), measure(2, [15])))
    assert [(bar.start, bar.length) for bar in tune.bars] == [
        (Fraction(0), Fraction(64, 15)),
        (Fraction(64, 15), Fraction(1)),
    ]


@pytest.mark.parametrize("divisions", [3_175_200, 2**31 - 1])
def test_divisions_may_be_fine(divisions: int) -> None:
    signs = f"<divisions>{divisions}</divisions>{FIVE}"
    tune = musicxml_tune(score(measure(1, [divisions, 4 * divisions], signs)))
    spans = [(note.start, note.length) for note in tune.voices[0].notes]
    assert spans == [(Fraction(0), Fraction(1)), (Fraction(1), Fraction(4))]


@pytest.mark.parametrize(
    ("divisions", "duration"), [(2**31, 2**31), (2**31 - 1, (2**31 - 1) * 1001)]
)
def test_finer_divisions_and_endless_notes_are_refused(divisions: int, duration: int) -> None:
    signs = f"<divisions>{divisions}</divisions>{FIVE}"
    with pytest.raises(CannotRead, match="cannot be a d"):
        musicxml_tune(score(measure(1, [duration], signs)))
