"""The drums of a kit against the General MIDI percussion map and drum set notation."""

from __future__ import annotations

import pretty_midi

from cyclechart.catalog.kit import DRUM, DRUMS, feet_first, letters_of, struck_at_once
from cyclechart.write.musicxml.note_templates import KIT_NOTATION

GENERAL_MIDI = {
    "kick": "Bass Drum 1", "foot": "Pedal Hi Hat", "snare": "Acoustic Snare",
    "ghost": "Electric Snare", "rim": "Side Stick", "low-tom": "High Floor Tom",
    "mid-tom": "Low-Mid Tom", "high-tom": "High Tom", "hat": "Closed Hi Hat",
    "open-hat": "Open Hi Hat", "ride": "Ride Cymbal 1", "bell": "Ride Bell",
    "crash": "Crash Cymbal 1",
}  # fmt: skip
"""The names of General MIDI 1's percussion map, as pretty_midi has them."""


def test_keys_are_general_midis() -> None:
    assert {drum.name: pretty_midi.note_number_to_drum_name(drum.key) for drum in DRUMS} == (
        GENERAL_MIDI
    )


def test_each_letter_name_and_word_is_one_drums() -> None:
    letters = [drum.letter for drum in DRUMS if drum.letter]
    assert len(set(letters)) == len(letters) == 12
    assert "z" not in letters
    for facts in ({d.name for d in DRUMS}, {d.words for d in DRUMS}, {d.key for d in DRUMS}):
        assert len(facts) == len(DRUMS)


def test_places_on_the_staff_go_from_low_to_high_as_the_drums_do() -> None:
    # N. Weinberg, Guide to Standardized Drumset Notation: kick in the lowest space, floor tom in
    # the second, snare in the third, toms above it, cymbals on and over the top line (from memory).
    def height(name: str) -> int:
        step, octave, _ = KIT_NOTATION[name]
        return 7 * octave + "CDEFGAB".index(step)

    order = ["foot", "kick", "low-tom", "snare", "mid-tom", "high-tom", "ride", "hat", "crash"]
    assert [height(name) for name in order] == sorted({height(name) for name in order})
    assert height("bell") == height("ride") and KIT_NOTATION["bell"][2] == "diamond"


def test_feet_come_first() -> None:
    assert struck_at_once("hat+snare+kick") == ("kick", "snare", "hat")
    assert feet_first(["crash", "foot"]) == ("foot", "crash")
    assert letters_of(("kick", "ghost", "rim")) == "k+s+x"
    assert DRUM["foot"].by_foot and not DRUM["hat"].by_foot
