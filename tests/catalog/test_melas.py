"""The 72 melas against the printed table, and the numbers that their names spell."""

from __future__ import annotations

import re

import pytest

from cyclechart.catalog.library import Library, fold
from cyclechart.catalog.melas import NAMES, OTHER, mela, mela_tones, sounded
from cyclechart.finding import Spot

# The table of the 72 melas as public pages print it: number, name, swaras, semitones.
TABLE = [
    (1, "Kanakangi", "S R1 G1 M1 P D1 N1", "0 1 2 5 7 8 9"),
    (2, "Ratnangi", "S R1 G1 M1 P D1 N2", "0 1 2 5 7 8 10"),
    (3, "Ganamurti", "S R1 G1 M1 P D1 N3", "0 1 2 5 7 8 11"),
    (4, "Vanaspati", "S R1 G1 M1 P D2 N2", "0 1 2 5 7 9 10"),
    (5, "Manavati", "S R1 G1 M1 P D2 N3", "0 1 2 5 7 9 11"),
    (6, "Tanarupi", "S R1 G1 M1 P D3 N3", "0 1 2 5 7 10 11"),
    (7, "Senavati", "S R1 G2 M1 P D1 N1", "0 1 3 5 7 8 9"),
    (8, "Hanumatodi", "S R1 G2 M1 P D1 N2", "0 1 3 5 7 8 10"),
    (9, "Dhenuka", "S R1 G2 M1 P D1 N3", "0 1 3 5 7 8 11"),
    (10, "Natakapriya", "S R1 G2 M1 P D2 N2", "0 1 3 5 7 9 10"),
    (11, "Kokilapriya", "S R1 G2 M1 P D2 N3", "0 1 3 5 7 9 11"),
    (12, "Rupavati", "S R1 G2 M1 P D3 N3", "0 1 3 5 7 10 11"),
    (13, "Gayakapriya", "S R1 G3 M1 P D1 N1", "0 1 4 5 7 8 9"),
    (14, "Vakulabharanam", "S R1 G3 M1 P D1 N2", "0 1 4 5 7 8 10"),
    (15, "Mayamalavagowla", "S R1 G3 M1 P D1 N3", "0 1 4 5 7 8 11"),
    (16, "Chakravakam", "S R1 G3 M1 P D2 N2", "0 1 4 5 7 9 10"),
    (17, "Suryakantam", "S R1 G3 M1 P D2 N3", "0 1 4 5 7 9 11"),
    (18, "Hatakambari", "S R1 G3 M1 P D3 N3", "0 1 4 5 7 10 11"),
    (19, "Jhankaradhvani", "S R2 G2 M1 P D1 N1", "0 2 3 5 7 8 9"),
    (20, "Natabhairavi", "S R2 G2 M1 P D1 N2", "0 2 3 5 7 8 10"),
    (21, "Keeravani", "S R2 G2 M1 P D1 N3", "0 2 3 5 7 8 11"),
    (22, "Kharaharapriya", "S R2 G2 M1 P D2 N2", "0 2 3 5 7 9 10"),
    (23, "Gourimanohari", "S R2 G2 M1 P D2 N3", "0 2 3 5 7 9 11"),
    (24, "Varunapriya", "S R2 G2 M1 P D3 N3", "0 2 3 5 7 10 11"),
    (25, "Mararanjani", "S R2 G3 M1 P D1 N1", "0 2 4 5 7 8 9"),
    (26, "Charukesi", "S R2 G3 M1 P D1 N2", "0 2 4 5 7 8 10"),
    (27, "Sarasangi", "S R2 G3 M1 P D1 N3", "0 2 4 5 7 8 11"),
    (28, "Harikambhoji", "S R2 G3 M1 P D2 N2", "0 2 4 5 7 9 10"),
    (29, "Dheerasankarabharanam", "S R2 G3 M1 P D2 N3", "0 2 4 5 7 9 11"),
    (30, "Naganandini", "S R2 G3 M1 P D3 N3", "0 2 4 5 7 10 11"),
    (31, "Yagapriya", "S R3 G3 M1 P D1 N1", "0 3 4 5 7 8 9"),
    (32, "Ragavardhini", "S R3 G3 M1 P D1 N2", "0 3 4 5 7 8 10"),
    (33, "Gangeyabhushani", "S R3 G3 M1 P D1 N3", "0 3 4 5 7 8 11"),
    (34, "Vagadheesvari", "S R3 G3 M1 P D2 N2", "0 3 4 5 7 9 10"),
    (35, "Shulini", "S R3 G3 M1 P D2 N3", "0 3 4 5 7 9 11"),
    (36, "Chalanata", "S R3 G3 M1 P D3 N3", "0 3 4 5 7 10 11"),
    (37, "Salagam", "S R1 G1 M2 P D1 N1", "0 1 2 6 7 8 9"),
    (38, "Jalarnavam", "S R1 G1 M2 P D1 N2", "0 1 2 6 7 8 10"),
    (39, "Jhalavarali", "S R1 G1 M2 P D1 N3", "0 1 2 6 7 8 11"),
    (40, "Navaneetam", "S R1 G1 M2 P D2 N2", "0 1 2 6 7 9 10"),
    (41, "Pavani", "S R1 G1 M2 P D2 N3", "0 1 2 6 7 9 11"),
    (42, "Raghupriya", "S R1 G1 M2 P D3 N3", "0 1 2 6 7 10 11"),
    (43, "Gavambhodi", "S R1 G2 M2 P D1 N1", "0 1 3 6 7 8 9"),
    (44, "Bhavapriya", "S R1 G2 M2 P D1 N2", "0 1 3 6 7 8 10"),
    (45, "Shubhapantuvarali", "S R1 G2 M2 P D1 N3", "0 1 3 6 7 8 11"),
    (46, "Shadvidhamargini", "S R1 G2 M2 P D2 N2", "0 1 3 6 7 9 10"),
    (47, "Suvarnangi", "S R1 G2 M2 P D2 N3", "0 1 3 6 7 9 11"),
    (48, "Divyamani", "S R1 G2 M2 P D3 N3", "0 1 3 6 7 10 11"),
    (49, "Dhavalambari", "S R1 G3 M2 P D1 N1", "0 1 4 6 7 8 9"),
    (50, "Namanarayani", "S R1 G3 M2 P D1 N2", "0 1 4 6 7 8 10"),
    (51, "Kamavardhini", "S R1 G3 M2 P D1 N3", "0 1 4 6 7 8 11"),
    (52, "Ramapriya", "S R1 G3 M2 P D2 N2", "0 1 4 6 7 9 10"),
    (53, "Gamanasrama", "S R1 G3 M2 P D2 N3", "0 1 4 6 7 9 11"),
    (54, "Vishvambhari", "S R1 G3 M2 P D3 N3", "0 1 4 6 7 10 11"),
    (55, "Shyamalangi", "S R2 G2 M2 P D1 N1", "0 2 3 6 7 8 9"),
    (56, "Shanmukhapriya", "S R2 G2 M2 P D1 N2", "0 2 3 6 7 8 10"),
    (57, "Simhendramadhyamam", "S R2 G2 M2 P D1 N3", "0 2 3 6 7 8 11"),
    (58, "Hemavati", "S R2 G2 M2 P D2 N2", "0 2 3 6 7 9 10"),
    (59, "Dharmavati", "S R2 G2 M2 P D2 N3", "0 2 3 6 7 9 11"),
    (60, "Neetimati", "S R2 G2 M2 P D3 N3", "0 2 3 6 7 10 11"),
    (61, "Kantamani", "S R2 G3 M2 P D1 N1", "0 2 4 6 7 8 9"),
    (62, "Rishabhapriya", "S R2 G3 M2 P D1 N2", "0 2 4 6 7 8 10"),
    (63, "Latangi", "S R2 G3 M2 P D1 N3", "0 2 4 6 7 8 11"),
    (64, "Vachaspati", "S R2 G3 M2 P D2 N2", "0 2 4 6 7 9 10"),
    (65, "Mechakalyani", "S R2 G3 M2 P D2 N3", "0 2 4 6 7 9 11"),
    (66, "Chitrambari", "S R2 G3 M2 P D3 N3", "0 2 4 6 7 10 11"),
    (67, "Sucharitra", "S R3 G3 M2 P D1 N1", "0 3 4 6 7 8 9"),
    (68, "Jyotisvarupini", "S R3 G3 M2 P D1 N2", "0 3 4 6 7 8 10"),
    (69, "Dhatuvardhini", "S R3 G3 M2 P D1 N3", "0 3 4 6 7 8 11"),
    (70, "Nasikabhushani", "S R3 G3 M2 P D2 N2", "0 3 4 6 7 9 10"),
    (71, "Kosalam", "S R3 G3 M2 P D2 N3", "0 3 4 6 7 9 11"),
    (72, "Rasikapriya", "S R3 G3 M2 P D3 N3", "0 3 4 6 7 10 11"),
]
LIBRARY = Library.beside(None)


