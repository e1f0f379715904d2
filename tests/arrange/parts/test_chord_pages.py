"""Pages of chords: each chord once, slashes while it is held, repeats counted; the clef."""

from __future__ import annotations

import pytest
from support.bands import band_of, every_piece, parts_of, staves
from support.making import load_text

from cyclechart.arrange.assigned_lines import assigned_spans
from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.chord_clef import clef_of
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.piece.model import Piece
from cyclechart.theory.spelling import spell

KEYBOARDS = ("piano", "accordion", "harmonium", "vibraphone", "organ", "mandolin", "guitar")


def heads(piece_name: str) -> list[PartNote]:
    """The notes of all pages of chords of a piece, without free passages."""
    return [
        note
        for player, sheet in staves(piece_name)
        if player.plays == "voicings"
        for strain in sheet.strains
        if not strain.free
        for note in strain.notes
        if isinstance(note, PartNote) and note.head not in ("cue", "rhythm")
    ]


@every_piece
def test_no_chord_is_tied_or_longer_than_the_beat_it_is_struck_on(name: str) -> None:
    for note in heads(name):
        assert not (note.tied_in or note.tied_out)
        assert note.length <= 1


@every_piece
def test_the_chord_in_force_is_what_sounds(name: str) -> None:
    """The page read as a player reads it: a chord is in force over the slashes that follow it.

    Its tones are those that the timeline holds at each beat, worked out from the sounds alone.
    """
    band = band_of(name)
    for player in band.piece.players:
        if player.plays != "voicings":
            continue
        sounds = band.part(player).sounds
        symbols = assigned_spans(band.timeline, player.name, ("chords",))
        in_force: tuple[int, ...] = ()
        for bar, parts in zip(band.bars, band.fragments[player.name], strict=True):
            if bar.stretch.kind != "metered" or player.name in bar.stretch.soloists:
                continue
            for one in parts:
                note = one.note
                at = bar.start + note.start
                if any(start <= at < end for start, end in symbols):
                    continue  # a line of chords is read as symbols
                if note.pitch is not None:
                    in_force = (note.pitch, *(tone for tone in note.also if isinstance(tone, int)))
                sounding = tuple(
                    sorted(s.pitch for s in sounds if s.start <= at < s.start + s.length)
                )
                assert in_force == sounding, (player.name, bar.number, at)


@every_piece
def test_a_turn_that_comes_again_has_the_same_chords_and_bass(name: str) -> None:
    band = band_of(name)
    for player in band.piece.players:
        if player.plays not in ("voicings", "pedal"):
            continue
        for passage in band.passages:
            bars = [bar for bar in passage.bars if bar.stretch.kind == "metered"]
            stretches = {bar.stretch.turn: bar.stretch for bar in bars}
            if len(stretches) < 2 or bars[0].stretch.to_tempo or bars[0].stretch.soloists:
                continue
            first, second = (
                [
                    (sound.start - stretch.start, sound.pitch)
                    for sound in band.part(player).sounds
                    if stretch.start <= sound.start < stretch.end
                ]
                for stretch in list(stretches.values())[:2]
            )
            count = (
                min(len(first), len(second)) - 2
            )  # the hits of a cadence may come before its end
            assert first[: max(count, 0)] == second[: max(count, 0)], (player.name, passage.step)


def test_pages_of_chords_are_about_as_long_as_those_of_the_bass() -> None:
    for name in ("salt-road", "lock-eleven", "two-tides", "the-delta-post"):
        sheets = parts_of(name)
        written = {
            who: sum(len(strain.measures) for strain in sheets[who].strains)
            for who in ("guitar", "double-bass")
        }
        assert written["guitar"] <= 1.5 * written["double-bass"], (name, written)


def keyboard_piece(tonic: str, mode: str) -> Piece:
    players = "".join(f"  {name}: {{plays: voicings}}\n" for name in KEYBOARDS)
    text = (
        f"title: T\ncomposer: C\ntonic: {tonic}\nmode: {mode}\ncycle: jhaptal\ntempo: 90\n"
        f"players:\n  flute: {{plays: melody}}\n{players}"
        "lines:\n  head: {lands: free, sargam: S -}\nform:\n  - groove: 8\n"
    )
    piece = load_text(text).piece
    assert piece is not None
    return piece


@pytest.mark.parametrize("tonic", ["C", "Eb", "F#", "A"])
@pytest.mark.parametrize("mode", ["kafi", "bhairav", "malkauns", "yaman"])
def test_treble_pages_need_two_ledger_lines_at_most(tonic: str, mode: str) -> None:
    # A3 and C6 are the second ledger lines of a treble clef: G3 hangs under one, D6 stands on the
    # other.
    band = Band(keyboard_piece(tonic, mode))
    for player in band.piece.players:
        if player.plays != "voicings":
            continue
        sheet = part_sheet(band, player)
        assert sheet.reader is not None
        assert sheet.reader.clef == "treble"
        assert sheet.reader.staves == (2 if player.name in ("piano", "organ") else 1)
        if sheet.reader.staves == 2:
            continue
        for strain in sheet.strains:
            for note in strain.notes:
                if isinstance(note, PartNote) and note.pitch is not None:
                    tones = [note.pitch, *(tone for tone in note.also if isinstance(tone, int))]
                    for tone in tones:
                        spelled = spell(strain.key.tonic, tone + strain.key.shift)
                        place = 7 * spelled.octave + "CDEFGAB".index(spelled.step)
                        assert 7 * 3 + 4 <= place <= 7 * 6 + 1, (player.name, spelled)


def test_the_clef_has_the_fewer_ledger_lines() -> None:
    assert clef_of([60, 64, 67]) == "treble"
    assert clef_of([48, 52, 55]) == "bass"
    assert clef_of([50, 60, 84]) == "treble"
    assert clef_of([]) == "treble"
