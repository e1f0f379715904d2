"""Drum syllables: how compounds are cut, what each hand does, the General MIDI stand-ins."""

from __future__ import annotations

from fractions import Fraction as F
from itertools import product
from pathlib import Path

import pretty_midi
import pytest
import yaml
from hypothesis import assume, given
from hypothesis import strategies as st
from support.catalogue import CYCLE_NAMES, cycle

import cyclechart.catalog
from cyclechart.arrange.roles.spoken_count import spoken_count
from cyclechart.arrange.roles.theka import theka
from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.strokes import MAX_CUTS, DrumSound, Strokes, TimedSyllable, strokes

TABLE = strokes()
SOUNDS = {sound.name: sound for row in TABLE.syllables.values() for sound in row}

# Compounds of the tabla, the pakhawaj and the southern count, with the strokes that a player says
# apart (common practice; tirakita, dhage and kitataka stand in printed thekas).
COMPOUNDS = [
    "ti ra ki ta", "te re ke te", "dha ge", "dha ge na", "ki ta ta ka", "dhu ma ki ta",
    "ga di ga na", "ti ta", "ka ta", "te te", "dhe te", "dhe re dhe re", "dhi na", "dhin na",
    "tin na", "tu na", "kat ta", "ti kra", "na dhi", "dhi dhi", "dhin dhin", "dha ti ra ki ta",
    "ta ka di mi", "ta ka jo nu", "ta ki ta", "ta ri ki ta", "ta di gi na tom", "tha lan gu",
    "ta ka", "ta ka ta ki ta", "ta ki ta ta ka di mi", "ta ka di mi ta ka ta ki ta",
    "dhum ki ta", "kran dha", "dha kran", "ta ka ju nu", "ki ta jham",
    # The first lesson of the mridangam, sarvalaghu, thalangu, tadikina; trekete, ghedenaga.
    "tat dit tom nam", "na dhin dhin na", "na thin thin na", "tat dit ta", "tha lan ku", "thi ta",
    "tre ke te", "dha tre ke te", "ghe de na ga", "dhin gin", "ti na gin", "ghin na", "kda na",
    "kdan dha", "dhi ra dhi ra", "dhir dhir", "ta tei", "tong ta", "tha kum", "thith thaam",
]  # fmt: skip


@pytest.mark.parametrize("parted", COMPOUNDS)
def test_a_compound_is_cut_one_way(parted: str) -> None:
    assert TABLE.cut(parted.replace(" ", "")) == [tuple(parted.split())]


def test_only_tra_and_tre_after_a_t_can_be_read_two_ways() -> None:
    """The one exception that the catalogue names: katra is kat ra or ka tra."""
    two = {one + other for one, other in product(TABLE.syllables, repeat=2)}
    assert {run for run in two if len(TABLE.cut(run)) > 1} == {
        f"{first}tr{vowel}"
        for first in ("ka", "ki", "ti", "dhe", "dhi", "ta", "di", "te")
        for vowel in "ae"
    }
    assert set(TABLE.cut("katra")) == {("kat", "ra"), ("ka", "tra")}


syllables = st.lists(st.sampled_from(sorted(TABLE.syllables)), min_size=1, max_size=8)


@given(syllables)
def test_any_run_of_syllables_is_cut_as_it_was_put_together(said: list[str]) -> None:
    run = "".join(said)
    assume("tra" not in run and "tre" not in run)
    assert TABLE.cut(run) == [tuple(said)]


@given(st.text(alphabet="adegihknorstumz", min_size=1, max_size=12))
def test_every_cut_puts_together_to_the_run(run: str) -> None:
    for cut in TABLE.cut(run):
        assert "".join(cut) == run
        assert set(cut) <= set(TABLE.syllables)


def test_a_run_of_many_readings_shows_some_of_them() -> None:
    sound = next(iter(SOUNDS.values()))
    doubtful = Strokes({"t": (sound,), "tt": (sound,)})
    assert len(doubtful.cut("t" * 60)) == MAX_CUTS
    assert doubtful.cut("tt") != doubtful.cut("ttt")
    assert doubtful.cut("x") == []


@pytest.mark.parametrize("syllable", TABLE.syllables)
def test_no_hand_is_asked_for_two_sounds_at_once(syllable: str) -> None:
    hands = [sound.hand for sound in TABLE.syllables[syllable]]
    assert hands
    assert len(hands) == len(set(hands))
    assert set(hands) <= {"treble", "bass"}


