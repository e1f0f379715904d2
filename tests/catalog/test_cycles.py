"""The cycles of the catalogue against what handbooks and teaching pages print."""

from __future__ import annotations

import re
from fractions import Fraction as F
from itertools import accumulate
from pathlib import Path

import pytest
import yaml
from support.catalogue import CYCLE_NAMES, cycle

import cyclechart.catalog
from cyclechart.catalog.library import fold
from cyclechart.catalog.strokes import strokes
from cyclechart.text.reading import read_line
from cyclechart.text.source import PlacedText, Source
from cyclechart.text.timing import Timed, time_line

# name: sections; claps; waves (khali); theka as printed. One source at least is named on each row;
# where books disagree it is the form that the catalogue chose and says so.
NORTH = {
    # A public table of talas; CompMusic taal examples; lesson pages.
    "tintal": (
        "4 4 4 4",
        "1 5 13",
        "9",
        "Dha Dhin Dhin Dha | Dha Dhin Dhin Dha | Dha Tin Tin Ta | Ta Dhin Dhin Dha",
    ),
    # Two public lesson pages (claps 1, 3, 8; wave 6).
    "jhaptal": ("2 3 2 3", "1 3 8", "6", "Dhi Na | Dhi Dhi Na | Ti Na | Dhi Dhi Na"),
    # M. Clayton, Music Theory Online 26.1 (2020); D. Courtney's tala pages: sam is khali.
    "rupak": ("3 2 2", "4 6", "1", "Tin Tin Na | Dhi Na | Dhi Na"),
    # D. Courtney's tala pages (X 0 2 0 3 4); a public table of talas.
    "ektal": (
        "2 2 2 2 2 2",
        "1 5 9 11",
        "3 7",
        "Dhin Dhin | DhaGe TiRaKiTa | Tu Na | Kat Ta | DhaGe TiRaKiTa | Dhin Na",
    ),
    # A public lesson page on the Bengali form.
    "ektal-bengali": (
        "3 3 3 3",
        "1 4 10",
        "7",
        "Dhin Dhin Na | TeTe Dhin Na | Kat Te DhaGe | TeTe Dhin TeTe",
    ),
    # A public table of talas; a lesson page.
    "dadra": ("3 3", "1", "4", "Dha Dhi Na | Dha Ti Na"),
    "keherwa": ("4 4", "1", "5", "Dha Ge Na Ti | Na Ka Dhi Na"),
    # A public table of talas; D. Courtney's tala pages.
    "dhamar": ("5 2 3 4", "1 6 11", "8", "Ka Dhi Ta Dhi Ta | Dha - | Ga Di Na | Di Na Ta -"),
    # A public table of talas; lesson pages.
    "dipchandi": (
        "3 4 3 4",
        "1 4 11",
        "8",
        "Dha Dhin - | Dha Dha Tin - | Ta Tin - | Dha Dha Dhin -",
    ),
    # A public lesson page; the frame is common practice.
    "jhumra": (
        "3 4 3 4",
        "1 4 11",
        "8",
        "Dhin -Dha TiRaKiTa | Dhin Dhin DhaGe TiRaKiTa | "
        "Tin -Ta TiRaKiTa | Dhin Dhin DhaGe TiRaKiTa",
    ),
    # Two public lesson pages.
    "tilwada": (
        "4 4 4 4",
        "1 5 13",
        "9",
        "Dha TiRaKiTa Dhin Dhin | Dha Dha Tin Tin | Ta TiRaKiTa Dhin Dhin | Dha Dha Dhin Dhin",
    ),
    # A Bengali encyclopaedia page after S. Ghosh, Tablar Itibritta (1991).
    "chautal": (
        "2 2 2 2 2 2",
        "1 5 9 11",
        "3 7",
        "Dha Dha | Din Ta | Kit Dha | Din Ta | Tit Kat | Gadi Gan",
    ),
    # Public lesson pages (claps 1, 5, 7; waves 3, 9).
    "sultal": ("2 2 2 2 2", "1 5 7", "3 9", "Dha Dha | Din Ta | Kit Dha | Tit Kat | Gadi Gan"),
    # A public lesson page for the frame; the theka from memory.
    "ada-chautal": (
        "2 2 2 2 2 2 2",
        "1 3 7 11",
        "5 9 13",
        "Dhin TiRaKiTa | Dhin Na | Tu Na | Kat Ta | TiRaKiTa Dhin | Na Dhin | Dhin Na",
    ),
    "tivra": ("3 2 2", "1 4 6", "", "Dha Din Ta | Tit Kat | Gadi Gan"),
    # Onushilon encyclopaedia: three and three and three, + 2 0.
    "matta": ("3 3 3", "1 4", "7", "Dhin TiRaKiTa Dhin | Na Tin Na | DhinDhin NaDhin DhinNa"),
    # Onushilon encyclopaedia: eleven of one, X 2 0 3 4 5 0 6 7 8 0.
    "rudra": (
        "1 1 1 1 1 1 1 1 1 1 1",
        "1 2 4 5 6 8 9 10",
        "3 7 11",
        "Dhi | Na | Dhi | Na | Ti | Ti | Na | Kat | Ta | Dhi | Na",
    ),
    # Onushilon encyclopaedia (I. Roy, Sangeet Shastra vol. 3); lesson pages.
    "pancham-savari": (
        "3 4 4 4",
        "1 4 12",
        "8",
        "Dhin Na DhiDhi | Kat DhiDhi NaDhi DhiNa | "
        "TiKra TinNa TiRaKiTa TuNa | KatTa DhiDhi NaDhi DhiNa",
    ),
    # D. Courtney's tala pages: tintal with one off-beat stroke for the two in the middle.
    "sitarkhani": (
        "4 4 4 4",
        "1 5 13",
        "9",
        "Dha -Dhi -Ge Dha | Dha -Dhi -Ge Dha | Dha -Ti -Ke Ta | Ta -Dhi -Ge Dha",
    ),
    # Onushilon encyclopaedia.
    "jat": (
        "4 4 4 4",
        "1 5 13",
        "9",
        "Dha - Dhin - | Dha Dha Dhin - | Na - Tin - | Dha Dha Dhin -",
    ),
    # From memory.
    "dhumali": ("2 2 2 2", "1 3 7", "5", "Dha Dhin | Dha Tin | TaKa Dhin | DhaGe TiRaKiTa"),
    "pashto": ("3 2 2", "1", "", "Tin - TraKra | Dhin - | Dha Ge"),
}

