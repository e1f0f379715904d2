"""The shape of a file: closed keys, kinds of values, and every mistake found in one run."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from support.line_texts import compose_text, finding_places

from cyclechart.finding import Finding
from cyclechart.text.nodes import Node
from cyclechart.text.shape_fitting import fit, keys_of
from cyclechart.text.shapes import (
    NUMBER,
    NUMBER_OR_AUTO,
    TEXT,
    Key,
    ListOf,
    MappingOf,
    OneOf,
    Shape,
    ShapeOf,
    optional,
    required,
)


class Player(Shape):
    where = "a player"
    plays = required(TEXT, "plays: melody")
    octave = optional(NUMBER)


class Tune(Shape):
    where = "a tune"
    title = required(TEXT)
    tempo = required(NUMBER, "tempo: 92")
    sections = optional(ListOf(NUMBER), [])
    rests = optional(ListOf(TEXT), [])
    players = optional(MappingOf(ShapeOf(Player)), {})
    gap = optional(NUMBER_OR_AUTO, None)
    count_in = optional(TEXT)
    step: Key[Player | list[Player] | None] = optional(
        OneOf(ShapeOf(Player), ListOf(ShapeOf(Player)))
    )


def shape(text: str) -> tuple[Tune | None, list[Finding]]:
    root, findings = compose_text(text)
    assert isinstance(root, Node)
    assert findings == []
    return fit(Tune, root)


def test_a_sound_file_fits() -> None:
    made, findings = shape(
        "title: no\ntempo: 11 1/2\nsections: [4, 3.5, 1/4]\ncount-in: 0\n"
        "players:\n  flute: {plays: melody, octave: 1}\nstep: [{plays: x}]\n"
    )
    assert findings == []
    assert made is not None
    assert made.title == "no"
    assert made.tempo == F(23, 2)
    assert made.sections == [F(4), F(7, 2), F(1, 4)]
    assert made.count_in == "0"
    assert made.players["flute"].octave == F(1)


def test_a_key_that_is_none_is_answered_with_the_nearest() -> None:
    made, findings = shape("title: T\ntempo: 92\ncount-inn: 0\n")
    assert finding_places(findings) == [("unknown-key", 3, 1)]
    assert findings[0].spot.width == len("count-inn")
    assert findings[0].tries == ("count-in:",)
    assert "a tune has no key 'count-inn'" in findings[0].message
    assert made is not None
    assert made.tempo == F(92)


def test_an_unknown_key_further_down_is_answered_from_its_own_shape() -> None:
    _, findings = shape("title: T\ntempo: 92\nplayers:\n  flute: {plays: x, octav: 1}\n")
    assert finding_places(findings) == [("unknown-key", 4, 21)]
    assert findings[0].tries == ("octave:",)
    assert "a player" in findings[0].message


def test_a_missing_key_is_shown_by_an_example() -> None:
    made, findings = shape("title: T\n")
    assert made is None
    assert finding_places(findings) == [("missing-key", 1, 1)]
    assert findings[0].tries == ("tempo: 92",)


def test_a_key_missing_further_down_is_reported_where_its_mapping_is_named() -> None:
    made, findings = shape(
        "title: T\ntempo: 92\nplayers:\n  flute: {octave: 1}\n  oud: {plays: x}\n"
    )
    assert finding_places(findings) == [("missing-key", 4, 3)]
    assert "a player needs 'plays'" in findings[0].message
    assert made is not None
    assert list(made.players) == ["oud"]


def test_a_stand_in_lets_the_reading_go_on_after_the_finding() -> None:
    root, _ = compose_text("title: T\n")
    assert root is not None
    made, findings = fit(Tune, root, {"tempo": "60"})
    assert finding_places(findings) == [("missing-key", 1, 1)]
    assert made is not None
    assert made.tempo == F(60)


@pytest.mark.parametrize(
    ("line", "column", "said"),
    [
        ("tempo: fast", 8, "not a number"),
        ("tempo: [92]", 8, "not a list"),
        ("tempo: 1/0", 8, "divides by zero"),
        ("tempo: 12345678901", 8, "digits"),
        ("sections: 4", 11, "must be a list"),
        ("sections: {a: 4}", 11, "must be a list"),
        ("rests: [S, [R]]", 12, "must be a text"),
        ("players: flute", 10, "must be a mapping"),
        ("count-in: ''", 11, "empty"),
        ("count-in: {a: b}", 11, "must be a text"),
    ],
)
def test_a_value_its_key_cannot_take_is_found_in_its_place(
    line: str, column: int, said: str
) -> None:
    head = "title: T\n" if line.startswith("tempo") else "title: T\ntempo: 92\n"
    _, findings = shape(f"{head}{line}\n")
    assert finding_places(findings) == [("wrong-value", head.count("\n") + 1, column)]
    assert said in findings[0].message


def test_a_text_that_yaml_took_for_a_list_is_shown_as_a_block() -> None:
    _, findings = shape("title: [S R G]\ntempo: 92\n")
    assert findings[0].tries == ("title: |\n  [S R G]",)


@pytest.mark.parametrize(
    ("gap", "said"),
    [
        ("soon", "gap: 'soon' is not a number (write 11, 11 1/2, 11.5 or 23/2) or auto"),
        ("1/0", "gap: '1/0' divides by zero; write a number or auto"),
        ("1.5 1/2", "gap: '1.5 1/2' mixes a decimal and a fraction; write a number or auto"),
        ("1234567890", "gap: '1234567890…' has more than 9 digits; write a number or auto"),
        ("[1]", "'gap' must be a number or auto, not a list or a mapping"),
    ],
)
def test_a_number_or_auto_is_asked_for_in_a_sentence(gap: str, said: str) -> None:
    _, findings = shape(f"title: T\ntempo: 92\ngap: {gap}\n")
    assert [found.message for found in findings] == [said]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("rests: [[S]]", "item 1 of this list must be a text, not a list or a mapping"),
        ("rests: [{a: b}]", "item 1 of this list must be a text, not a list or a mapping"),
        ("rests:\n  - # S", "item 1 of this list: YAML takes '# S' as a comment"),
        ("step: [{plays: x}, y]", "item 2 of this list must be a mapping of keys"),
    ],
)
def test_an_item_of_a_list_is_shown_no_block_and_named_by_its_place(line: str, said: str) -> None:
    _, findings = shape(f"title: T\ntempo: 92\n{line}\n")
    assert said in [found.message for found in findings]
    assert all(found.tries == () for found in findings)


def test_a_value_that_cannot_be_is_not_also_called_missing() -> None:
    _, findings = shape("title: T\ntempo: fast\n")
    assert [found.rule for found in findings] == ["wrong-value"]


def test_every_item_at_fault_of_one_list_is_found() -> None:
    _, findings = shape("title: T\ntempo: 92\nsections: [a, 4, b, 1/0]\n")
    assert finding_places(findings) == [
        ("wrong-value", 3, 12),
        ("wrong-value", 3, 18),
        ("wrong-value", 3, 21),
    ]


def test_every_mistake_is_found_in_one_run() -> None:
    _, findings = shape(
        "titel: T\n"
        "tempo: fast\n"
        "sections: [4, four, 4, fore]\n"
        "rests: R\n"
        "players:\n"
        "  flute: {plais: melody, octave: high}\n"
        "  oud: 3\n"
    )
    assert sorted(finding_places(findings)) == [
        ("missing-key", 1, 1),
        ("missing-key", 6, 3),
        ("unknown-key", 1, 1),
        ("unknown-key", 6, 11),
        ("wrong-value", 2, 8),
        ("wrong-value", 3, 15),
        ("wrong-value", 3, 24),
        ("wrong-value", 4, 8),
        ("wrong-value", 6, 34),
        ("wrong-value", 7, 8),
    ]


def test_what_is_no_mapping_is_said_to_be_none() -> None:
    for text, kind in (("just a text\n", "a text"), ("- a\n- b\n", "a list")):
        made, findings = shape(text)
        assert made is None
        assert finding_places(findings) == [("wrong-value", 1, 1)]
        assert kind in findings[0].message


def test_a_choice_of_shapes_reports_the_place_in_the_file() -> None:
    _, findings = shape("title: T\ntempo: 92\nstep:\n  - {plays: x}\n  - {octave: 2}\n")
    assert findings
    assert all(found.spot.line in (3, 4, 5) for found in findings)


def test_keys_are_listed_as_they_are_written() -> None:
    assert keys_of(Tune) == [
        "title", "tempo", "sections", "rests", "players", "gap", "count-in", "step",
    ]  # fmt: skip


class Remark(Shape):
    where = "a remark"
    bare = "remark '{key}' needs its text under a key"
    bare_try = ("text: {text}", "text: mind the pickup")
    text = optional(TEXT)


class Page(Shape):
    remarks = optional(ListOf(ShapeOf(Remark)))
    named = optional(MappingOf(ShapeOf(Remark)), {})
    players = optional(ListOf(ShapeOf(Player)))


def page(text: str) -> tuple[Page, list[Finding]]:
    root, _ = compose_text(text)
    assert root is not None
    made, findings = fit(Page, root)
    assert made is not None
    return made, findings


def test_an_item_that_is_no_mapping_keeps_its_place_and_the_others() -> None:
    made, findings = page("remarks:\n  - {text: a}\n  - slow\n  - {text: c}\n")
    assert [remark.text for remark in made.remarks or ()] == ["a", None, "c"]
    assert [(found.message, found.tries) for found in findings] == [
        ("remark '1' needs its text under a key", ("text: slow",))
    ]


def test_an_item_that_lacks_a_key_takes_its_list_out() -> None:
    for item in ("{octave: 1}", "flute"):
        made, findings = page(f"players:\n  - {{plays: x}}\n  - {item}\n")
        assert made.players is None
        assert [found.spot.line for found in findings] == [3]


def test_a_bare_value_is_shown_under_the_key_that_it_lacks() -> None:
    made, findings = page("named:\n  a: {text: x}\n  b: slow\n  c: [1]\n  d:\n")
    assert list(made.named) == ["a"]
    assert [(found.message, *found.tries) for found in findings] == [
        ("remark 'b' needs its text under a key", "text: slow"),
        ("remark 'c' needs its text under a key", "text: mind the pickup"),
        ("remark 'd' needs its text under a key", "text: mind the pickup"),
    ]


def test_a_stand_in_of_a_value_at_fault_is_read_too() -> None:
    root, _ = compose_text("title: T\ntempo: fast\n")
    assert root is not None
    made, findings = fit(Tune, root, {"tempo": "60"})
    assert [found.rule for found in findings] == ["wrong-value"]
    assert made is not None
    assert made.tempo == F(60)
