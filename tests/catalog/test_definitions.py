"""A mode or a cycle written out: what is sound, and each way of being unsound, good beside bad."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.catalog.cycle_checks import MAX_BEATS
from cyclechart.catalog.definitions import cycle_from, mode_from
from cyclechart.finding import Finding
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import decode
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE, show_path


def written(text: str) -> Mapping:
    source, findings = decode("piece.yaml", text.encode())
    assert source is not None
    root, more = read(source)
    assert findings + more == []
    assert isinstance(root, Mapping)
    return root


def mode(text: str) -> tuple[Mode | None, list[Finding]]:
    return mode_from(written(text))


def cycle(text: str) -> tuple[Cycle | None, list[Finding]]:
    return cycle_from(written(text))


UP, DOWN = "ascent: S R G m P d n S'\n", "descent: S' n d P m G R S\n"
SOUND = UP + DOWN


# Modes


def test_a_mode_written_out_is_what_it_says() -> None:
    # The example of piece-language.md, 'Mode and cycle, written out'.
    made, findings = mode(
        "name: River Mode\n"
        + SOUND
        + "vadi: P\nsamvadi: S\nrests: [R, P]\nphrases: [G m P d, n d P m G R]\n"
        + "hour: morning\naka: [Mixolydian b6]\nsource: the composer\n"
    )
    assert findings == []
    assert made is not None
    assert made.name == "River Mode"
    assert show_path(made.ascent) == "S R G m P d n S'"
    assert show_path(made.descent) == "S' n d P m G R S"
    assert (made.vadi, made.samvadi) == (SEMITONE["P"], SEMITONE["S"])
    assert made.rests == (SEMITONE["R"], SEMITONE["P"])
    assert [show_path(phrase) for phrase in made.phrases] == ["G m P d", "n d P m G R"]
    assert (made.hour, made.aka, made.source) == ("morning", ("Mixolydian b6",), "the composer")


@pytest.mark.parametrize(
    "text",
    [
        SOUND,
        # Paths may start on any tone (piece-language.md) and may turn on the way.
        "ascent: N, r G M D N D S'\ndescent: S' N D M G r S\n",
        "ascent: S G m P n D n S'\ndescent: S' n D P m G R S N, S\n",
        "ascent: S R G P D S' R'\ndescent: R' S' D P G R S D,\n",
        # A pause may stand between tones, and tones may be run together.
        "ascent: SRGm PdnS'\ndescent: S'ndPmGRS\n",
        # Fourth and fifth between vadi and samvadi, up and down.
        SOUND + "vadi: P\nsamvadi: S\n",
        SOUND + "vadi: S\nsamvadi: P\n",
        SOUND + "vadi: m\nsamvadi: S\n",
        # Five tones are enough.
        "ascent: S R G P D S'\ndescent: S' D P G R S\n",
        # Five in both paths together.
        "ascent: S g P n S'\ndescent: S' n P m g S\n",
        SOUND + 'phrases: ["G m P", "n, S R"]\n',
        SOUND + "jati: 7-7\n",
        SOUND + "jati: 6-7 or 7-7\n",
        # Both fourths and both of N are one by name.
        "ascent: S R G m M P D n N S'\n" + DOWN + "jati: 7-7\n",
    ],
)
def test_sound_modes(text: str) -> None:
    made, findings = mode(text)
    assert made is not None
    assert findings == []


UNSOUND_MODES = [
    # (text, the key at fault, what is said)
    ("ascent: S R G m P d n\n" + DOWN, "ascent", "does not rise to S' or above"),
    ("ascent: S' n d P m G R S\n" + DOWN, "ascent", "does not rise"),
    ("ascent: S''' R' G' m' P' S'\n" + DOWN, "ascent", "does not rise"),
    (UP + "descent: S' n d P m G R\n", "descent", "does not fall to S or below"),
    (UP + "descent: S R G m P d n S'\n", "descent", "does not fall"),
    ("ascent: S R G P S'\ndescent: S' P G R S\n", "ascent", "at least 5"),
    (SOUND + "vadi: M\n", "vadi", "in neither ascent, descent nor any phrase"),
    (SOUND + "vadi: P\nsamvadi: D\n", "samvadi", "in neither"),
]


@pytest.mark.parametrize(("text", "key", "said"), UNSOUND_MODES)
def test_a_mode_that_cannot_be(text: str, key: str, said: str) -> None:
    node = written(text)
    made, findings = mode_from(node)
    assert made is None
    errors = [found for found in findings if found.severity == "error"]
    assert [found.rule for found in errors] == ["mode-unsound"]
    assert said in errors[0].message
    value = node.get(key)
    assert value is not None
    assert errors[0].spot == value.spot


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # Shree's r and P (D. Courtney's raga index: disputed for this reason): books print it.
        (
            "ascent: S r M P N S'\ndescent: S' N d P M G r S\nvadi: r\nsamvadi: P\n",
            "not a fourth or",
        ),
        (SOUND + "vadi: P\nsamvadi: P\n", "not a fourth or fifth"),
        (SOUND + "phrases: [G M P]\n", "phrases use M"),
        # How-it-judges: a printed jati that differs from the count is a warning only.
        (SOUND + "jati: 5-7\n", "given as 5-7, but the paths have 7-7"),
        (SOUND + "jati: 5-7 or 6-7\n", "given as 5-7 or 6-7, but"),
    ],
)
def test_what_is_only_strange_is_a_warning(text: str, said: str) -> None:
    made, findings = mode(text)
    assert made is not None
    assert [(found.rule, found.severity) for found in findings] == [("mode-unsound", "warning")]
    assert said in findings[0].message


def test_a_phrase_that_yaml_cut_at_an_octave_comma_is_a_warning() -> None:
    made, findings = mode(SOUND + "phrases: [n, S R G, m P]\n")
    assert made is not None
    assert [(found.rule, found.severity) for found in findings] == [("one-tone-phrase", "warning")]
    assert (findings[0].spot.line, findings[0].spot.column) == (3, 11)


@pytest.mark.parametrize(
    ("text", "rule", "line", "column"),
    [
        ("ascent: S R X S'\n" + DOWN, "bad-cell", 1, 13),
        ("ascent: [S, R]\n" + DOWN, "wrong-value", 1, 9),
        (DOWN, "missing-key", 1, 1),
        (SOUND + "vadi: P'\n", "wrong-value", 3, 7),
        (SOUND + "vadi: Pa\n", "wrong-value", 3, 7),
        (SOUND + "jati: seven\n", "wrong-value", 3, 7),
        (SOUND + "jati: 7\n", "wrong-value", 3, 7),
        (SOUND + "jati: 8-7\n", "wrong-value", 3, 7),
        (SOUND + "jati: 7-7 or\n", "wrong-value", 3, 7),
        (SOUND + "vadi: [P]\n", "wrong-value", 3, 7),
        (SOUND + "rests: P\n", "wrong-value", 3, 8),
        (SOUND + "rests: [P, X]\n", "bad-cell", 3, 12),
        (SOUND + "phrases: [[S, R]]\n", "wrong-value", 3, 11),
        (SOUND + "vadee: P\n", "unknown-key", 3, 1),
        ("ascent: " + "S R G m P " * 20 + "S'\n" + DOWN, "too-long", 1, 9),
    ],
)
def test_what_is_written_wrongly_is_found_in_its_place(
    text: str, rule: str, line: int, column: int
) -> None:
    _, findings = mode(text)
    assert [(f.rule, f.spot.line, f.spot.column) for f in findings] == [(rule, line, column)]


def test_every_mistake_of_a_mode_is_found_in_one_run() -> None:
    _, findings = mode("ascent: S X S'\ndescent: S' Y S\nvadi: Z\nrest: [P]\n")
    assert sorted((found.rule, found.spot.line) for found in findings) == [
        ("bad-cell", 1),
        ("bad-cell", 2),
        ("unknown-key", 4),
        ("wrong-value", 3),
    ]


# Cycles


def test_a_cycle_written_out_is_what_it_says() -> None:
    # The example of piece-language.md, 'Mode and cycle, written out'.
    made, findings = cycle(
        "name: Eleven and a Half\nbeats: 11 1/2\nsections: [4, 4, 3 1/2]\nstressed: [1, 9]\n"
        "open: [5]\nstrokes: dha dhin dhin dha | dha tin tin ta | ta dhin dhage dha/2\n"
    )
    assert findings == []
    assert made is not None
    assert made.beats == F(23, 2)
    assert made.sections == (F(4), F(4), F(7, 2))
    assert made.stressed == (F(1), F(9))
    assert made.open == (F(5),)


def test_a_cycle_of_beats_alone_is_one_section_with_a_stressed_sam() -> None:
    made, findings = cycle("beats: 10\n")
    assert findings == []
    assert made is not None
    assert made.sections == (F(10),)
    assert made.stressed == (F(1),)
    assert made.open == ()


@pytest.mark.parametrize(
    "text",
    [
        "beats: 1\n",
        f"beats: {MAX_BEATS}\n",
        "beats: 7\nsections: [3, 2, 2]\nstressed: [4, 6]\nopen: [1]\n",
        "beats: 11.5\nsections: [4, 4, 7/2]\n",
        "beats: 9/8\n",
        "beats: 3 1/4\nsections: [1 1/2, 1 3/4]\nstressed: [1, 2 1/2]\n",
        "beats: 4\nstrokes: dha - dha z\n",
        "beats: 4\nstrokes: '[dha dha dha dha dha dha]x3/2'\n",
    ],
)
def test_sound_cycles(text: str) -> None:
    made, findings = cycle(text)
    assert made is not None
    assert findings == []


UNSOUND_CYCLES = [
    ("beats: 0\n", "beats", "1 to 256 beats"),
    ("beats: -4\n", "beats", "1 to 256 beats"),
    ("beats: 1/2\n", "beats", "1 to 256 beats"),
    ("beats: 257\n", "beats", "1 to 256 beats"),
    ("beats: 1000000\n", "beats", "1 to 256 beats"),
    ("beats: 999999999\nsections: [999999999]\n", "beats", "1 to 256 beats"),
    ("beats: 5 1/3\n", "beats", "halves, quarters or eighths"),
    ("beats: 4 1/16\n", "beats", "halves, quarters or eighths"),
    ("beats: 4\nsections: [1 1/3, 2 2/3]\n", "sections", "halves, quarters or eighths"),
    ("beats: 10\nsections: [4, 4, 4]\n", "sections", "the sections 4 + 4 + 4 add up to 12, not 10"),
    ("beats: 4\nsections: [5, -1]\n", "sections", "a section cannot have"),
    ("beats: 4\nsections: [4, 0]\n", "sections", "a section cannot have"),
    ("beats: 100\nsections: [" + ", ".join(["1"] * 100) + "]\n", "sections", "at most 64"),
    ("beats: 4\nsections: [2, 2]\nstressed: [1, 2]\n", "stressed", "no section begins on beat 2"),
    ("beats: 4\nstressed: [5]\n", "stressed", "no section begins on beat 5"),
    ("beats: 4\nstressed: [0]\n", "stressed", "no section begins on beat 0"),
    ("beats: 4\nsections: [2, 2]\nopen: [4]\n", "open", "no section begins on beat 4"),
    ("beats: 4\nsections: [2, 2]\nstressed: [1, 3]\nopen: [3]\n", "open", "both clapped and waved"),
]


@pytest.mark.parametrize(("text", "key", "said"), UNSOUND_CYCLES)
def test_a_cycle_that_cannot_be(text: str, key: str, said: str) -> None:
    node = written(text)
    made, findings = cycle_from(node)
    assert made is None
    assert {found.rule for found in findings} == {"cycle-unsound"}
    assert said in findings[0].message
    value = node.get(key)
    assert value is not None
    assert findings[0].spot == value.spot


def test_sections_that_do_not_add_up_are_shown_two_ways_out() -> None:
    _, findings = cycle("beats: 10\nsections: [4, 4, 4]\n")
    assert findings[0].tries == ("beats: 12", "sections: [4, 4, 2]")
    for mended in ("beats: 12\nsections: [4, 4, 4]\n", "beats: 10\nsections: [4, 4, 2]\n"):
        assert cycle(mended)[1] == []
    # Where no last section can mend it, one way is left.
    _, findings = cycle("beats: 4\nsections: [4, 4, 4]\n")
    assert findings[0].tries == ("beats: 12",)


@pytest.mark.parametrize(
    ("strokes", "rule", "said"),
    [
        ("dha dha dha", "cycle-unsound", "the strokes last 3 beats, but the cycle 4 beats"),
        ("dha dha dha dha/2 dha", "cycle-unsound", "4 1/2 beats"),
        ("dha | dha dha dha", "cycle-unsound", "a section line stands on beat 2"),
        ("dha dha foo dha", "bad-cell", "not a drum syllable"),
        ("dha dha katra dha", "two-readings", "more than one way"),
        ("dha dha ~ dha", "bad-cell", "missing"),
    ],
)
def test_a_theka_that_does_not_fit_its_cycle(strokes: str, rule: str, said: str) -> None:
    _, findings = cycle(f"beats: 4\nsections: [2, 2]\nstrokes: {strokes}\n")
    assert [found.rule for found in findings] == [rule]
    assert said in findings[0].message


@pytest.mark.parametrize(
    ("text", "rule", "line", "column"),
    [
        ("sections: [4]\n", "missing-key", 1, 1),
        ("beats: many\n", "wrong-value", 1, 8),
        ("beats: 12345678901\n", "wrong-value", 1, 8),
        ("beats: 4\nsections: 4\n", "wrong-value", 2, 11),
        ("beats: 4\nsections: [two, 2]\n", "wrong-value", 2, 12),
        ("beats: 4\nopen: [1/0]\n", "wrong-value", 2, 8),
        ("beats: 4\nclaps: [1]\n", "unknown-key", 2, 1),
    ],
)
def test_a_cycle_written_wrongly_is_found_in_its_place(
    text: str, rule: str, line: int, column: int
) -> None:
    _, findings = cycle(text)
    assert [(f.rule, f.spot.line, f.spot.column) for f in findings] == [(rule, line, column)]


def test_two_bad_numbers_in_one_list_are_two_findings() -> None:
    _, findings = cycle("beats: many\nsections: [a, b, 4]\n")
    assert [(f.rule, f.spot.line, f.spot.column) for f in findings] == [
        ("wrong-value", 1, 8),
        ("wrong-value", 2, 12),
        ("wrong-value", 2, 15),
    ]


@given(
    st.lists(st.fractions(-2, 70, max_denominator=16), max_size=5),
    st.fractions(-2, 300, max_denominator=16),
    st.lists(st.integers(-1, 20), max_size=4),
)
def test_whatever_the_numbers_a_cycle_is_sound_or_says_why_not(
    sections: list[F], beats: F, stressed: list[int]
) -> None:
    made, findings = cycle(
        f"beats: {beats}\nsections: [{', '.join(map(str, sections))}]\nstressed: {stressed}\n"
    )
    assert (made is None) == bool(findings)
    if made is not None:
        assert sum(made.sections) == made.beats == beats
        assert {beat - 1 for beat in made.stressed} <= set(made.starts)


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("ascent: S (R G)*2 m P d n S'\n" + DOWN, 11),
        ("ascent: S R G [m P]x2 d n S'\n" + DOWN, 15),
        (UP + "descent: S' n d P m G R S\nphrases:\n  - (G m)*2 P\n", 5),
    ],
)
def test_a_row_of_tones_has_no_groups_or_repeats(text: str, column: int) -> None:
    made, findings = mode(text)
    assert made is None
    assert [(found.rule, found.spot.column) for found in findings] == [("bad-cell", column)]


def test_a_path_that_cannot_be_is_told_of_beside_what_cannot_be_read() -> None:
    text = "ascent: S' N D P G R S\n" + DOWN + "vadi: x\nphrases: [G Q P]\n"
    made, findings = mode(text)
    assert made is None
    assert sorted(finding.rule for finding in findings) == [
        "bad-cell", "mode-unsound", "wrong-value",
    ]  # fmt: skip


def test_a_modes_own_tuning_is_read_and_judged() -> None:
    made, findings = mode(SOUND + 'tuning: {D: "27/16", n: 996.1}\n')
    assert findings == []
    assert made is not None
    assert made.tuning is not None
    # 27/16 is 905.87 cents (facts of tuning: five-limit twelve over a drone, the other D).
    assert round(made.tuning.cents[9], 2) == 905.87
    assert made.tuning.cents[10] == 996.1
    for wrong in ("tuning: high\n", "tuning: {X: 3}\n", 'tuning: {D: "3/2"}\n', "tuning: [1]\n"):
        made, findings = mode(SOUND + wrong)
        assert made is None
        assert [finding.rule for finding in findings] == ["wrong-value"]