# Forms that books print beside those above, in the same columns and with the entry each is a form
# of. "" stands for a theka that the source does not give.
VARIANTS = {
    # A public lesson page prints na on beat 9.
    "tintal-na": (
        "tintal",
        "4 4 4 4",
        "1 5 13",
        "9",
        "Dha Dhin Dhin Dha | Dha Dhin Dhin Dha | Na Tin Tin Ta | Ta Dhin Dhin Dha",
    ),
    # A public lesson page: claps 1, 4, 6 and no wave. The theka is rupak's.
    "rupak-claps": ("rupak", "3 2 2", "1 4 6", "", "Tin Tin Na | Dhi Na | Dhi Na"),
    # A public lesson page: the second half Na Ti Na.
    "dadra-na": ("dadra", "3 3", "1", "4", "Dha Dhi Na | Na Ti Na"),
    # A public table of talas and a lesson page: beat 6 is Ka, Ke or Ge by school.
    "keherwa-ge": ("keherwa", "4 4", "1", "5", "Dha Ge Na Ti | Na Ge Dhi Na"),
    # A public lesson page: Dhin in the second section.
    "dipchandi-dhin": (
        "dipchandi",
        "3 4 3 4",
        "1 4 11",
        "8",
        "Dha Dhin - | Dha Dha Dhin - | Ta Tin - | Dha Dha Dhin -",
    ),
    # A public lesson page: 8 beats, 4 and 4, and no more.
    "adha-tintal": ("sitarkhani", "4 4", "1", "", ""),
    # D. Courtney's tala pages: a school's 4, 4, 2, 2 with claps only. The theka is chautal's.
    "chautal-claps": (
        "chautal",
        "4 4 2 2",
        "1 5 9 11",
        "",
        "Dha Dha Din Ta | Kit Dha Din Ta | Tit Kat | Gadi Gan",
    ),
    # D. Courtney's tala pages: a minority's 3, 4, 3, 4. The theka is dhamar's.
    "dhamar-minority": (
        "dhamar",
        "3 4 3 4",
        "1 11",
        "8",
        "Ka Dhi Ta | Dhi Ta Dha - | Ga Di Na | Di Na Ta -",
    ),
    # A. Pradhan's column gives two divisions and no signs.
    "matta-five": ("matta", "2 2 2 1 2", "1", "", ""),
    "matta-halves": ("matta", "2 2 2 3/2 3/2", "1", "", ""),
    # Onushilon encyclopaedia: seven of two and one of one, five claps and three waves, whose
    # places we have not seen.
    "pancham-savari-pairs": ("pancham-savari", "2 2 2 2 2 2 2 1", "1", "", ""),
    # A public lesson page: 4, 4, 4, 3, all claps.
    "pancham-savari-claps": ("pancham-savari", "4 4 4 3", "1 5 9 13", "", ""),
    # Onushilon encyclopaedia: another of the name, of 14 beats.
    "jat-14": (
        "jat",
        "3 4 3 4",
        "1 4 11",
        "8",
        "Dha Dhin - | Dha Ge Tin - | Na Tin - | Dha Ge Dhin -",
    ),
    # In the table above already: a public lesson page on the Bengali form.
    "ektal-bengali": ("ektal", *NORTH["ektal-bengali"]),
}

