"""The 35 suladi talas against the printed totals."""

from __future__ import annotations

from pathlib import Path

import pytest

from cyclechart.catalog.library import Library
from cyclechart.catalog.suladi import JATIS, LIMBS, NAMES, kind_of, suladi
from cyclechart.finding import Finding, Spot
from cyclechart.theory.cycle import Cycle

LIBRARY = Library.beside(None)
HERE = Spot("f", 1, 1)

# Totals as a public tala chart (C. Shotham) and a second public page print them; Sangeet Visharad
# p. 191 prints Dhruva's tisra 11, khanda 17 and misra 23.
TOTALS = {
    "dhruva": (11, 14, 17, 23, 29),
    "matya": (8, 10, 12, 16, 20),
    "rupaka": (5, 6, 7, 9, 11),
    "jhampa": (6, 7, 8, 10, 12),
    "triputa": (7, 8, 9, 11, 13),
    "ata": (10, 12, 14, 18, 22),
    "eka": (3, 4, 5, 7, 9),
}


@pytest.mark.parametrize("tala", TOTALS)
def test_totals(tala: str) -> None:
    made = [suladi(f"{jati}-jati-{tala}") for jati in JATIS]
    assert [cycle.beats for cycle in made if cycle] == list(TOTALS[tala])


def test_there_are_thirty_five_and_each_limb_begins_with_a_clap() -> None:
    assert len(set(NAMES)) == 35
    for name in NAMES:
        cycle = suladi(name)
        assert cycle is not None
        assert sum(cycle.sections) == cycle.beats
        assert cycle.stressed == tuple(start + 1 for start in cycle.starts)


def test_adi_is_chaturasra_jati_triputa() -> None:
    library = Library.beside(None)
    adi, _ = library.cycle("adi", Spot("", 1, 1))
    made, _ = library.cycle("chaturasra-jati-triputa", Spot("", 1, 1))
    assert adi and made
    assert (adi.beats, adi.sections, adi.stressed) == (made.beats, made.sections, made.stressed)


@pytest.mark.parametrize("name", ["khanda-jati-nothing", "five-jati-eka", "eka", "-jati-"])
def test_other_names_are_none(name: str) -> None:
    assert suladi(name) is None


def test_an_unknown_name_is_answered_with_the_nearest_of_them() -> None:
    _, findings = Library.beside(None).cycle("khanda-jati-druva", Spot("f", 1, 1))
    assert "khanda-jati-dhruva" in findings[0].tries


@pytest.mark.parametrize(
    ("written", "name"),
    [
        # The name that is shown, and other spellings of the kinds (common practice).
        ("Khanda-jati dhruva", "khanda-jati-dhruva"),
        ("MISRA JATI EKA", "misra-jati-eka"),
        ("mishra-jati-eka", "misra-jati-eka"),
        ("chatusra-jati-ata", "chaturasra-jati-ata"),
        ("Tishram jati triputa", "tisra-jati-triputa"),
        ("sankeerna-jati-matya", "sankirna-jati-matya"),
    ],
)
def test_a_suladi_tala_goes_by_other_spellings(written: str, name: str) -> None:
    made = suladi(written)
    assert made is not None
    assert made == suladi(name)


def test_every_tala_is_found_by_the_name_that_it_shows() -> None:
    for name in NAMES:
        made = suladi(name)
        assert made is not None
        assert suladi(made.name) == made


def test_the_limbs_are_kept_by_hand() -> None:
    """A laghu is a clap and finger counts, a drutam a clap and a wave, an anudrutam a clap: a
    Carnatic tala chart (C. Shotham); common practice."""
    for name in NAMES:
        made = suladi(name)
        assert made is not None
        jati = JATIS[name.split("-")[0]]
        kept = list(made.hand.values())
        ways = {
            "I": ["clap", *map(str, range(1, jati))],
            "O": ["clap", "wave"],
            "U": ["clap"],
        }
        assert kept == [sign for limb in LIMBS[name.split("-")[2]] for sign in ways[limb]]
        assert list(made.hand) == list(range(int(made.beats)))


# Gatis