@pytest.mark.parametrize(("number", "name", "swaras", "semitones"), TABLE)
def test_the_rule_makes_the_printed_table(
    number: int, name: str, swaras: str, semitones: str
) -> None:
    assert NAMES[number - 1] == name
    assert mela_tones(number) == tuple(map(int, semitones.split()))
    assert mela(number).note.startswith(swaras)


def test_there_are_seventy_two_of_them() -> None:
    assert len(TABLE) == len(set(NAMES)) == len({mela_tones(n) for n in range(1, 73)}) == 72


def test_forty_hold_a_vivadi_pair() -> None:
    # A mela with R1 G1, R3 G3, D1 N1 or D3 N3 (the table's own column: 40 of 72).
    pairs = ({1, 2}, {3, 4}, {8, 9}, {10, 11})
    assert sum(any(pair <= set(mela_tones(n)) for pair in pairs) for n in range(1, 73)) == 40


# Bhatkhande's ten thaats and their melas (Sangeet Visharad p. 92).
THAATS = {
    "bilawal": 29, "kalyan": 65, "khamaj": 28, "kafi": 22, "asavari": 20, "bhairavi": 8,
    "bhairav": 15, "purvi": 51, "marwa": 53, "todi": 45,
}  # fmt: skip


@pytest.mark.parametrize("thaat", THAATS)
def test_the_thaats_are_melas(thaat: str) -> None:
    made, _ = LIBRARY.mode(f"{thaat}-thaat", Spot("", 1, 1))
    assert made is not None
    assert made.up == frozenset(mela_tones(THAATS[thaat]))