@pytest.mark.parametrize(
    ("syllable", "parts"),
    [
        # Both hands together (common practice): dha is na or ta with ge, dhin is tin with ge.
        ("dha", {"na", "ge"}),
        ("dhin", {"tin", "ge"}),
        # One hand alone.
        ("na", {"na"}),
        ("ta", {"na"}),
        ("tin", {"tin"}),
        ("ge", {"ge"}),
        ("ke", {"ke"}),
        ("te", {"te"}),
    ],
)
def test_what_the_hands_do(syllable: str, parts: set[str]) -> None:
    assert {sound.name for sound in TABLE.syllables[syllable]} == parts


@pytest.mark.parametrize("sound", SOUNDS.values(), ids=SOUNDS)
def test_every_stand_in_is_a_general_midi_percussion_key(sound: DrumSound) -> None:
    # General MIDI Level 1: percussion keys 35 to 81; velocities 1 to 127 (0 is a note off).
    assert 35 <= sound.key <= 81
    assert 1 <= sound.velocity <= 127
    assert sound.ring in ("open", "closed")


@pytest.mark.parametrize(
    ("sound", "drum"),
    [
        ("na", "Hi Bongo"),
        ("tin", "Low Bongo"),
        ("tun", "Open Hi Conga"),
        ("te", "Mute Hi Conga"),
        ("ge", "Low Conga"),
        ("ke", "Side Stick"),
    ],
)
def test_the_stand_ins_are_bongos_congas_and_the_side_stick(sound: str, drum: str) -> None:
    # Outside: pretty_midi's names of the General MIDI percussion keys.
    assert pretty_midi.note_number_to_drum_name(SOUNDS[sound].key) == drum


def test_each_sound_has_a_key_of_its_own_and_open_ones_are_louder() -> None:
    assert len({sound.key for sound in SOUNDS.values()}) == len(SOUNDS) == 6
    opened = [sound.velocity for sound in SOUNDS.values() if sound.ring == "open"]
    closed = [sound.velocity for sound in SOUNDS.values() if sound.ring == "closed"]
    assert min(opened) > max(closed)


def test_the_file_names_no_sound_that_it_does_not_have() -> None:
    text = (Path(cyclechart.catalog.__file__).parent / "strokes.yaml").read_text("utf-8")
    data = yaml.safe_load(text)
    rows = [(name, row) for group in data["groups"] for name, row in group["syllables"].items()]
    assert {sound for _, row in rows for sound in row} == set(data["sounds"])
    assert [name for name, _ in rows] == list(TABLE.syllables)  # none stands in two groups
    for syllable, row in data["after"].items():
        assert {syllable, *row["follows"], *row["anew"]} <= set(TABLE.syllables)
        assert set(row["sounds"]) <= set(data["sounds"])
        assert row["source"]


DRUMS = {
    one.name for one in map(instrument, instrument_names()) if one and one.family == "hand drums"
}
# Pages on the syllables of the mridangam and of the tabla.
PAGES = ("mysorevadiraj.com", "nathalaya.co.uk", "pinocchiopedia.com")


def test_every_hand_drum_is_one_that_syllables_are_said_on() -> None:
    assert {drum for group in TABLE.groups for drum in group.drums} == DRUMS


@pytest.mark.parametrize(
    ("drum", "others"),
    [
        # Common practice, from memory.
        ("kanjira", {"mridangam"}), ("ghatam", {"mridangam"}), ("thavil", {"mridangam"}),
        ("morsing", {"mridangam"}), ("frame-drum", {"mridangam", "tabla"}),
        ("cajon", {"mridangam", "tabla"}), ("congas", {"mridangam", "tabla"}),
    ],
)  # fmt: skip
def test_a_drum_borrows_every_syllable_of_another(drum: str, others: set[str]) -> None:
    for group in TABLE.groups:
        assert (drum in group.drums) == bool(others & set(group.drums))
        assert len(set(group.drums)) == len(group.drums)


@pytest.mark.parametrize("syllable", TABLE.syllables)
def test_every_syllable_is_said_on_some_drum_and_says_where_that_is_from(syllable: str) -> None:
    group = TABLE.group(syllable)
    assert group is not None
    assert group.drums
    assert set(group.drums) <= DRUMS
    assert group.says
    assert group.source in ("common practice", "from memory") or group.source.startswith(PAGES)


