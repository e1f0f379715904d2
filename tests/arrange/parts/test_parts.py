"""The drone's strings and the hand drums' strokes."""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.making import load_text, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.drone import string_pitches
from cyclechart.arrange.roles.theka import theka
from cyclechart.arrange.score import Part
from cyclechart.catalog.library import Library
from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Spot
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.tones import tone

LIBRARY = Library.beside(None)
NOWHERE = Spot("", 1, 1)
LINES = "lines:\n  head: {sargam: S - | - - - | - - | - - -}\n"


def part_of(text: str, role: str) -> Part:
    return next(part for part in arrange(piece_of(text)).parts if part.role.name == role)


@pytest.mark.parametrize(
    ("mode", "second"),
    # Common practice: Pa, or Ma where the raga omits Pa (Malkauns), or Ni (Marwa, Puriya).
    [("yaman", "P"), ("bhimpalasi", "P"), ("malkauns", "m"), ("marwa", "N"), ("puriya", "N")],
)
def test_the_first_string_is_tuned_by_the_mode(mode: str, second: str) -> None:
    found, _ = LIBRARY.mode(mode, NOWHERE)
    assert found is not None
    first, *sa = string_pitches(found)
    assert tone(first) == second
    assert [tone(pitch) for pitch in sa] == ["S", "S", "S"]


def test_the_strings_sound_from_the_first_beat_to_the_last() -> None:
    score = arrange(piece_of(LINES))
    drone = next(part for part in score.parts if part.role.name == "drone")
    assert drone.sounds[0].start == 0
    assert max(sound.start + sound.length for sound in drone.sounds) == score.end


@pytest.mark.parametrize("tempo", ["10", "40", "92", "240", "1000"])
def test_a_string_is_plucked_about_once_a_second_at_any_tempo(tempo: str) -> None:
    drone = part_of(f"tempo: {tempo}\n{LINES}", "drone")
    gap = drone.sounds[1].start - drone.sounds[0].start
    assert Fraction(1, 2) <= gap * 60 / Fraction(tempo) <= Fraction(3, 2)


def test_the_theka_is_the_cycles_own() -> None:
    drums = part_of(LINES, "theka")
    said = [hit.text for hit in drums.hits if hit.text and hit.start < 20]
    assert said == ["dhi", "na", "dhi", "dhi", "na", "tin", "na", "dhi", "dhi", "na"]


def test_sam_is_louder_and_an_open_section_softer() -> None:
    drums = part_of(LINES, "theka")
    na = {hit.start - 10: hit.velocity for hit in drums.hits if hit.key == 60}
    assert na[6] < na[1]  # the wave's section against the first
    bass = {hit.start - 10: hit.velocity for hit in drums.hits if hit.key == 64}
    assert bass[0] > bass[2] > bass[3]  # sam, a clap, a plain beat


@pytest.mark.parametrize(
    "cycle",
    [
        Cycle(
            name="a",
            beats=Fraction(23, 2),
            sections=(Fraction(4), Fraction(4), Fraction(7, 2)),
            stressed=(Fraction(1),),
            open=(Fraction(5),),
        ),
        Cycle(name="b", beats=Fraction(5), sections=(Fraction(5),), stressed=(Fraction(1),)),
        Cycle(
            name="c",
            beats=Fraction(27, 4),
            sections=(Fraction(9, 4),) * 3,
            stressed=(Fraction(1),),
            open=(Fraction(13, 4),),
        ),
        Cycle(
            name="d", beats=Fraction(1), sections=(Fraction(1),), stressed=(), open=(Fraction(1),)
        ),
    ],
    ids=lambda cycle: cycle.name,
)
def test_a_cycle_without_strokes_gets_a_pattern_that_fills_it(cycle: Cycle) -> None:
    pattern = theka(cycle)
    assert pattern == theka(cycle)
    assert sum((beat.length for beat in pattern), Fraction(0)) == cycle.beats
    opened = [
        (start, start + size)
        for start, size in zip(cycle.starts, cycle.sections, strict=True)
        if start + 1 in cycle.open
    ]
    for beat in pattern:
        sounds = strokes().syllables[beat.syllable]
        if any(start <= beat.at < end for start, end in opened):
            # The trade's rule at khali: no open bass.
            assert not any(s.hand == "bass" and s.ring == "open" for s in sounds)


