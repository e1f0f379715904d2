"""Mistakes in the definition of a cycle: each names the number, and each offered fix works."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.catalog.cycle_checks import MAX_BEATS
from cyclechart.catalog.definitions import cycle_from
from cyclechart.finding import Finding
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import Source
from cyclechart.theory.cycle import Cycle


def cycle(text: str) -> tuple[Cycle | None, list[Finding]]:
    root, findings = read(Source.of("piece.yaml", text))
    assert findings == []
    assert isinstance(root, Mapping)
    return cycle_from(root)


def mended(text: str, suggestion: str) -> str:
    """A definition with the keys of a suggestion in place of its own."""
    lines = dict(line.split(":", 1) for line in text.splitlines())
    if suggestion.startswith("leave "):
        del lines[suggestion.split()[1]]
    else:
        key, value = suggestion.split(":", 1)
        lines[key] = value
    return "".join(f"{key}:{value}\n" for key, value in lines.items())


# text: what is said (the number among it), and what is offered.
UNSOUND = [
    ("beats: -4\n", "1 to 256 beats, not -4", ()),
    ("beats: 999999999\n", "1 to 256 beats, not 999999999", ()),
    ("beats: 4\nsections: []\n", "at least one section", ("sections: [4]",)),
    ("beats: 4\nsections: [5, -1]\n", "a section cannot have -1 beat", ()),
    ("beats: 4\nsections: [4, 0]\n", "a section cannot have 0 beats", ()),
    (
        "beats: 10\nsections: [4, 4, 4]\n",
        "the sections 4 + 4 + 4 add up to 12, not 10",
        ("beats: 12", "sections: [4, 4, 2]"),
    ),
    (
        "beats: 8\nsections: [4, 4]\nstressed: [1, 4]\n",
        "no section begins on beat 4; sections begin on 1, 5",
        ("stressed: [1, 5]",),
    ),
    (
        "beats: 8\nsections: [4, 4]\nopen: [6 1/2]\n",
        "no section begins on beat 6 1/2",
        ("open: [5]",),
    ),
    # The nearest section start is waved already, and the other clapped: no clap is left over.
    (
        "beats: 8\nsections: [4, 4]\nstressed: [1, 6]\nopen: [5]\n",
        "no section begins on beat 6",
        ("stressed: [1]",),
    ),
    # The nearest section start that is free.
    (
        "beats: 8\nsections: [4, 4]\nstressed: [1]\nopen: [3, 40]\n",
        "no section begins on beat 3",
        ("open: [5]",),
    ),
    (
        "beats: 12\nsections: [4, 4, 4]\nstressed: [1]\nopen: [4, 40]\n",
        "no section begins on beat 4",
        ("open: [5, 9]",),
    ),
    (
        "beats: 4\nsections: [4]\nstressed: [1]\nopen: [3]\n",
        "no section begins on beat 3",
        ("leave open out",),
    ),
    (
        "beats: 8\nsections: [4, 4]\nstressed: [1, 5, 5]\n",
        "beat 5 is clapped more than once",
        ("stressed: [1, 5]",),
    ),
    (
        "beats: 8\nsections: [4, 4]\nstressed: [1]\nopen: [5, 5.0]\n",
        "beat 5 is waved more than once",
        ("open: [5]",),
    ),
    (
        "beats: 8\nsections: [4, 4]\nstressed: [1, 5]\nopen: [5]\n",
        "beat 5 cannot be both clapped and waved",
        ("leave open out", "stressed: [1]"),
    ),
    ("beats: 8\ngati: 6\n", "3, 4, 5, 7 or 9 pulses to the beat, not 6", ("gati: 5", "gati: 7")),
    ("beats: 8\ngati: 0\n", "not 0", ("gati: 3", "gati: 4")),
    ("beats: 8\ngati: -5\n", "not -5", ("gati: 3", "gati: 4")),
    ("beats: 8\ngati: 4 1/2\n", "not 4 1/2", ("gati: 4", "gati: 5")),
    ("beats: 8\nlimbs: I O O\n", "3 limbs for 1 section", ("sections: [4, 2, 2]",)),
    ("beats: 6\nlimbs: I O O\n", "3 limbs for 1 section", ()),
    ("beats: 8\nlimbs: I X\n", "'X' is not a limb", ()),
    (
        "beats: 8\nsections: [4, 3, 1]\nlimbs: I O U\n",
        "section 2 has 3 beats, but limb O (drutam) lasts 2",
        (),
    ),
    ("beats: 6\nlimbs: I\n", "section 1 has 6 beats, but limb I (laghu) lasts 3, 4, 5, 7, 9", ()),
]


@pytest.mark.parametrize(("text", "said", "tries"), UNSOUND)
def test_what_cannot_be_is_said_with_its_number(
    text: str, said: str, tries: tuple[str, ...]
) -> None:
    made, findings = cycle(text)
    assert made is None
    assert {found.rule for found in findings} == {"cycle-unsound"}
    assert said in findings[0].message
    assert findings[0].tries == tries


OFFERS = [(text, one) for text, _, tries in UNSOUND for one in tries]


@pytest.mark.parametrize(("text", "suggestion"), OFFERS)
def test_every_way_out_that_is_offered_is_sound(text: str, suggestion: str) -> None:
    made, findings = cycle(mended(text, suggestion))
    assert findings == []
    assert made is not None


def test_beats_that_no_signature_can_say_are_offered_in_shorter_ones() -> None:
    made, findings = cycle("beats: 5 1/3\nsections: [4, 1 1/3]\nstressed: [1, 5]\n")
    assert made is None
    assert [found.tries for found in findings] == [
        ("count 3 beats for each of these: beats: 16, sections: [12, 4]",)
    ] * 2
    assert cycle("beats: 16\nsections: [12, 4]\n")[1] == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "beats: 10\nsections: [4, 4]\nstressed: [1, 1, 5, 40]\nopen: [0, 5]\n",
            [
                "the sections 4 + 4 add up to 8, not 10",
                "beat 1 is clapped more than once",
                "beat 40 is past the end of the cycle: it has 10 beats, its sections 8",
                "there is no beat 0; beats count from 1",
                "beat 5 cannot be both clapped and waved",
            ],
        ),
        # Beats that begin a section once the sections are mended: 13, and in 4 4 4 the 5 and the 9.
        (
            "beats: 16\nsections: [4, 4, 4]\nstressed: [1, 5, 13]\nopen: [9]\n",
            ["add up to 12, not"],
        ),
        ("beats: 12\nsections: [3, 4, 4]\nstressed: [1, 5]\nopen: [9]\n", ["add up to 11, not"]),
        # Within the sections if not within the beats.
        ("beats: 8\nsections: [4, 4, 4]\nstressed: [1, 9]\n", ["add up to 12, not"]),
        # Neither beats nor a section that is none say where the cycle ends.
        ("beats: 0\nstressed: [1, 1]\nopen: [9]\n", ["not 0", "beat 1 is clapped more"]),
        ("beats: 8\nsections: [8, 0]\nstressed: [9]\n", ["a section cannot have 0"]),
        # A letter that is no limb is told; how many there are hangs on the sections.
        ("beats: 8\nsections: [4, 2]\nlimbs: I X O\n", ["add up to 6, not", "'X' is not a limb"]),
        ("beats: 8\nsections: [4, 2]\nlimbs: I O O\n", ["add up to 6, not"]),
        # Where the sections are sound, the limbs are told beside the claps.
        ("beats: 8\nstressed: [2]\nlimbs: I O O\n", ["begins on beat 2", "3 limbs for 1"]),
    ],
)
def test_what_is_wrong_whichever_way_the_sections_are_mended_is_told_at_once(
    text: str, said: list[str]
) -> None:
    _, findings = cycle(text)
    messages = [found.message for found in findings]
    assert len(messages) == len(said), messages
    assert all(part in message for part, message in zip(said, messages, strict=True)), messages
    # No try keeps a beat that cannot be.
    assert not any("40" in one or "0, 5" in one for found in findings for one in found.tries)


def test_ten_digits_are_refused_before_they_are_counted() -> None:
    _, findings = cycle(f"beats: {10**9}\n")
    assert [found.rule for found in findings] == ["wrong-value"]
    assert "1000000000" in findings[0].message


def test_each_bad_beat_is_a_finding_of_its_own() -> None:
    _, findings = cycle("beats: 8\nsections: [4, 4]\nstressed: [2, 7]\nopen: [3]\ngati: 6\n")
    assert [found.message.split()[5] for found in findings[:3]] == ["2;", "7;", "3;"]
    assert "not 6" in findings[3].message


@pytest.mark.parametrize("gati", [3, 4, 5, 7, 9])
def test_a_gati_is_one_of_five(gati: int) -> None:
    # A Carnatic tala chart (C. Shotham): gatis 3, 4, 5, 7 and 9.
    made, findings = cycle(f"beats: 8\ngati: {gati}\n")
    assert findings == []
    assert made is not None
    assert (made.gati, made.pulses) == (gati, 8 * gati)


def test_limbs_and_a_spoken_count() -> None:
    made, findings = cycle(
        "beats: 7\nsections: [3, 2, 2]\nlimbs: i o o\nspoken: ta ki ta | ta ka | di mi\n"
    )
    assert findings == []
    assert made is not None
    assert (made.limbs, made.spoken, made.strokes) == ("IOO", "ta ki ta | ta ka | di mi", "")
    assert made.southern


def test_a_sarvalaghu_makes_a_tala_southern_and_is_judged_as_a_theka_is() -> None:
    made, findings = cycle(
        "beats: 4\nsections: [2, 2]\nsarvalaghu: na dhin | dhin na\n"
        "sarvalaghu-source: our teacher\n"
    )
    assert findings == []
    assert made is not None
    assert (made.sarvalaghu, made.sarvalaghu_source) == ("na dhin | dhin na", "our teacher")
    assert made.southern
    plain, _ = cycle("beats: 4\nsections: [2, 2]\n")
    assert plain is not None
    assert not plain.southern


def test_strokes_go_before_a_spoken_count() -> None:
    made, findings = cycle("beats: 2\nspoken: ta ka\nstrokes: dha na\n")
    assert findings == []
    assert made is not None
    assert (made.strokes, made.spoken) == ("dha na", "ta ka")


@pytest.mark.parametrize("key", ["strokes", "spoken", "sarvalaghu"])
@pytest.mark.parametrize(
    ("strokes", "said", "tried"),
    [
        ("dha dha dha", "the strokes last 3 beats, but the cycle 4 beats", "add 1 beat, or hold"),
        ("dha dha na/2 | dha na", "section 1 has 2 1/2 beats of strokes, not 2", "take 1/2 beat"),
        ("dha dha | na", "section 2 has 1 beat of strokes, not 2", "add 1 beat"),
    ],
)
def test_strokes_that_do_not_fill_the_cycle(key: str, strokes: str, said: str, tried: str) -> None:
    made, findings = cycle(f"beats: 4\nsections: [2, 2]\n{key}: {strokes}\n")
    assert made is not None  # the frame stands
    assert findings[0].rule == "cycle-unsound"
    assert said in findings[0].message
    assert findings[0].tries[0].startswith(tried)


def test_a_section_line_astray_says_where_sections_begin() -> None:
    _, findings = cycle("beats: 4\nsections: [2, 2]\nstrokes: dha | na dha na\n")
    assert [found.message for found in findings] == [
        "a section line stands on beat 2, where no section begins; sections begin on 1, 3"
    ]


numbers = st.fractions(-3, 40, max_denominator=8)


@given(
    st.lists(numbers, max_size=5),
    st.fractions(-3, MAX_BEATS + 2, max_denominator=8),
    st.lists(numbers, max_size=3),
    st.lists(numbers, max_size=3),
)
def test_whatever_is_offered_for_claps_and_waves_is_sound(
    sections: list[F], beats: F, stressed: list[F], waved: list[F]
) -> None:
    """Each finding's offer mends what that finding was about."""
    text = "".join(
        f"{key}: [{', '.join(map(str, values))}]\n"
        for key, values in (("sections", sections), ("stressed", stressed), ("open", waved))
        if values
    )
    text = f"beats: {beats}\n{text}"
    made, findings = cycle(text)
    assert (made is None) == bool(findings)
    for found in findings:
        for suggestion in found.tries:
            if suggestion.startswith("count "):
                continue
            # A key that is left out moves the lines below it: places are told by their keys.
            new = mended(text, suggestion)
            left = {(other.message, _key_of(new, other)) for other in cycle(new)[1]}
            assert (found.message, _key_of(text, found)) not in left


def _key_of(text: str, found: Finding) -> str:
    return text.splitlines()[found.spot.line - 1].partition(":")[0]