# What the sources leave unsaid: some sections of these have no sign.
WITHOUT_ALL_SIGNS = {
    "adha-tintal",
    "dhamar-minority",
    "matta-five",
    "matta-halves",
    "pancham-savari-pairs",
    "pashto",
    "simhanandana",
}

# The catalogue says (head of its cycles) that a ringing `ti` of a printed theka stands as `tin`,
# and that pakhawaj syllables of two strokes are written out.
WRITTEN_OUT = {"ti": "tin", "-ti": "-tin", "kit": "kita", "tit": "tita", "gan": "gana"}
PAKHAWAJ = {"chautal", "chautal-claps", "sultal", "tivra"}


def numbers(text: str) -> tuple[F, ...]:
    return tuple(map(F, text.split()))


@pytest.mark.parametrize("name", NORTH)
def test_a_northern_cycle_has_the_printed_sections_claps_and_waves(name: str) -> None:
    sections, claps, waves, _ = NORTH[name]
    made = cycle(name)
    assert made.beats == sum(numbers(sections))
    assert made.sections == numbers(sections)
    assert made.stressed == numbers(claps)
    assert made.open == numbers(waves)


@pytest.mark.parametrize("name", NORTH)
def test_a_northern_cycle_has_the_printed_theka(name: str) -> None:
    table = WRITTEN_OUT | ({"kat": "kata"} if name in PAKHAWAJ else {})
    printed = [table.get(word, word) for word in NORTH[name][3].lower().split()]
    assert cycle(name).strokes.split() == printed


@pytest.mark.parametrize("name", VARIANTS)
def test_a_variant_is_as_its_source_has_it(name: str) -> None:
    _, sections, claps, waves, printed = VARIANTS[name]
    made = cycle(name)
    assert made.sections == numbers(sections)
    assert made.stressed == numbers(claps)
    assert made.open == numbers(waves)
    table = WRITTEN_OUT | ({"kat": "kata"} if name in PAKHAWAJ else {})
    assert made.strokes.split() == [table.get(word, word) for word in printed.lower().split()]


@pytest.mark.parametrize("name", VARIANTS)
def test_a_variant_and_the_form_it_differs_from_name_each_other(name: str) -> None:
    base = VARIANTS[name][0]
    assert f"see {name})" in " ".join(cycle(base).note.split())
    assert f"(see {base})" in " ".join(cycle(name).note.split())
    differs = ("sections", "stressed", "open", "strokes")
    assert any(getattr(cycle(name), key) != getattr(cycle(base), key) for key in differs)


@pytest.mark.parametrize("name", sorted(WITHOUT_ALL_SIGNS))
def test_a_form_whose_signs_are_not_all_printed_says_so(name: str) -> None:
    note = " ".join(cycle(name).note.split())
    assert "only sam is marked here" in note or "left without one" in note


def test_the_entries_that_a_note_sends_to_are_there() -> None:
    for name in CYCLE_NAMES:
        for other in re.findall(r"\(see ([a-z0-9-]+)\)", " ".join(cycle(name).note.split())):
            assert other in CYCLE_NAMES