def test_composed_strokes_stand_in_place_of_the_theka() -> None:
    text = (
        "lines:\n  break: {strokes: dha tirakita | dha na tun | ge na | ke te ta}\n"
        "  head: {sargam: S - | - - - | - - | - - -}\nform:\n  - play: break\n  - play: head\n"
    )
    drums = part_of(text, "theka")
    said = [hit.text for hit in drums.hits if hit.text and hit.start < 20]
    assert said == ["dha", "ti", "ra", "ki", "ta", "dha", "na", "tun", "ge", "na", "ke", "te", "ta"]


# Keys of the General MIDI percussion map: 60 high bongo (ta rings), 62 muted high conga (it is
# damped).


@pytest.mark.parametrize(
    ("said", "keys"),
    # Common practice, from memory: the ta of tirakita, tita and kata is closed; one that opens
    # taka, stands after a pause or lasts a beat rings.
    [
        ("dha tirakita | tita kata taka | ki ta | dha-ki zta na", [62, 62, 62, 60, 60, 60]),
        ("dha dha | ti-z-ta ki-ta [ti ta]x2 | na na | na | na na", [60, 62, 62]),
        ("dha [ki ta ki ta]x1/2 na", [60, 60]),
    ],
)
def test_the_ta_that_closes_a_quick_run_is_damped(said: str, keys: list[int]) -> None:
    text = f"lines:\n  break: {{strokes: '{said}'}}\n  head: {{sargam: S - - - - - - - - -}}\n"
    drums = part_of(text, "theka")
    assert [hit.key for hit in drums.hits if hit.text == "ta"] == keys


def test_so_is_that_of_a_theka() -> None:
    # Ektal as printed (dhage tirakita | tu na | kat ta): kat | ta is a whole beat and rings.
    drums = part_of(f"cycle: ektal\nlines:\n  head: {{sargam: S{' -' * 11}}}\n", "theka")
    hits = [hit for hit in drums.hits if 12 <= hit.start < 24 and hit.text == "ta"]
    assert [(hit.length, hit.key) for hit in hits] == [
        (Fraction(1, 4), 62),
        (Fraction(1), 60),
        (Fraction(1, 4), 62),
    ]


@pytest.mark.parametrize(
    ("cycle", "counted"),
    [
        (
            "{beats: 7 1/2, sections: [3, 2 1/2, 2], stressed: [1, 4], open: [6 1/2]}",
            "1 clap, 2, 3, 4 clap, 5, 6, 6 1/2 wave, 7 1/2",
        ),
        (
            "{beats: 9 1/8, sections: [3 1/8, 3, 3], stressed: [1, 4 1/8, 7 1/8]}",
            "1 clap, 2, 3, 4, 4 1/8 clap, 5 1/8, 6 1/8, 7 1/8 clap, 8 1/8, 9 1/8",
        ),
        ("jhaptal", "1 clap, 2, 3 clap, 4, 5, 6 wave, 7, 8 clap, 9, 10"),
    ],
)
def test_the_count_in_starts_afresh_at_each_section(cycle: str, counted: str) -> None:
    part = part_of(f"cycle: {cycle}\nlines:\n  head: {{sargam: S R}}\n", "count")
    said = [f"{show_exact(hit.start + 1)} {hit.text}".strip() for hit in part.hits]
    assert ", ".join(said) == counted
    ends = [hit.start + hit.length for hit in part.hits]
    assert ends[:-1] == [hit.start for hit in part.hits[1:]]


@pytest.mark.parametrize("lands", ["", "lands: free, "])
def test_strokes_without_a_stroke_leave_the_theka_alone(lands: str) -> None:
    silent = f"  silent: {{{lands}strokes: z z z z z z z z z z}}\n"
    result = load_text(with_heading(f"lines:\n{silent}"))
    assert result.piece is not None
    drums = next(part for part in arrange(result.piece).parts if part.role.name == "theka")
    said = [hit.text for hit in drums.hits if hit.text]
    theka_said = ["dhi", "na", "dhi", "dhi", "na", "tin", "na", "dhi", "dhi", "na"]
    assert said == ([] if lands else theka_said)