@pytest.mark.parametrize(
    ("said", "drum"),
    [
        # Common practice: the dholak's plain strokes.
        ("dha ge na tin ka dhin", "dholak"),
        # Common practice: takadimi, takita, takajonu, tadiginatom.
        ("ta ka di mi ki jo nu gi na tom", "konnakol"),
        # The first lesson of the mridangam (mysorevadiraj.com).
        ("tat dit tom nam", "mridangam"),
        ("ku tong dheem theem thin tei", "konnakol"),
        ("ghin gin tet kda kdan dhir de tre", "tabla"),
        # From memory.
        ("ta dhin nam thom dim cha", "mridangam"),
    ],
)
def test_a_drum_has_the_strokes_of_its_thekas(said: str, drum: str) -> None:
    for syllable in said.split():
        group = TABLE.group(syllable)
        assert group is not None
        assert drum in group.drums, syllable


@pytest.mark.parametrize("name", CYCLE_NAMES)
def test_a_theka_is_said_on_its_drum(name: str) -> None:
    """The catalogue's cycles of the tabla and the pakhawaj, and the southern sarvalaghus."""
    made = cycle(name)
    pakhawaj = name.split("-")[0] in ("chautal", "dhamar", "sultal", "tivra")
    drum = "mridangam" if made.southern else "pakhawaj" if pakhawaj else "tabla"
    for beat in theka(made):
        group = TABLE.group(beat.syllable)
        assert group is not None
        assert drum in group.drums, beat.syllable


@pytest.mark.parametrize("name", [name for name in CYCLE_NAMES if cycle(name).southern])
def test_a_spoken_count_is_recited(name: str) -> None:
    for beat in spoken_count(cycle(name)):
        group = TABLE.group(beat.syllable)
        assert group is not None
        assert "konnakol" in group.drums, beat.syllable


def sounds_of(said: str) -> list[str]:
    """Return the sounds of each syllable: cells of a beat, dots between syllables; z a rest."""
    found = []
    for beat, cell in enumerate(said.split()):
        parts = cell.split(".")
        found += [
            TimedSyllable(
                F(beat) + F(at, len(parts)), F(beat) + F(at + 1, len(parts)), one, len(parts) > 1
            )
            for at, one in enumerate(parts)
            if one != "z"
        ]
    return ["+".join(sound.name for sound in sounds) for sounds in TABLE.sounding(found)]


@pytest.mark.parametrize(
    ("said", "sounds"),
    # Common practice, from memory: the ta that closes these runs is a closed stroke.
    [
        ("ti.ra.ki.ta", "te te ke te"),
        ("ti.ta", "te te"),
        ("ka.ta", "ke te"),
        ("ki.ta", "ke te"),
        ("ti.ta ka.ta", "te te ke te"),
        ("ti.ra ki.ta", "te te ke te"),
        ("z.ti ta.z", "te te"),
        # The ta that opens taka, takita and takadimi rings.
        ("ta.ka", "na ke"),
        ("ta.ka.ta.ka", "na ke na ke"),
        ("ki.ta.ta.ka", "ke te na ke"),
        ("ki.ta.ta.ka ta.ki.ta", "ke te na ke na ke te"),
        ("ta.ka.di.mi", "na ke tun te"),
        ("ta.ka.ta.ki.ta", "na ke na ke te"),
        # So it does after a pause, after and in a whole beat, and after other strokes.
        ("ti.z.ta", "te na"),
        ("ki ta", "ke na"),
        ("kat ta", "ke na"),
        ("ki ta.ka", "ke na ke"),
        ("ti.ki ta", "te ke na"),
        ("kat.ta", "ke na"),
        ("na.ta", "na na"),
        ("ta", "na"),
    ],
)
def test_ta_is_closed_where_it_closes_a_quick_run(said: str, sounds: str) -> None:
    assert sounds_of(said) == sounds.split()


def test_a_syllable_that_is_none_has_no_group() -> None:
    assert TABLE.group("foo") is None


@pytest.mark.parametrize(
    ("syllable", "rings"),
    # Common practice: the bass rings in dha, dhin, dhi and ge; it is silent or flat in the others.
    [("dha", True), ("dhin", True), ("dhi", True), ("ge", True), ("na", False), ("tin", False),
     ("ta", False), ("ke", False), ("kat", False), ("te", False)],
)  # fmt: skip
def test_where_the_bass_rings(syllable: str, rings: bool) -> None:
    assert TABLE.open_bass(syllable) is rings


# General MIDI's words, as pretty_midi shortens them, against ours.
SHORT = {"high": "Hi", "low": "Low", "muted": "Mute", "open": "Open"}


@pytest.mark.parametrize("sound", SOUNDS.values(), ids=SOUNDS)
def test_the_instrument_that_is_named_is_that_of_the_key(sound: DrumSound) -> None:
    words = [SHORT.get(word, word.capitalize()) for word in sound.like.split()]
    assert " ".join(words) == pretty_midi.note_number_to_drum_name(sound.key)