@pytest.mark.parametrize(
    ("name", "signs"),
    [
        ("tintal", "× 2 0 3"),  # a public lesson page: X 2 0 3
        ("ektal", "× 0 2 0 3 4"),  # D. Courtney's tala pages
        ("sultal", "× 0 2 3 0"),  # a public lesson page
        ("ada-chautal", "× 2 0 3 0 4 0"),  # a public lesson page
        ("rudra", "× 2 0 3 4 5 0 6 7 8 0"),  # Onushilon encyclopaedia
        ("matta", "× 2 0"),  # Onushilon encyclopaedia: + 2 0
    ],
)
def test_the_signs_are_those_printed(name: str, signs: str) -> None:
    made = cycle(name)
    assert [made.signs[start] for start in made.starts] == signs.split()


# South India: limbs (angas) as a Carnatic tala chart (C. Shotham) and the public pages after
# Sambamoorthy give them: I a laghu of so many beats by its kind (jati), O 2 beats, U 1.
JATI = {"tisra": 3, "chaturasra": 4, "khanda": 5, "misra": 7, "sankirna": 9}
ANGAS = {
    "dhruva": "I O I I",
    "matya": "I O I",
    "rupaka": "O I",
    "jhampa": "I U O",
    "triputa": "I O O",
    "ata": "I I O O",
    "eka": "I",
}
# The chart's totals, tisra to sankirna. The tisra column stands alike in the decitala data
# (Theorie_Karnatique): 11, 8, 5, 6, 7, 10, 3.
TOTALS = {
    "dhruva": (11, 14, 17, 23, 29),
    "matya": (8, 10, 12, 16, 20),
    "rupaka": (5, 6, 7, 9, 11),
    "jhampa": (6, 7, 8, 10, 12),
    "triputa": (7, 8, 9, 11, 13),
    "ata": (10, 12, 14, 18, 22),
    "eka": (3, 4, 5, 7, 9),
}
SOUTH = [
    ("adi", "chaturasra", "triputa"),
    ("tisra-triputa", "tisra", "triputa"),
    ("chaturasra-rupaka", "chaturasra", "rupaka"),
    ("chaturasra-dhruva", "chaturasra", "dhruva"),
    ("chaturasra-matya", "chaturasra", "matya"),
    ("misra-jhampa", "misra", "jhampa"),
    ("khanda-ata", "khanda", "ata"),
    ("chaturasra-eka", "chaturasra", "eka"),
]


@pytest.mark.parametrize(("name", "jati", "tala"), SOUTH)
def test_a_southern_cycle_is_made_of_its_limbs(name: str, jati: str, tala: str) -> None:
    sizes = {"I": JATI[jati], "O": 2, "U": 1}
    made = cycle(name)
    assert made.sections == tuple(F(sizes[limb]) for limb in ANGAS[tala].split())
    assert made.beats == TOTALS[tala][list(JATI).index(jati)]
    # Each limb begins with a clap (common practice); waves within a limb are not marked.
    assert made.stressed == tuple(start + 1 for start in made.starts)
    assert made.open == ()
    assert " ".join(made.limbs) == ANGAS[tala]


@pytest.mark.parametrize(
    ("name", "halves", "sections"),
    [
        ("tisra-chapu", (1, 2), "1 2"),  # from memory
        # Public pages on the chapu talas: 2 + 3, 3 + 4, 4 + 5; by hand 2:1:2 and 3:2:2.
        ("khanda-chapu", (2, 3), "2 1 2"),
        ("misra-chapu", (3, 4), "3 2 2"),
        ("sankirna-chapu", (4, 5), "4 5"),
    ],
)
def test_a_chapu_is_a_short_and_a_long_half(
    name: str, halves: tuple[int, int], sections: str
) -> None:
    made = cycle(name)
    assert made.beats == sum(halves)
    assert made.sections == numbers(sections)
    assert halves[0] in made.starts  # the long half begins with a section of its own


