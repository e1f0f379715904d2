"""What a mode's definition says beside its paths; each key as piece-language.md has it."""

from __future__ import annotations

import pytest
from support.catalogue import MODE_NAMES, mode
from support.making import findings_of, piece_of, with_heading

from cyclechart.catalog.definitions import mode_from
from cyclechart.finding import Finding
from cyclechart.text.nodes import read
from cyclechart.text.source import decode
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE, show_path

PATHS = "ascent: S g m D n S'\ndescent: S' n D m g R S\n"


def written(text: str) -> tuple[Mode | None, list[Finding]]:
    source, findings = decode("piece.yaml", (PATHS + text).encode())
    assert source is not None
    root, more = read(source)
    assert findings + more == []
    return mode_from(root)


def test_all_of_them_together() -> None:
    made, findings = written(
        "also: [{ascent: S R g m D n S', source: a teacher}, {descent: S' n D P m g R S}]\n"
        "drone: m\nandolan: {g: wide, n: small}\nweak: [R]\nregister: purvang\n"
        'tuning: {n: "16/9"}\ntuning-source: the drone\n'
    )
    assert findings == []
    assert made is not None
    assert list(map(show_path, made.ascents)) == ["S g m D n S'", "S R g m D n S'"]
    assert list(map(show_path, made.descents)) == ["S' n D m g R S", "S' n D P m g R S"]
    assert [form.source for form in made.also] == ["a teacher", ""]
    assert made.drone_second == SEMITONE["m"]
    assert made.andolan == ((SEMITONE["g"], "wide"), (SEMITONE["n"], "small"))
    assert made.weak == (SEMITONE["R"],)
    assert (made.register, made.tuning_source) == ("purvang", "the drone")
    assert SEMITONE["P"] in made.down


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("also: [{source: nobody}]", "another form needs an ascent"),
        ("also: [{ascent: S' g S}]", "the ascent does not rise"),
        ("also: [{descent: S g S'}]", "the descent does not fall"),
        ("also: [{ascent: S Q S'}]", "Q"),
        ("also: S R g", "must be a list"),
        ("drone: R", "the second string is tuned to P, m or N"),
        ("andolan: {g: huge}", "g must be wide or small"),
        ("andolan: {x: wide}", "'x' is not one of the twelve tones"),
        ("andolan: {G: wide}", "andolan names G"),
        ("andolan: [g]", "must be a mapping"),
        ("weak: [G]", "weak names G"),
        ("register: attic", "register must be one of mandra"),
    ],
)
def test_what_cannot_be_is_told(text: str, words: str) -> None:
    _, findings = written(text + "\n")
    assert any(words in found.message for found in findings), findings
    assert all(found.severity == "error" for found in findings)


def test_every_other_form_of_the_catalogue_names_its_source() -> None:
    forms = [form for name in MODE_NAMES for form in mode(name).also]
    assert len(forms) > 60
    assert all(form.source for form in forms)


def test_how_much_of_the_catalogue_says_where_it_rests_and_what_its_phrases_are() -> None:
    says = [name for name in MODE_NAMES if mode(name).rests or mode(name).weak]
    assert len(says) / len(MODE_NAMES) >= 0.7
    northern = [
        name
        for name in MODE_NAMES
        if "janya" not in mode(name).family
        and "mela" not in mode(name).family
        and not name.endswith("-thaat")
    ]
    assert sum(bool(mode(name).phrases) for name in northern) / len(northern) >= 0.95


def test_a_piece_may_ask_for_plain_tones() -> None:
    lines = 'lines:\n  head: {lands: free, sargam: "g m R S"}\n'
    shaken = piece_of(lines, mode="darbari", cycle="tintal")
    assert dict(shaken.mode.andolan)[SEMITONE["g"]] == "wide"
    plain = piece_of("sound: plain\n" + lines, mode="darbari", cycle="tintal")
    assert plain.mode.andolan == ()
    wrong = findings_of(with_heading("sound: loud\n" + lines, mode="darbari", cycle="tintal"))
    assert [found.message for found in wrong if found.severity == "error"] == [
        "sound can only be plain: without the shakes that a mode gives its tones"
    ]
