"""Swing: halves of a beat long and short, to the tick; everything else where it was."""

from __future__ import annotations

import io
from fractions import Fraction

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, melody_of, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.piece.model import Piece
from cyclechart.write.midi.file import midi_with_report

BAND = "players: {flute: {plays: melody}}\ncount-in: 0\ncycle: keherwa\n"


def starts(piece: Piece) -> list[Fraction]:
    return [sound.start for sound in melody_of(piece).sounds]


def test_halves_are_long_and_short_in_the_ratio() -> None:
    piece = piece_of(f'{BAND}swing: 2/1\nlines: {{head: {{sargam: "SR G -m P | mG RS n, S"}}}}\n')
    thirds = [0, Fraction(2, 3), 1, 2 + Fraction(2, 3), 3, 4, 4 + Fraction(2, 3), 5]
    assert starts(piece)[:8] == thirds
    lengths = [sound.length for sound in melody_of(piece).sounds]
    assert lengths[0] == Fraction(2, 3)
    assert lengths[1] == Fraction(1, 3)
    assert lengths[2] == 1 + Fraction(2, 3)  # held through the first half of the next beat


def test_triplets_and_quarters_stay() -> None:
    even = piece_of(f"{BAND}lines: {{head: {{sargam: SRG GmPm S RS | S - - -}}}}\n")
    swung = piece_of(f"{BAND}swing: 3/2\nlines: {{head: {{sargam: SRG GmPm S RS | S - - -}}}}\n")
    moved = [(a, b) for a, b in zip(starts(even), starts(swung), strict=True) if a != b]
    assert moved == [(Fraction(7, 2), 3 + Fraction(3, 5))]


def test_a_grace_note_moves_with_its_note() -> None:
    text = "lines: {head: {sargam: 'S{G}R G m P | S - - -'}}\n"
    even, swung = piece_of(BAND + text), piece_of(f"{BAND}swing: 2/1\n{text}")
    assert starts(swung)[1:3] == [
        Fraction(2, 3) + (at - Fraction(1, 2)) * Fraction(2, 3) for at in starts(even)[1:3]
    ]


def test_it_stays_until_it_is_changed_and_the_page_stays_even() -> None:
    piece = piece_of(
        f"{BAND}lines: {{head: {{sargam: SR G m P | m G R S}}}}\n"
        "form:\n  - play: head\n  - {play: head, swing: 2/1}\n  - play: head\n"
        "  - {play: head, swing: 1/1}\n"
    )
    second = [at for at in starts(piece) if at % 8 in (Fraction(1, 2), Fraction(2, 3))]
    assert [at % 8 for at in second] == [
        Fraction(1, 2), Fraction(2, 3), Fraction(2, 3), Fraction(1, 2),
    ]  # fmt: skip
    band = Band(piece)
    written = [note.start for note in band.contents["flute"].notes]
    assert all(at % 1 in (0, Fraction(1, 2)) for at in written)
    assert [box.changes for box in band.road] == [(), ("swing 2:1",), (), ("straight",)]


@settings(deadline=None, max_examples=30)
@given(st.sampled_from([(1, 1), (3, 2), (2, 1), (5, 3), (7, 5), (3, 1), (11, 9)]))
def test_onsets_are_exact_to_the_tick(ratio: tuple[int, int]) -> None:
    """Read back with mido: the second half begins on tick long / (long + short) of its beat."""
    long, short = ratio
    piece = piece_of(
        f"{BAND}tempo: 138\nswing: {long}/{short}\n"
        "lines: {head: {sargam: SR Gm PD nS' | S'n DP mG RS}}\n"
    )
    data, _ = midi_with_report(arrange(piece))
    file = mido.MidiFile(file=io.BytesIO(data))
    beat = file.ticks_per_beat
    assert beat * long % (long + short) == 0
    track = next(t for t in file.tracks if any(m.type == "note_on" for m in t))
    at, onsets = 0, []
    for message in track:
        at += message.time
        if message.type == "note_on" and message.velocity:
            onsets.append(at)
    offs = [at % beat for at in onsets]
    assert offs[:16] == [0, beat * long // (long + short)] * 8


@pytest.mark.parametrize("swing", ["5/1", "1/2", "fast", "13/12", "[2, 1]", "0", "2/0"])
def test_what_is_no_swing_is_said(swing: str) -> None:
    text = with_heading(f"{BAND}swing: {swing}\nlines: {{head: {{sargam: S R G m | P m G R}}}}\n")
    (found,) = [finding for finding in findings_of(text) if finding.severity == "error"]
    assert "swing must be" in found.message
    assert "swing: 2/1" in found.tries


def test_markers_name_the_swing_where_it_begins_and_ends() -> None:
    piece = piece_of(
        f"{BAND}swing: 3/2\nlines: {{head: {{sargam: SR G m P | m G R S}}}}\n"
        "form:\n  - play: head\n  - {play: head, swing: 1/1}\n"
    )
    markers = [(mark.at, mark.text) for mark in arrange(piece).markers]
    assert (0, "swing 3:2") in markers
    assert (8, "straight") in markers