# Southern cycles that are neither a suladi tala nor a chapu: sections; claps; waves.
OTHER_SOUTH = {
    # Common practice: each beat of adi twice, so 8 of the laghu and 4 of each drutam.
    "adi-two-kalais": ("8 4 4", "1 9 13", ""),
    # ajsriram.blogspot.com/2004/01: kept as adi.
    "desadi": ("4 2 2", "1 5 7", ""),
    # The same page, four movements of two aksharas; rasikas.org (p=169390), a wave, three claps.
    "desadi-pairs": ("2 2 2 2", "3 5 7", "1"),
    # From memory: two claps and a wave.
    "rupaka-three": ("1 1 1", "1 2", "3"),
    "simhanandana": (
        "8 8 4 12 4 8 2 2 8 8 4 12 4 12 8 4 4 16",
        "1 9 17 21 33 37 45 47 49 57 65 69 81 85 97 105 109",
        "",
    ),
}
SOUTHERN = {
    *(name for name, _, _ in SOUTH),
    *(f"{chapu}-chapu" for chapu in ("tisra", "misra", "khanda", "sankirna")),
    *OTHER_SOUTH,
}


@pytest.mark.parametrize("name", OTHER_SOUTH)
def test_another_southern_cycle_is_as_its_source_has_it(name: str) -> None:
    sections, claps, waves = OTHER_SOUTH[name]
    made = cycle(name)
    assert made.sections == numbers(sections)
    assert made.stressed == numbers(claps)
    assert made.open == numbers(waves)


def test_simhanandana_is_its_eighteen_limbs() -> None:
    # The order as rasikas.org (t=8724), guruguho.blogspot.com (2021/08) and two more print it; the
    # length of each limb after Sambamoorthy (a public page); 128 beats is 32 laghus of four, as the
    # decitala data have it.
    limbs = [
        "guru",
        "guru",
        "laghu",
        "plutam",
        "laghu",
        "guru",
        "drutam",
        "drutam",
        "guru",
        "guru",
        "laghu",
        "plutam",
        "laghu",
        "plutam",
        "guru",
        "laghu",
        "laghu",
        "kakapadam",
    ]
    beats = {"drutam": 2, "laghu": 4, "guru": 8, "plutam": 12, "kakapadam": 16}
    made = cycle("simhanandana")
    assert len(limbs) == 18
    assert made.sections == tuple(F(beats[limb]) for limb in limbs)
    assert made.beats == 128 == 32 * 4
    # Every limb but the kakapadam, which is silent gestures (from memory), begins with a clap.
    assert made.stressed == tuple(start + 1 for start in made.starts[:-1])


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        # Usual spellings.
        ("teentaal", "tintal"), ("Teen Taal", "tintal"), ("keharwa", "keherwa"),
        ("Kaherwa", "keherwa"), ("adi talam", "adi"), ("Adi Tala", "adi"), ("Aadi", "adi"),
        ("Ek Taal", "ektal"), ("jhap taal", "jhaptal"), ("Roopak Taal", "rupak"),
        ("Rupakam", "chaturasra-rupaka"), ("Chowtal", "chautal"), ("sool taal", "sultal"),
        ("Teevra", "tivra"), ("Mishra Chaapu", "misra-chapu"), ("Khanda Chaapu", "khanda-chapu"),
        ("Simhanandanam", "simhanandana"), ("Adi 2 kalai", "adi-two-kalais"),
        ("Deshadi", "desadi"), ("rupaka in three", "rupaka-three"), ("Jat Taal", "jat"),
        ("Pashtu", "pashto"), ("Dhumaali", "dhumali"), ("Chachar", "jat-14"),
    ],
)  # fmt: skip
def test_a_usual_spelling_finds_its_cycle(asked: str, name: str) -> None:
    assert cycle(asked) == cycle(name)


def test_no_spelling_names_two_cycles() -> None:
    seen: dict[str, str] = {}
    for name in CYCLE_NAMES:
        for spelling in (name, *cycle(name).aka):
            assert seen.setdefault(fold(spelling), name) == name, spelling


# What holds for every cycle of the catalogue


def test_every_cycle_of_the_file_is_found_by_its_name() -> None:
    # Outside: PyYAML's own loader reads the same names in the same order.
    text = (Path(cyclechart.catalog.__file__).parent / "cycles.yaml").read_text("utf-8")
    assert list(yaml.safe_load(text)) == CYCLE_NAMES
    assert set(CYCLE_NAMES) == {
        *NORTH,
        *VARIANTS,
        "tisra-chapu",
        *(name for name, _, _ in SOUTH),
        "khanda-chapu",
        "misra-chapu",
        "sankirna-chapu",
        *OTHER_SOUTH,
    }