@pytest.mark.parametrize(
    ("name", "semitones"),
    [
        ("Hanumatodi", "0 1 3 5 7 8 10"),
        ("hanuma-todi", "0 1 3 5 7 8 10"),
        ("Ṣaṇmukhapriya", "0 2 3 6 7 8 10"),
        ("Shanmukhapriya", "0 2 3 6 7 8 10"),
        ("mela 15", "0 1 4 5 7 8 11"),
        ("mela-72", "0 3 4 6 7 10 11"),
        ("mela 73", None),
        ("mela 0", None),
        ("mela 999999999999", None),
    ],
)
def test_a_mela_is_found_by_name_or_number(name: str, semitones: str | None) -> None:
    made, findings = LIBRARY.mode(name, Spot("", 1, 1))
    if semitones is None:
        assert made is None
        assert findings[0].rule == "unknown-name"
        return
    assert made is not None
    assert made.up == made.down == frozenset(map(int, semitones.split()))


def test_an_entry_of_its_own_goes_before_the_scale() -> None:
    # Charukeshi and Kirwani are in the catalogue as ragas.
    for name in ("Charukesi", "Keeravani"):
        made, _ = LIBRARY.mode(name, Spot("", 1, 1))
        assert made is not None
        assert "mela" not in " ".join(made.aka)


@pytest.mark.parametrize(
    ("spelling", "number"),
    [
        # Usual spellings of the books (common practice).
        ("Dhira Shankarabharanam", 29), ("Dhīraśaṅkarābharaṇam", 29), ("Sankarabharana", 29),
        ("Mayamalava Gaula", 15), ("Māyāmāḷavagauḷa", 15), ("Mayamalavagoula", 15),
        ("Hanumathodi", 8), ("Thodi", 8), ("Kharahara Priya", 22), ("Karaharapriya", 22),
        ("Harikāmbhōji", 28), ("Natabhairavi", 20), ("Naṭhabhairavi", 20), ("Kalyani", 65),
        ("Shubhapanthuvarali", 45), ("Pantuvarali", 51), ("Jyothiswarupini", 68),
        ("Vishwambari", 54), ("Rshabhapriya", 62), ("Navaneetham", 40), ("Kosala", 71),
    ],
)  # fmt: skip
def test_a_mela_goes_by_its_usual_spellings(spelling: str, number: int) -> None:
    made, findings = LIBRARY.mode(spelling, Spot("", 1, 1))
    assert findings == []
    assert made is not None
    assert made.name == NAMES[number - 1]


def test_no_two_melas_sound_alike() -> None:
    names = [*NAMES, *(other for others in OTHER.values() for other in others)]
    sounds = {sounded(fold(name)) for name in NAMES}
    assert len(sounds) == 72
    by_sound: dict[str, set[int]] = {}
    for name in names:
        made, _ = LIBRARY.mode(name, Spot("", 1, 1))
        assert made is not None
        number = next(n for n in range(1, 73) if made.up == frozenset(mela_tones(n)))
        by_sound.setdefault(sounded(fold(name)), set()).add(number)
    assert all(len(numbers) == 1 for numbers in by_sound.values())


def test_every_mela_is_found_by_its_printed_name_and_its_number() -> None:
    for number, name, _, semitones in TABLE:
        for asked in (name, f"mela {number}", f"mela-{number}"):
            made, _ = LIBRARY.mode(asked, Spot("", 1, 1))
            assert made is not None
            assert made.up == frozenset(map(int, semitones.split()))


