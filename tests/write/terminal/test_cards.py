"""The cards that ``show`` prints."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from cyclechart.arrange.roles.theka_rows import beat_counts, beat_strokes
from cyclechart.catalog.library import Library
from cyclechart.catalog.strokes import strokes
from cyclechart.catalog.suladi import NAMES as SULADI
from cyclechart.finding import Spot
from cyclechart.theory.cycle import KINDS, Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import Tonic
from cyclechart.write.terminal.card_text import WIDTH
from cyclechart.write.terminal.cards import look_up, mode_card, stroke_card
from cyclechart.write.terminal.cycle_card import cycle_card

LIBRARY = Library.beside(None)


def test_every_entry_of_the_catalogue_has_a_card_that_defers_to_the_teacher() -> None:
    for shelf in LIBRARY.modes:
        for name in shelf.names():
            mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
            assert mode is not None
            assert "teacher" in list(mode_card(mode, Tonic("F", 1)))[-1]
    for cycles in LIBRARY.cycles:
        for name in cycles.names():
            cycle, _ = LIBRARY.cycle(name, Spot("", 1, 1))
            assert cycle is not None
            assert "teacher" in list(cycle_card(cycle))[-1]


def test_a_cycle_is_drawn_in_columns_with_its_signs() -> None:
    cycle, _ = LIBRARY.cycle("jhaptal", Spot("", 1, 1))
    assert cycle is not None
    beat, sign, stroke = list(cycle_card(cycle))[1:4]
    assert sign.index("×") == beat.index("1")
    assert sign.index("0") == beat.index("6")
    assert stroke[beat.index("6") :].startswith("tin")


def test_a_half_beat_has_a_column() -> None:
    cycle = Cycle(
        name="Odd",
        beats=Fraction(5, 2),
        sections=(Fraction(2), Fraction(1, 2)),
        stressed=(Fraction(1),),
    )
    beat = list(cycle_card(cycle))[1]
    assert beat.split() == ["beat", "1", "2", "|", "3"]


def card(name: str) -> list[str]:
    cycle, _ = LIBRARY.cycle(name, Spot("", 1, 1))
    assert cycle is not None
    return list(cycle_card(cycle))


def rows(lines: list[str], label: str) -> list[str]:
    """Return the contents of the rows of a label, one after another, without the bars."""
    found = [line for line in lines if line.startswith(f"  {label:<8}")]
    return [cell for line in found for cell in line[10:].split() if cell != "|"]


WIDE = [
    *(name for shelf in LIBRARY.cycles for name in shelf.names()),
    *SULADI,
    *(f"{kind}-gati-{name}" for kind in KINDS for name in SULADI),
]


@pytest.mark.parametrize("name", WIDE)
def test_no_card_runs_past_its_width_and_every_beat_is_on_it(name: str) -> None:
    lines = card(name)
    assert max(map(len, lines)) <= WIDTH
    cycle, _ = LIBRARY.cycle(name, Spot("", 1, 1))
    assert cycle is not None
    assert rows(lines, "beat") == [
        str(beat) for beat in " ".join(show_exact(at + 1) for _, at, _ in cycle.walk()).split()
    ]
    assert rows(lines, "strokes") == [text for _, text in beat_strokes(cycle)]
    if rows(lines, "spoken"):
        assert rows(lines, "spoken") == [text for _, text in beat_counts(cycle)]


def test_a_southern_card_has_both_the_drummers_strokes_and_the_spoken_count() -> None:
    lines = card("adi")
    assert rows(lines, "strokes")[:2] == ["nadhin", "dhinna"]
    assert rows(lines, "spoken") == ["ta", "ka", "di", "mi", "ta", "ka", "jo", "nu"]
    assert "mridangams.com" in " ".join(lines)
    assert not rows(card("tintal"), "spoken")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("4/4", "of 16 beats: tintal"),
        ("7/8", "of 7 beats: rupak"),
        ("3+2+2/8", "sections: [3, 2, 2]"),
    ],
)
def test_a_time_signature_is_answered_with_cycles(name: str, said: str) -> None:
    (text,) = look_up(name, Tonic("C"), Path("/nowhere")).texts
    assert "is a time signature, not a cycle" in " ".join(text.split())
    assert said in text


def test_many_sections_break_into_rows_between_them() -> None:
    sections = (Fraction(3),) * 20 + (Fraction(1),)
    cycle = Cycle(name="Long", beats=Fraction(61), sections=sections, stressed=(Fraction(1),))
    lines = list(cycle_card(cycle))
    assert max(map(len, lines)) <= WIDTH
    beats = [line for line in lines if line.startswith("  beat")]
    assert len(beats) > 2
    assert all(line.endswith("|") for line in beats[:-1])
    first = [line[10:].split()[0] for line in beats]
    assert all((int(beat) - 1) % 3 == 0 for beat in first)
    assert sum(line.count("|") for line in beats) == 20


def test_a_section_too_long_for_a_row_breaks_about_evenly() -> None:
    lines = card("sankirna-gati-sankirna-jati-eka")
    beats = [line[10:].split() for line in lines if line.startswith("  beat")]
    assert [len(row) for row in beats] == [5, 4]


def test_the_hand_stands_under_the_beats_of_a_southern_tala() -> None:
    # A laghu of five is a clap and four fingers, a drutam a clap and a wave: a Carnatic tala
    # chart (C. Shotham).
    lines = card("khanda-jati-dhruva")
    laghu = ["clap", "1", "2", "3", "4"]
    assert rows(lines, "hand") == [*laghu, "clap", "wave", *laghu, *laghu]
    assert any("finger counts from the little finger" in line for line in lines)
    assert rows(card("tintal"), "hand") == []


@pytest.mark.parametrize(
    ("name", "pulses"),
    # A Carnatic tala chart (C. Shotham): Adi in its five gatis.
    [
        ("tisra-gati-adi", 24),
        ("chaturasra-gati-adi", 32),
        ("khanda-gati-adi", 40),
        ("misra-gati-adi", 56),
        ("sankirna-gati-adi", 72),
    ],
)
def test_a_gati_is_said_with_its_pulses(name: str, pulses: int) -> None:
    each = pulses // 8
    assert f"  gati {each}: {each} pulses to the beat, {pulses} to the cycle;" in "\n".join(
        card(name)
    )
    assert "gati" not in "\n".join(card("adi")[:4])


def test_it_is_said_whether_strokes_are_the_cycles_own() -> None:
    assert "made from the sections" in "\n".join(card("khanda-jati-eka"))
    assert "made from the gati, ta ka ta ki ta" in "\n".join(card("khanda-gati-adi"))
    assert "The theka stays as it is" in "\n".join(card("khanda-gati-tintal"))
    assert "The strokes are a sarvalaghu" in "\n".join(card("adi"))
    assert "sarvalaghu made from the sections" in "\n".join(card("khanda-jati-eka"))
    assert "made from" not in "\n".join(card("tintal"))


def test_a_beat_of_uneven_strokes_shows_what_is_held() -> None:
    cycle = Cycle(
        name="Odd",
        beats=Fraction(3),
        sections=(Fraction(3),),
        stressed=(Fraction(1),),
        strokes="dha--na -dha tin",
    )
    assert [text for _, text in beat_strokes(cycle)] == ["dha--na", "-dha", "tin"]


def test_a_beat_cut_too_finely_to_write_out_shows_its_strokes_alone() -> None:
    strokes_text = f"[{'dha ' * 41}]x41/40"
    cycle = Cycle(
        name="Fine",
        beats=Fraction(40),
        sections=(Fraction(40),),
        stressed=(Fraction(1),),
        strokes=strokes_text,
    )
    assert beat_strokes(cycle)[0][1] == "dhadha"


# Drum syllables


def shown(name: str) -> list[str]:
    (text,) = look_up(name, Tonic("C"), Path("/nowhere")).texts
    return text.splitlines()


def test_a_stroke_of_both_hands_has_a_row_for_each() -> None:
    # Common practice: dha is na with ge. Keys: the General MIDI percussion map.
    lines = shown("dha")
    assert lines[0] == "dha: one stroke"
    table = [line.split() for line in lines[3:5]]
    assert table[0][:4] == ["dha", "treble", "open", "na:"]
    assert table[0][-3:] == ["60", "high", "bongo"]
    assert table[1][:3] == ["bass", "open", "ge:"]
    text = "\n".join(lines)
    assert "tabla, pakhawaj, dholak" in text
    assert "Schools" in lines[-1]


def test_a_run_is_cut_and_each_of_its_strokes_shown_once() -> None:
    lines = shown("tirakita")
    assert lines[0] == "tirakita: 4 strokes in one cell, ti ra ki ta, each 1/4 of the beat"
    assert [line.split()[0] for line in lines[3:7]] == ["ti", "ra", "ki", "ta"]
    assert [line.split()[1] for line in lines[3:7]] == ["treble", "treble", "bass", "treble"]
    assert [line.split()[0] for line in shown("dhatete")[3:5]] == ["dha", "bass"]


def test_a_run_of_two_cuts_has_both_and_how_to_part_them() -> None:
    lines = shown("katra")
    assert lines[0] == "katra: 2 ways to split it: ka tra or kat ra"
    assert "ka.tra or kat.ra" in lines[1]
    for parted, cut in (("kat.ra", "kat ra"), ("ka.tra", "ka tra")):
        assert shown(parted)[0] == f"{parted}: 2 strokes in one cell, {cut}, each 1/2 of the beat"


@pytest.mark.parametrize(
    "name", ["", ".", "dha.", ".dha", "dha..na", "foo", "ह", "dha" * 21, "d h"]
)
def test_what_is_no_run_of_syllables_has_no_card(name: str) -> None:
    assert list(stroke_card(name)) == []


def test_capitals_and_spaces_are_the_same_strokes() -> None:
    assert shown("  tirakita ")[1:] == shown("tirakita")[1:]
    assert shown("DhaGe")[1:] == shown("dhage")[1:]


def test_each_cell_is_said_on_its_own_and_the_strokes_stand_in_one_table() -> None:
    lines = shown("dha tirakita dha")
    assert lines[:3] == [
        "dha: one stroke",
        "tirakita: 4 strokes in one cell, ti ra ki ta, each 1/4 of the beat",
        "",
    ]
    assert [line.split()[0] for line in lines[4:10]] == ["dha", "bass", "ti", "ra", "ki", "ta"]
    assert list(stroke_card("dha foo")) == []


@pytest.mark.parametrize(
    ("name", "rings"),
    # Common practice, from memory: see the catalogue's ``after``.
    [
        ("ta", ["open"]),
        ("ki ta", ["open"]),
        ("tirakita", ["closed"]),
        ("ki.ta", ["closed"]),
        ("tira kita", ["closed"]),
        ("kitataka", ["closed", "open"]),
        ("takataka", ["open"]),
    ],
)
def test_ta_is_shown_as_it_sounds_in_the_run(name: str, rings: list[str]) -> None:
    lines = shown(name)
    rows = [line.split() for line in lines if line.startswith("  ta      ")]
    assert [row[2] for row in rows] == rings
    assert "ta right after ti, ki or ka in a quick run" in "\n".join(lines)


def test_no_card_of_a_stroke_runs_past_its_width() -> None:
    for syllable in strokes().syllables:
        assert max(map(len, stroke_card(syllable))) <= WIDTH
    assert max(map(len, stroke_card("katra" * 3))) <= WIDTH


def test_a_mode_or_a_cycle_goes_before_a_stroke(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    (shared / "cycles.yaml").write_text("dha: {name: The Dha, beats: 5}\nge: {beats: 0}\n")
    (text,) = look_up("dha", Tonic("C"), tmp_path).texts
    assert text.startswith("The Dha: 5 beats")
    broken = look_up("ge", Tonic("C"), tmp_path)
    assert broken.texts == []  # what is wrong with it is told, and no stroke put in its place
    assert [found.rule for found in broken.findings] == ["cycle-unsound"]


# Names that are near to something


@pytest.mark.parametrize("name", ["jaya", "rudra-16", "misra-gati-jaya"])
def test_a_cycle_without_a_printed_form_has_a_card_that_says_how_to_write_it(name: str) -> None:
    text = "\n".join(shown(name))
    assert "write it: cycle: {name: " in text
    assert "teacher" in text


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("khanda-gati-adhi", "khanda-gati-adi"),
        ("five-gati-adi", "khanda-gati-adi"),
        ("khanda-jati-druva", "khanda-jati-dhruva"),
        ("dhaa", "dha"),
    ],
)
def test_what_is_near_to_a_name_is_known(name: str, near: str) -> None:
    found = look_up(name, Tonic("C"), Path("/nowhere"))
    assert (found.texts, found.findings) == ([], [])
    assert near in found.known


def test_a_tone_of_one_direction_says_so() -> None:
    mode, _ = LIBRARY.mode("bhimpalasi", Spot("", 1, 1))
    assert mode is not None
    lines = list(mode_card(mode, Tonic("C")))
    assert any(line.lstrip().startswith("R") and "down only" in line for line in lines)


def test_a_stroke_after_a_half_beat_inside_the_cycle_stands_in_one_column() -> None:
    sections = (Fraction(3), Fraction(5, 2), Fraction(2))
    strokes = "dha dhin na | dha dhin dhin/2 | tin na"
    cycle = Cycle(
        name="Odd",
        beats=Fraction(15, 2),
        sections=sections,
        stressed=(Fraction(1),),
        strokes=strokes,
    )
    assert beat_strokes(cycle) == [
        (Fraction(0), "dha"),
        (Fraction(1), "dhin"),
        (Fraction(2), "na"),
        (Fraction(3), "dha"),
        (Fraction(4), "dhin"),
        (Fraction(5), "dhin"),
        (Fraction(11, 2), "tin"),
        (Fraction(13, 2), "na"),
    ]


def test_a_broken_definition_is_found_and_its_mistakes_are_told(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    (shared / "modes.yaml").write_text("river:\n  ascent: S R G Q P\n  descent: P G R S\n")
    found = look_up("river", Tonic("C"), tmp_path)
    assert found.texts == []
    assert "river" in found.known
    assert [finding.spot.line for finding in found.findings] == [2]
    assert found.findings[0].spot.file in found.sources


def test_a_name_that_is_nothing_has_no_findings_and_no_card(tmp_path: Path) -> None:
    found = look_up("charukesh", Tonic("C"), tmp_path)
    assert (found.texts, found.findings) == ([], [])
    assert "charukeshi" in found.known