@pytest.mark.parametrize("name", CYCLE_NAMES)
def test_sections_add_up_and_signs_stand_on_them(name: str) -> None:
    made = cycle(name)
    assert sum(made.sections) == made.beats
    starts = {F(1), *(1 + total for total in accumulate(made.sections[:-1]))}
    signed = {*made.stressed, *made.open}
    assert signed <= starts
    # Every section start has a clap or a wave, where the sources say which.
    assert (signed == starts) == (name not in WITHOUT_ALL_SIGNS)
    assert not set(made.stressed) & set(made.open)  # and only one of them
    assert set(made.signs) == {beat - 1 for beat in signed}


def test_rupak_alone_has_an_open_first_beat() -> None:
    # M. Clayton, Music Theory Online 26.1 (2020). In the South a wave is the hand's alone: one
    # writer begins the count of desadi with it (rasikas.org, p=169390).
    opened = [name for name in CYCLE_NAMES if F(1) in cycle(name).open]
    assert opened == ["rupak", "desadi-pairs"]
    assert [name for name in opened if not cycle(name).southern] == ["rupak"]


@pytest.mark.parametrize("name", CYCLE_NAMES)
def test_every_cycle_says_where_it_is_from(name: str) -> None:
    made = cycle(name)
    assert made.source
    assert made.name[0].isupper()


def timed_strokes(text: str) -> Timed:
    passage = PlacedText(Source.of("theka", text), text, 0)
    items, findings = read_line(passage, strokes().script())
    assert findings == []  # a cell that cut two ways would be one
    timed, findings = time_line(items, passage)
    assert findings == []
    return timed


WITH_THEKA = [name for name in CYCLE_NAMES if cycle(name).strokes]


def test_the_cycles_without_a_theka_are_southern_or_are_given_none() -> None:
    given_none = {name for name, row in VARIANTS.items() if not row[4]}
    assert set(CYCLE_NAMES) - set(WITH_THEKA) == given_none | SOUTHERN


def test_the_cycles_of_the_south_have_no_theka_and_those_of_the_north_no_sarvalaghu() -> None:
    assert set(CYCLE_NAMES[CYCLE_NAMES.index("adi") :]) == SOUTHERN
    assert {name for name in CYCLE_NAMES if cycle(name).southern} == SOUTHERN
    for name in SOUTHERN:
        assert cycle(name).sarvalaghu or cycle(name).limbs, name
        assert bool(cycle(name).sarvalaghu) == bool(cycle(name).sarvalaghu_source), name


WITH_SARVALAGHU = [name for name in CYCLE_NAMES if cycle(name).sarvalaghu]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        *((name, cycle(name).sarvalaghu) for name in WITH_SARVALAGHU),
        *((name, cycle(name).spoken) for name in CYCLE_NAMES if cycle(name).spoken),
    ],
)
def test_a_sarvalaghu_and_a_spoken_count_fill_their_cycle_as_a_theka_does(
    name: str, text: str
) -> None:
    timed = timed_strokes(text)
    assert timed.length == cycle(name).beats
    assert [line.offset for line in timed.section_lines] == list(cycle(name).starts[1:])
    assert timed.strikes[0].start == 0
    assert all(strike.value in strokes().syllables for strike in timed.strikes)


@pytest.mark.parametrize("name", WITH_SARVALAGHU)
def test_a_sarvalaghu_is_made_of_strokes_of_the_mridangam(name: str) -> None:
    for strike in timed_strokes(cycle(name).sarvalaghu).strikes:
        group = strokes().group(str(strike.value))
        assert group is not None
        assert "mridangam" in group.drums


@pytest.mark.parametrize("name", WITH_THEKA)
def test_a_theka_fills_its_cycle_and_is_barred_at_its_sections(name: str) -> None:
    made = cycle(name)
    timed = timed_strokes(made.strokes)
    assert timed.length == made.beats
    assert [line.offset for line in timed.section_lines] == list(made.starts[1:])
    assert timed.strikes[0].start == 0
    assert all(strike.value in strokes().syllables for strike in timed.strikes)
