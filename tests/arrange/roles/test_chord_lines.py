"""Lines of chords as they sound and are read: tones, bass, rhythm and range."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.chord_lines import chord_piece, played_by, player_of

from cyclechart.arrange.bars import bars_of
from cyclechart.arrange.roles.chord_lines import (
    chord_line_notes,
    chord_line_sounds,
    chord_range,
)
from cyclechart.arrange.roles.chord_voicings import motion, voiced_degrees
from cyclechart.arrange.score import Sound
from cyclechart.piece.model import Piece
from cyclechart.theory.chord_qualities import COMMON, degrees_of
from cyclechart.theory.chord_symbols import ChordSymbol

COMPERS = ("guitar", "piano", "vibraphone", "accordion")
COUNT_IN = 8

SYMBOLS = st.builds(
    lambda root, suffix, bass: f"{root}{suffix}{bass}",
    st.sampled_from(["C", "D", "Eb", "F#", "G", "Ab", "Bb", "B"]),
    st.sampled_from(COMMON),
    st.sampled_from(["", "", "/D", "/F", "/C#"]),
)
"""Symbols on many roots, some over another bass."""


def struck(piece: Piece, name: str, *players: str) -> dict[Fraction, list[Sound]]:
    """What a player sounds of the lines, by the beat after the count-in."""
    timeline = played_by(piece, *(players or (name,)))
    by_start: dict[Fraction, list[Sound]] = defaultdict(list)
    for sound in chord_line_sounds(piece, timeline, player_of(piece, name)):
        by_start[sound.start - COUNT_IN].append(sound)
    return dict(by_start)


def keys(piece: Piece, sounds: Sequence[Sound]) -> list[int]:
    return sorted((one.base or piece.tonic.midi) + one.pitch for one in sounds)


def chord_at(piece: Piece, beat: Fraction) -> ChordSymbol:
    notes = piece.lines["comp"].notes
    found = [note.chord for note in notes if note.start <= beat < note.end]
    assert found[0] is not None
    return found[0]


@given(st.lists(SYMBOLS, min_size=8, max_size=8), st.sampled_from(COMPERS), st.booleans())
def test_voicings_have_the_tones_of_their_chord_in_range(
    symbols: list[str], name: str, with_bass: bool
) -> None:
    piece = chord_piece(" ".join(symbols))
    players = (name, "double-bass") if with_bass else (name,)
    low, high = chord_range(player_of(piece, name))
    by_start = struck(piece, name, *players)
    assert set(by_start) == {Fraction(beat) for beat in range(8)}
    for beat, sounds in by_start.items():
        chord = chord_at(piece, beat)
        found = keys(piece, sounds)
        assert len(found) == len(set(found)) >= 2, symbols
        assert low <= found[0] <= found[-1] <= high
        instrument = player_of(piece, name).instrument
        assert instrument.low <= found[0] <= found[-1] <= instrument.high
        classes = {(key - piece.tonic.midi) % 12 for key in found}
        assert classes <= chord.pitch_classes
        assert (found[0] - piece.tonic.midi) % 12 == chord.lowest or with_bass or not chord.bass
        # The third and the seventh of a chord are what makes it that chord.
        if chord.bass is None:
            guides = {
                (chord.root + tone) % 12
                for number, tone in chord.degrees
                if number == 7 or (number == 3 and (11, 17) not in chord.degrees)
            }
            assert guides <= classes, (symbols, beat)


@pytest.mark.parametrize("name", COMPERS)
def test_the_root_is_left_to_a_bass_that_plays_it(name: str) -> None:
    piece = chord_piece("Dm7 G7 Cmaj7 A7b9 | Dm9 G13 C6/9 A7alt")
    for beat, sounds in struck(piece, name, name, "double-bass").items():
        root = chord_at(piece, beat).root
        assert all(sound.pitch % 12 != root for sound in sounds), beat
    for beat, sounds in struck(piece, name).items():
        root = chord_at(piece, beat).root
        assert any(sound.pitch % 12 == root for sound in sounds), beat


@pytest.mark.parametrize("name", COMPERS)
def test_voices_move_little(name: str) -> None:
    """Through a circle of fifths guide tones move by a step or stay (M. Levine, The Jazz Piano
    Book; from memory): no voice leaps more than a fourth, most move by two semitones at most."""
    piece = chord_piece("Em7 A7 Dm7 G7 | Cmaj7 Fmaj7 Bm7b5 E7 || Am7 D7 Gm7 C7 | F7 Bb7 Eb7 Ab7")
    by_start = struck(piece, name, name, "double-bass")
    voicings = [keys(piece, sounds) for _, sounds in sorted(by_start.items())]
    steps = [
        min(abs(key - old) for old in before)
        for before, after in pairwise(voicings)
        for key in after
    ]
    assert max(steps) <= 5
    assert sum(step <= 2 for step in steps) >= 0.8 * len(steps)
    assert all(motion(before, after) < 24 for before, after in pairwise(voicings))


def test_a_bass_plays_roots_and_the_bass_under_a_slash() -> None:
    piece = chord_piece("Dm7 G/D A7 C/E | Bb - z F#m7b5")
    by_start = struck(piece, "double-bass")
    classes = {
        float(beat): [(piece.tonic.midi + sound.pitch) % 12 for sound in sounds]
        for beat, sounds in by_start.items()
    }
    assert classes == {0.0: [2], 1.0: [2], 2.0: [9], 3.0: [4], 4.0: [10], 7.0: [6]}
    bass = player_of(piece, "double-bass").instrument
    found = [key for sounds in by_start.values() for key in keys(piece, sounds)]
    assert all(bass.low <= key <= bass.low + 15 for key in found)
    assert all(abs(a - b) <= 7 for a, b in pairwise(found))


def test_a_written_rhythm_is_struck_exactly() -> None:
    text = "Dm7 -G7 z Dm7 | [G7 A7 z]x3/2 - -C || !staccato!D - - - | - - - -"
    piece = chord_piece(text, ", rhythm: written")
    for name in ("piano", "double-bass"):
        found = {
            beat: {sound.length for sound in sounds} for beat, sounds in struck(piece, name).items()
        }
        notes = piece.lines["comp"].notes
        halved = {note.start for note in notes if note.marks}
        assert found == {
            note.start: {note.length / (2 if note.start in halved else 1)} for note in notes
        }


CYCLES = (
    "keherwa", "tintal", "jhaptal", "rupak", "dhamar",
    "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}",
)  # fmt: skip


@pytest.mark.parametrize("cycle", CYCLES)
@pytest.mark.parametrize("tempo", ["44", "92", "160", "260"])
def test_an_own_rhythm_strikes_every_change_and_goes_on(cycle: str, tempo: str) -> None:
    piece = chord_piece("S", ", lands: free", form="[{groove: 1}]", cycle=cycle)
    beats = piece.cycle.beats
    cells = ["S", "-", "P7", "-m"] + ["-"] * (int(beats) - 4) + (["-/2"] if beats % 1 else [])
    piece = chord_piece(" ".join(cells), form="[{play: comp, times: 3}]", cycle=cycle, tempo=tempo)
    timeline = played_by(piece, "piano")
    sounds = chord_line_sounds(piece, timeline, player_of(piece, "piano"))
    starts = sorted({sound.start for sound in sounds})
    changes = {
        placed.start + note.start for placed in timeline.placed_lines for note in placed.line.notes
    }
    assert changes <= set(starts)
    gaps = [b - a for a, b in pairwise(starts)]
    assert all(gap >= Fraction(1, 2) for gap in gaps)
    assert max(gaps) * 60 / piece.tempo < 9
    per_beat = len(starts) / float(beats * 3)
    assert per_beat < 1.2
    for sound in sounds:
        after = next((start for start in starts if start > sound.start), timeline.end)
        assert sound.start + sound.length <= after


def test_dynamics_of_the_step_and_of_the_line() -> None:
    piece = chord_piece(
        "Dm7 - - - | !f!G7 - !accent!A7 -", ", rhythm: written",
        form="[{play: comp}, {play: comp, dynamics: pp}]",
    )  # fmt: skip
    loud = {float(beat): sounds[0].velocity for beat, sounds in struck(piece, "guitar").items()}
    assert loud[0] == 62
    assert loud[4] == 62 + 98 - 82
    assert loud[6] == loud[4] + 16
    assert loud[8] == 62 + 40 - 82


def test_chords_move_with_sa_and_stop_where_the_next_line_enters() -> None:
    piece = chord_piece("Dm7 - - - | G7 - - -", form="[{play: comp}, {play: comp, tonic: F}]")
    by_start = struck(piece, "piano")
    first, later = by_start[Fraction(0)], by_start[Fraction(8)]
    assert {one.base for one in first} == {None}
    assert {one.base for one in later} == {65}
    assert {(one.pitch) % 12 for one in first} == {one.pitch % 12 for one in later}
    assert all(one.start + one.length <= 16 for one in by_start[Fraction(4)])


def test_a_soloist_does_not_comp() -> None:
    piece = chord_piece("Dm7 - - - | G7 - - -", form="[{solo: piano, cycles: 2}, {play: comp}]")
    assert min(struck(piece, "piano")) == 16


@given(st.sampled_from(COMMON), st.booleans())
def test_the_tones_that_are_voiced_are_of_the_chord(suffix: str, with_root: bool) -> None:
    degrees = degrees_of(suffix)
    assert degrees is not None
    symbol = ChordSymbol(0, tuple(tone for _, tone in degrees), suffix)
    tones = voiced_degrees(symbol, with_root=with_root)
    assert len(tones) == len(set(tones)) <= 4
    assert set(tones) <= symbol.pitch_classes
    assert (0 in tones) >= with_root
    # No natural fourth stands a semitone over a major third.
    assert not {4, 5} <= set(tones)


def test_what_is_read_is_symbols_over_slashes() -> None:
    piece = chord_piece("Dm7 - - - | G7A7 - z - || Dm7 - - - | - - - -")
    timeline = played_by(piece, "guitar")
    notes = chord_line_notes(piece, timeline, bars_of(timeline), player_of(piece, "guitar"))
    shown = [
        (str(note.start - COUNT_IN), str(note.length), note.chord.suffix if note.chord else None)
        for note in notes
    ]
    assert shown == [
        ("0", "1", "m7"), ("1", "1", None), ("2", "1", None), ("3", "1", None),
        ("4", "1/2", "7"), ("9/2", "1/2", "7"), ("5", "1", None),
        *(("8" if at == 8 else str(at), "1", "m7" if at == 8 else None) for at in range(8, 16)),
    ]  # fmt: skip
    assert {note.head for note in notes} == {"slash"}


def test_a_written_rhythm_is_read_with_its_values_and_each_symbol_once_a_cycle() -> None:
    piece = chord_piece("Dm7 -Dm7 z Dm7 | - G7 - - || G7 - - - | - - - -", ", rhythm: written")
    timeline = played_by(piece, "guitar")
    notes = chord_line_notes(piece, timeline, bars_of(timeline), player_of(piece, "guitar"))
    shown = [
        (str(note.start - COUNT_IN), str(note.length), note.chord.suffix if note.chord else None)
        for note in notes
    ]
    assert shown == [
        ("0", "3/2", "m7"), ("3/2", "1/2", None), ("3", "2", None), ("5", "3", "7"),
        ("8", "8", "7"),
    ]  # fmt: skip
    assert {note.head for note in notes} == {"rhythm"}


def test_a_bass_reads_the_roots_that_it_plays_with_the_symbols() -> None:
    piece = chord_piece("Dm7 - G/B - | A7 - - -")
    timeline = played_by(piece, "double-bass")
    bass = player_of(piece, "double-bass")
    notes = chord_line_notes(piece, timeline, bars_of(timeline), bass)
    sounds = chord_line_sounds(piece, timeline, bass)
    assert [(n.start, n.length, n.pitch) for n in notes] == [
        (s.start, s.length, s.pitch) for s in sounds
    ]
    shown = [note.chord.in_letters(piece.tonic) for note in notes if note.chord is not None]
    assert shown == ["Dm7", "G/B", "A7"]
    names = [note.under[0] for note in notes if note.under]
    assert [int(name) % 12 for name in names] == [sound.pitch % 12 for sound in sounds]
