"""Reading set lists: every value has its place in the file, every mistake is a finding."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
import yaml
from support.gigs import BOOK, folder_of_pieces, read_set
from support.making import ROOT

from cyclechart.piece.set.gig import clock_time, time_of_day
from cyclechart.piece.set.schema import schema
from cyclechart.piece.set.setlist import MAX_ENTRIES, USUAL_RETUNE, Break, load_setlist
from cyclechart.rules.judge import RULE_NAMES

WHOLE = """title: Regatta Night
date: the last Saturday
venue: the boathouse
players: quartet
length: 1 1/2
retune: 3
pieces:
  - on-d.yaml
  - {piece: band.yaml, tonic: Eb, minutes: 9.5, note: softly, without: [guitar, tabla]}
  - {break: 15, note: lantern boats}
  - piece: on-g.yaml
    without: flute
"""


def told(folder: Path, text: str) -> list[tuple[str, str]]:
    """(rule, line:column) of what is wrong."""
    return [(f.rule, f"{f.spot.line}:{f.spot.column}") for f in read_set(folder, text)[1]]


def test_a_whole_set_list_is_kept_with_its_places(tmp_path: Path) -> None:
    setlist, findings = read_set(tmp_path, WHOLE)
    assert not findings
    assert setlist is not None
    assert (setlist.title, setlist.venue) == ("Regatta Night", "the boathouse")
    assert (setlist.length, setlist.retune) == (Fraction(3, 2), 3)
    assert [player.name for player in setlist.players] == ["flute", "guitar", "tabla", "tanpura"]
    first, second, pause, last = setlist.entries
    assert isinstance(pause, Break)
    assert (pause.minutes, pause.note) == (15, "lantern boats")
    assert [tune.number for tune in setlist.tunes] == [1, 2, 3]
    assert [(e.spot.line, e.spot.column) for e in (first, second, pause, last)] == [
        (8, 5), (9, 5), (10, 5), (11, 5),
    ]  # fmt: skip
    band = setlist.tunes[1]
    assert str(band.tonic) == "E♭"
    assert (band.minutes, band.note) == (Fraction(19, 2), "softly")
    assert band.without == ("guitar", "tabla")
    assert setlist.tunes[2].without == ("flute",)


@pytest.mark.parametrize(
    ("written", "minutes"),
    [("20:30", 1230), ('"20:30"', 1230), ("'20.30'", 1230), ("8:30 pm", 1230), ("8:30pm", 1230),
     ("9 a.m.", 540), ("12 am", 0), ("12:15 PM", 735), ("0:05", 5)],
)  # fmt: skip
def test_a_set_starts_at_a_time_of_day(tmp_path: Path, written: str, minutes: int) -> None:
    setlist, findings = read_set(tmp_path, f"pieces: [on-d.yaml]\nstarts: {written}\nversion: 2b")
    assert not findings
    assert setlist is not None
    assert (setlist.starts, setlist.edition) == (minutes, "version 2b")


def test_a_time_that_an_editor_has_made_a_number_is_given_back(tmp_path: Path) -> None:
    # YAML 1.1, !!int: 20:30 is a number to the base of 60.
    made = yaml.safe_load("starts: 20:30")["starts"]
    _, (found,) = read_set(tmp_path, f"pieces: [on-d.yaml]\nstarts: {made}")
    assert 'write starts: "20:30"' in found.message


def test_without_a_word_two_minutes_are_left_for_retuning(tmp_path: Path) -> None:
    setlist, _ = read_set(tmp_path, "pieces: [on-d.yaml]")
    assert setlist is not None
    assert setlist.retune == USUAL_RETUNE
    assert setlist.length is None
    assert setlist.players == ()


def test_a_piece_listed_twice_is_read_once(tmp_path: Path) -> None:
    setlist, _ = read_set(tmp_path, "pieces: [on-d.yaml, ./on-d.yaml, on-g.yaml]")
    assert setlist is not None
    assert len(setlist.loaded) == 2
    first, again, _ = setlist.tunes
    assert first.loaded is again.loaded


def test_paths_go_up_from_the_set_lists_own_folder(tmp_path: Path) -> None:
    folder_of_pieces(tmp_path)
    (tmp_path / "sets").mkdir()
    path = tmp_path / "sets" / "night.yaml"
    path.write_text("title: Night\npieces: [../on-d.yaml]\n", "utf-8")
    setlist, findings, sources = load_setlist(path)
    assert not findings
    assert setlist is not None
    assert [tune.file for tune in setlist.tunes] == [str(tmp_path / "on-d.yaml")]
    assert set(sources) == {str(path), *setlist.loaded, str(tmp_path / "shared/players.yaml")}


def test_what_is_wrong_in_a_piece_stays_with_the_piece(tmp_path: Path) -> None:
    setlist, findings = read_set(tmp_path, "pieces: [half-done.yaml, on-d.yaml]")
    assert not findings
    assert setlist is not None
    assert [tune.is_ready for tune in setlist.tunes] == [False, True]
    assert [one.rule for one in setlist.tunes[0].loaded.findings] == ["bad-cell"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("pieces: []", [("wrong-value", "1:9")]),
        ("pieces: on-d.yaml", [("wrong-value", "1:9")]),
        ("peices: [on-d.yaml]", [("missing-key", "1:1"), ("unknown-key", "1:1")]),
        ("pieces: [on-e.yaml]", [("unknown-name", "1:10")]),
        ("pieces: [/etc/passwd]", [("wrong-value", "1:10")]),
        ("pieces: ['C:\\on-d.yaml']", [("wrong-value", "1:10")]),
        ("pieces: [shared]", [("wrong-value", "1:10")]),
        ("pieces: [../../../../../../../../dev/zero]", [("wrong-value", "1:10")]),
        ("pieces: [set.yaml]", [("wrong-value", "1:10")]),
        (f"pieces: [{'x' * 5000}]", [("wrong-value", "1:10")]),
        ("pieces: [[on-d.yaml]]", [("wrong-value", "1:10")]),
        ("pieces: ['']", [("wrong-value", "1:10")]),
        ("pieces: [!!python/name:os.system on-d.yaml]", [("wrong-value", "1:10")]),
        ("pieces: [{tonic: D}]", [("missing-key", "1:10")]),
        ("pieces: [{piece: on-d.yaml, tonic: H}]", [("wrong-value", "1:36")]),
        ("pieces: [{piece: on-d.yaml, tonik: D}]", [("unknown-key", "1:29")]),
        ("pieces: [{piece: on-d.yaml, minutes: 0}]", [("wrong-value", "1:38")]),
        ("pieces: [{piece: on-d.yaml, minutes: 9999999999}]", [("wrong-value", "1:38")]),
        ("pieces: [{piece: on-d.yaml, minutes: 99999}]", [("wrong-value", "1:38")]),
        ("pieces: [{piece: band.yaml, without: [gitar]}]", [("unknown-name", "1:39")]),
        ("pieces: [{piece: band.yaml, without: {}}]", [("wrong-value", "1:38")]),
        ("pieces: [{break: -1}, on-d.yaml]", [("wrong-value", "1:18")]),
        ("pieces: [{break: 5, tonic: D}, on-d.yaml]", [("unknown-key", "1:21")]),
        ("pieces: [{break: 5, piece: on-d.yaml}]", [("unknown-key", "1:11")]),
        ("pieces: [on-d.yaml]\nstarts: half past eight", [("wrong-value", "2:9")]),
        ("pieces: [on-d.yaml]\nstarts: 1230", [("wrong-value", "2:9")]),
        ("pieces: [on-d.yaml]\nstarts: 24:00", [("wrong-value", "2:9")]),
        ("pieces: [on-d.yaml]\nstarts: 13:00 pm", [("wrong-value", "2:9")]),
        (f"pieces: [on-d.yaml]\nversion: {'9' * 41}", [("too-long", "2:10")]),
        ("pieces: [on-d.yaml]\nversion: ''", [("wrong-value", "2:10")]),
        ("pieces: [on-d.yaml]\nretune: -1", [("wrong-value", "2:9")]),
        ("pieces: [on-d.yaml]\nlength: 0", [("wrong-value", "2:9")]),
        ("pieces: [on-d.yaml]\nplayers: trioo", [("unknown-name", "2:10")]),
        ("pieces: [on-d.yaml]\nplayers: []", [("wrong-value", "2:10")]),
        ("title: Night #2\npieces: [on-d.yaml]", [("lost-to-comment", "1:8")]),
        ("title: Night\ntitle: Day\npieces: [on-d.yaml]", [("duplicate-key", "2:1")]),
        ("- on-d.yaml\n# title:", [("wrong-value", "1:1")]),
        (f"pieces: [{'on-d.yaml, ' * 10_000}]", [("too-long", "1:9")]),
    ],
)
def test_what_is_wrong_is_told_where_it_stands(
    tmp_path: Path, text: str, expected: list[tuple[str, str]]
) -> None:
    assert told(tmp_path, text) == expected


def test_a_file_that_is_not_there_is_answered_with_one_that_is(tmp_path: Path) -> None:
    _, (found,) = read_set(tmp_path, "pieces: [./on-dd.yaml]")
    assert "./on-d.yaml" in found.tries


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    assert told(tmp_path, "pieces: [pipe.yaml]") == [("wrong-value", "1:10")]


def test_an_alias_bomb_is_refused(tmp_path: Path) -> None:
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    assert told(tmp_path, "\n".join([*rows, "pieces: *a8"])) == [("too-long", "1:1")]


def test_what_is_wrong_in_one_entry_leaves_the_others(tmp_path: Path) -> None:
    setlist, findings = read_set(tmp_path, "pieces: [on-d.yaml, nowhere.yaml, on-g.yaml]")
    assert len(findings) == 1
    assert setlist is not None
    assert [tune.number for tune in setlist.tunes] == [1, 3]
    most = read_set(tmp_path, f"pieces: [{'on-d.yaml, ' * MAX_ENTRIES}]")[0]
    assert most is not None
    assert len(most.entries) == MAX_ENTRIES


@pytest.mark.parametrize(
    "path", sorted((ROOT / "pieces" / "sets").glob("*.yaml")), ids=lambda p: p.stem
)
def test_the_demo_sets_can_be_read(path: Path) -> None:
    setlist, findings, _ = load_setlist(path, RULE_NAMES)
    assert setlist is not None
    assert not findings
    assert all(tune.is_ready for tune in setlist.tunes)


def test_the_schema_takes_what_can_be_read() -> None:
    jsonschema.Draft7Validator.check_schema(schema())
    jsonschema.validate(yaml.safe_load(WHOLE), schema())
    for path in (ROOT / "pieces" / "sets").glob("*.yaml"):
        jsonschema.validate(yaml.safe_load(path.read_text("utf-8")), schema())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"title": "x", "pieces": [{"tonic": "D"}]}, schema())


def test_minutes_are_shown_as_on_a_watch() -> None:
    assert clock_time(Fraction(0)) == "0:00"
    assert clock_time(Fraction(91, 10)) == "9:06"
    assert clock_time(Fraction(59999, 1000)) == "1:00:00"
    assert clock_time(Fraction(829, 12)) == "1:09:05"


def test_times_of_day_go_on_through_midnight() -> None:
    assert time_of_day(Fraction(20 * 60 + 30)) == "20:30"
    assert time_of_day(Fraction(23 * 60 + 59) + Fraction(59, 60)) == "23:59"
    assert time_of_day(Fraction(24 * 60 + 5)) == "0:05"


def test_every_piece_of_the_test_book_but_one_can_be_read(tmp_path: Path) -> None:
    setlist, _ = read_set(tmp_path, f"pieces: [{', '.join(f'{name}.yaml' for name in BOOK)}]")
    assert setlist is not None
    assert [t.file for t in setlist.tunes if not t.is_ready] == [str(tmp_path / "half-done.yaml")]