def named(name: str) -> tuple[Cycle, list[Finding]]:
    made, findings = LIBRARY.cycle(name, HERE)
    assert made is not None
    return made, findings


@pytest.mark.parametrize(
    ("gati", "pulses"),
    # A Carnatic tala chart (C. Shotham): Adi in the five gatis.
    [("tisra", 24), ("chaturasra", 32), ("khanda", 40), ("misra", 56), ("sankirna", 72)],
)
def test_adi_in_its_gatis(gati: str, pulses: int) -> None:
    made, findings = named(f"{gati}-gati-adi")
    assert findings == []
    assert made.pulses == pulses
    assert made.beats == 8


def test_thirty_five_talas_in_five_gatis() -> None:
    """A Carnatic tala chart (C. Shotham): 35 talas x 5 gatis = 175."""
    found = {}
    for gati, pulses in JATIS.items():
        for name in NAMES:
            made, _ = named(f"{gati}-gati-{name}")
            plain = suladi(name)
            assert plain is not None
            assert made.pulses == pulses * plain.beats
            assert (made.sections, made.stressed) == (plain.sections, plain.stressed)
            found[made.name] = made
    assert len(found) == 175


@pytest.mark.parametrize("nadai", ["Khanda gati Adi", "khanda-nadai-adi", "KHANDA NADAI Adi Tala"])
def test_a_gati_goes_by_its_other_name(nadai: str) -> None:
    assert named(nadai)[0] == named("khanda-gati-adi")[0]


def test_a_theka_stays_in_any_gati_and_a_spoken_count_does_not() -> None:
    tintal, _ = named("tintal")
    assert named("misra-gati-tintal")[0].strokes == tintal.strokes
    adi, in_misra = named("adi")[0], named("misra-gati-adi")[0]
    assert adi.spoken
    assert adi.sarvalaghu
    assert (in_misra.spoken, in_misra.sarvalaghu, in_misra.sarvalaghu_source) == ("", "", "")
    assert in_misra.southern


def test_a_bands_own_cycle_in_a_gati(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    text = "weir: {beats: 7, sections: [3, 4]}\nkhanda-gati-lock: {beats: 3}\n"
    (tmp_path / "shared" / "cycles.yaml").write_text(text)
    library = Library.beside(tmp_path)
    made, findings = library.cycle("khanda-gati-weir", HERE)
    assert made is not None
    assert (made.name, made.gati, made.pulses, findings) == ("Khanda-gati weir", 5, 35, [])
    own, _ = library.cycle("khanda-gati-lock", HERE)  # the band's own name goes first
    assert own is not None
    assert (own.beats, own.gati) == (3, 0)


def test_a_broken_cycle_in_a_gati_says_what_is_broken(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "cycles.yaml").write_text("weir: {beats: 7, sections: [3, 3]}\n")
    made, findings = Library.beside(tmp_path).cycle("khanda-gati-weir", HERE)
    assert made is None
    assert [found.rule for found in findings] == ["cycle-unsound"]


@pytest.mark.parametrize(
    ("name", "said", "tried"),
    [
        ("kanta-gati-adi", "there is no gati 'kanta'", "khanda-gati-adi"),
        ("six-gati-adi", "there is no gati 'six'", "misra-gati-adi"),
        ("-gati-adi", "there is no gati ''", "tisra-gati-adi"),
        ("khanda-gati-jhaptall", "there is no cycle 'jhaptall'", "khanda-gati-jhaptal"),
        ("khanda-gati-misra-gati-adi", "there is no cycle 'misra-gati-adi'", ""),
    ],
)
def test_a_gati_that_is_none(name: str, said: str, tried: str) -> None:
    made, findings = LIBRARY.cycle(name, HERE)
    assert made is None
    assert [(found.rule, found.message) for found in findings] == [("unknown-name", said)]
    assert not tried or tried in findings[0].tries
    for suggestion in findings[0].tries:
        assert LIBRARY.cycle(suggestion, HERE)[0] is not None


@pytest.mark.parametrize("word", ["", "m", "panca", "khandaa", "khandamm"])
def test_other_words_are_no_kind(word: str) -> None:
    assert kind_of(word) is None