@pytest.mark.parametrize(
    ("jazz", "number", "tones"),
    [
        # Common practice, by the degrees of the names: 1 b2 b3 4 5 b6 7 and so on.
        ("Neapolitan minor", 9, "0 1 3 5 7 8 11"),
        ("neapolitan-major", 11, "0 1 3 5 7 9 11"),
        ("Hungarian major", 70, "0 3 4 6 7 9 10"),
        ("Lydian #2", 71, "0 3 4 6 7 9 11"),
    ],
)
def test_a_mela_goes_by_its_jazz_name(jazz: str, number: int, tones: str) -> None:
    made, _ = LIBRARY.mode(jazz, Spot("", 1, 1))
    assert made is not None
    assert f"mela {number}" in made.aka
    assert made.up == frozenset(map(int, tones.split()))


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (1, "R1 G1 are r R and D1 N1 are d D"),
        (36, "R3 G3 are g G and D3 N3 are n N"),
        (9, None),
    ],
)
def test_a_vivadi_pair_is_said_in_our_letters(number: int, said: str | None) -> None:
    note = mela(number).note
    assert said in note if said else "ivadi" not in note


# Katapayadi: k kh g gh ṅ c ch j jh ñ count 1 to 9 and 0, so do ṭ … n; p to m 1 to 5;
# y r l v ś ṣ s h 1 to 8. The first two syllables of a name, read backwards, are its number; of
# several consonants before a vowel the last counts (the rule's own verse). Source: public pages on
# the scheme.
ROWS = ("k kh g gh ṅ c ch j jh ñ", "ṭ ṭh ḍ ḍh ṇ t th d dh n", "p ph b bh m", "y r l v ś ṣ s h")
DIGITS = {letter: at % 10 for row in ROWS for at, letter in enumerate(row.split(), start=1)}
SYLLABLES = (
    "Kana Ratnā Gāna Vana Māna Tāna Senā Hanu Dhenu Nāṭa Koki Rūpa Gāya Vaku Māyā Cakra Sūrya Hāṭa "
    "Jhaṅkā Naṭa Kīra Khara Gaurī Varu Māra Cāru Sara Hari Dhīra Nāgā Yāga Rāga Gāṅge Vāga Śūli "
    "Cala Sāla Jalā Jhāla Nava Pāva Raghu Gavā Bhava Śubha Ṣaḍvi Suva Divya Dhava Nāma Kāma Rāma "
    "Gama Viśva Śyāma Ṣaṇmu Siṃhe Hema Dharma Nīti Kāntā Riṣa Latā Vāca Meca Citrā Suca Jyoti "
    "Dhātu Nāsi Kosa Rasi"
)
"""The first two syllables of each name, with the signs that tell its consonants (from memory)."""
STARTS = SYLLABLES.split()
EXCEPTIONS = {
    16: ("first", 26),  # Cakra: k of kr
    20: ("none", 10),  # only as Naṭha-, ṭh = 2
    48: ("first", 18),  # Divya: v of vy
    54: ("first", 44),  # Viśva: ś of śv
    55: ("first", 51),  # Śyāma: ś of śy
    57: ("none", 87),  # only with the ṃ of Siṃhe counted as m = 5
    66: ("first", 26),  # Citra: t of tr
    68: ("first", 61),  # Jyoti: j of jy
}
"""Which consonant gives the number there, and what the rule gives."""


def spelt(start: str, consonant: int) -> int:
    """The number that two syllables spell, by the first (0) or the last (-1) consonant."""
    clusters = [part for part in re.split("[aāiīuūeo]+", start.lower()) if part]
    digits = [DIGITS[re.findall("[^hṃ]h?|h", part)[consonant]] for part in clusters]
    assert len(digits) == 2
    return 10 * digits[1] + digits[0]


@pytest.mark.parametrize("number", range(1, 73))
def test_a_name_spells_its_number(number: int) -> None:
    start = STARTS[number - 1]
    assert sounded(NAMES[number - 1].lower()).startswith(sounded(fold(start))[:3])
    if number not in EXCEPTIONS:
        assert spelt(start, -1) == number
        return
    which, by_rule = EXCEPTIONS[number]
    assert spelt(start, -1) == by_rule
    assert (spelt(start, 0) == number) == (which == "first")


def test_what_the_two_odd_names_would_need() -> None:
    assert spelt("Naṭha", -1) == 20
    assert spelt("Sime", -1) == 57  # ṃ as m


def test_worked_examples_of_a_public_page() -> None:
    assert [spelt(start, -1) for start in ("Hari", "Nāma", "Kīra")] == [28, 50, 21]
