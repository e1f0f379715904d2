"""The command ``bring``: what it writes, prints and refuses."""

from __future__ import annotations

import io
import struct
import zipfile
from fractions import Fraction
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from cyclechart import cli
from cyclechart.catalog.library import Library
from cyclechart.commands.bring import _ask
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Play
from cyclechart.rules.judge import RULE_NAMES, judge
from cyclechart.transcription.cycle_choice import choices
from cyclechart.transcription.tune import Meter

REEL = """X:1
T:The Mud Lark
C:The Tidewater Seven
M:4/4
L:1/8
Q:1/4=120
K:Ador
EA|:"Am"A2 cA eAcA|G2 BG dGBG|A2 cA eAcA|1 BGGB A2 EA:|2 BGGB A4|]
|:(3efg a2 g-g e2|{f}d2 BG dGBG|.a2 ge !trill!d3 B|GABG A4:|
w:hey ho, the gold-en *
"""
BOOK = "X:7\nT:One\nM:3/4\nL:1/4\nK:D\nDFA|dAF|D3|]\n\nX:8\nT:Two\nM:3/4\nL:1/4\nK:D\nA3|D3|]\n"


def run(*args: object) -> Result:
    return CliRunner().invoke(cli.cli, ["bring", *(str(arg) for arg in args)])


def brought(tmp_path: Path, data: str | bytes, name: str, *options: str) -> tuple[Piece, str]:
    source, target = tmp_path / name, tmp_path / "piece.yaml"
    source.write_bytes(data.encode() if isinstance(data, str) else data)
    result = run(source, "--to", target, *options)
    assert result.exit_code == 0, result.output
    loaded = load(target, RULE_NAMES)
    assert loaded.piece is not None
    assert [one for one in loaded.findings if one.severity == "error"] == []
    return loaded.piece, result.output


def measure(notes: str, number: int = 1, head: str = "") -> str:
    return f'<measure number="{number}">{head}{notes}</measure>'


def score(*measures: str, entity: str = "") -> str:
    return (
        f"<?xml version='1.0'?>{entity}<score-partwise><part-list><score-part id='P1'>"
        "<part-name>flute</part-name></score-part></part-list>"
        f"<part id='P1'>{''.join(measures)}</part></score-partwise>"
    )


HEAD = (
    "<attributes><divisions>6</divisions><key><fifths>2</fifths></key>"
    "<time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
)


def note(step: str, length: int, inside: str = "", octave: int = 4) -> str:
    return (
        f"<note><pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        f"<duration>{length}</duration>{inside}</note>"
    )


GOOD = score(
    measure(note("D", 6) + note("E", 6) + note("A", 6), 1, HEAD), measure(note("D", 18), 2)
)


def test_letters_of_abc_that_no_line_can_say_are_named(tmp_path: Path) -> None:
    text = "X:1\nT:Reeds\nM:4/4\nL:1/4\nK:D\n~D E uF G | A4 |]\n"
    _, said = brought(tmp_path, text, "reeds.abc")
    assert "not kept: the decoration ~ (a roll) is left out" in said
    assert "not kept: the decoration u (up-bow) is left out" in said


def test_an_abc_tune_becomes_lines_and_a_form(tmp_path: Path) -> None:
    piece, said = brought(tmp_path, REEL, "reel.abc")
    assert piece.title == "The Mud Lark"
    assert piece.composer == "The Tidewater Seven"
    assert str(piece.tonic) == "A"
    assert piece.tempo == 120
    plays = [(step.uses[0], step.times) for step in piece.steps if isinstance(step, Play)]
    assert [times for _, times in plays][-1] == 2
    names = list(piece.lines)
    assert any(name.endswith("-first-ending") for name in names)
    assert any(name.endswith("-second-ending") for name in names)
    graces = [n.grace for line in piece.lines.values() for n in line.notes if n.grace]
    marks = {mark for line in piece.lines.values() for n in line.notes for mark in n.marks}
    assert len(graces) == 1
    assert {"staccato", "trill"} <= marks
    sung = [n.word for line in piece.lines.values() for n in line.notes if n.word]
    assert sung == ["hey", "ho,", "the", "gold-", "en"]
    assert "tonic: A (the key is dorian)" in said
    assert "not kept: chord symbols are left out (bar" in said
    foreign = [one for one in judge(piece) if one.rule == "foreign-tone"]
    assert foreign == []


def test_one_tune_of_several_is_named(tmp_path: Path) -> None:
    source = tmp_path / "book.abc"
    source.write_text(BOOK)
    refused = run(source, "--to", tmp_path / "x.yaml")
    assert refused.exit_code == 1
    assert "it has 2 tunes: 7 One, 8 Two" in refused.output
    assert "--tune 7" in refused.output
    piece, _ = brought(tmp_path, BOOK, "book.abc", "--tune", "Two")
    assert piece.title == "Two"


def test_musicxml_packed_or_not(tmp_path: Path) -> None:
    plain, _ = brought(tmp_path, GOOD, "tune.musicxml")
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as file:
        file.writestr("score.xml", GOOD)
    (tmp_path / "piece.yaml").unlink()
    again, _ = brought(tmp_path, packed.getvalue(), "tune.mxl")
    assert plain == again or [n.pitch for n in plain.lines["head"].notes] == [
        n.pitch for n in again.lines["head"].notes
    ]
    assert [(n.pitch, n.start, n.length) for n in plain.lines["head"].notes] == [
        (0, 0, 1), (2, 1, 1), (7, 2, 1), (0, 3, 3),
    ]  # fmt: skip


def test_a_score_by_measures_is_read_too(tmp_path: Path) -> None:
    timewise = (
        "<score-timewise><part-list><score-part id='P1'><part-name>flute</part-name></score-part>"
        f"</part-list><measure number='1'><part id='P1'>{HEAD}{note('D', 18)}</part></measure>"
        f"<measure number='2'><part id='P1'>{note('A', 18)}</part></measure></score-timewise>"
    )
    piece, _ = brought(tmp_path, timewise, "tune.xml")
    assert [n.pitch for n in piece.lines["head"].notes if n.pitch is not None][1] is not None


def test_options_go_before_guesses(tmp_path: Path) -> None:
    options = ("--tonic", "E", "--mode", "yaman", "--cycle", "dadra")
    piece, said = brought(tmp_path, GOOD, "tune.xml", *options)
    assert (str(piece.tonic), piece.mode.name, piece.cycle.name) == ("E", "Yaman", "Dadra")
    assert "tonic:" not in said


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--tonic", "H", "'H' is not a letter name"),
        ("--mode", "yamann-kalyaan-x", "there is no mode"),
        ("--cycle", "tintalll-x", "there is no cycle"),
        ("--voice", "9", "there is no voice '9'; it has 1 flute"),
    ],
)
def test_an_option_that_names_nothing(tmp_path: Path, option: str, value: str, said: str) -> None:
    source = tmp_path / "tune.xml"
    source.write_text(GOOD)
    result = run(source, "--to", tmp_path / "x.yaml", option, value)
    assert result.exit_code == 1
    assert said in result.output
    assert not (tmp_path / "x.yaml").exists()


def test_a_tune_without_a_title_has_the_name_of_its_file(tmp_path: Path) -> None:
    assert brought(tmp_path, GOOD, "low tide.xml")[0].title == "low tide"


def test_on_a_terminal_the_cycle_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    offered: list[object] = []

    def prompt(_text: str, **options: object) -> int:
        offered.append(options["type"])
        return 2

    monkeypatch.setattr(click, "prompt", prompt)
    meter = Meter(Fraction(0), Fraction(4), name="4/4")
    fitting = choices(Library.beside(None), meter, [])
    assert _ask(meter, fitting) == fitting[1]
    assert fitting[0].name == "keherwa"
    assert len(offered) == 1


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    source, target = tmp_path / "tune.xml", tmp_path / "x.yaml"
    source.write_text(GOOD)
    target.write_text("mine")
    result = run(source, "--to", target)
    assert result.exit_code == 2
    assert target.read_text() == "mine"
    assert run(tmp_path / "none.xml").exit_code == 2


def test_all_voices_have_lines_and_players(tmp_path: Path) -> None:
    two = GOOD.replace(
        "</score-part></part-list>",
        "</score-part><score-part id='P2'><part-name>alto</part-name></score-part></part-list>",
    ).replace("</part></score", f"</part><part id='P2'>{measure(note('A', 18), 1, HEAD)}"
              f"{measure(note('D', 18), 2)}</part></score")  # fmt: skip
    piece, _ = brought(tmp_path, two, "tune.xml", "--voice", "all")
    assert set(piece.lines) == {"head", "head-voice-2"}
    (step,) = piece.steps
    assert isinstance(step, Play)
    assert len(step.parts) == 2


def packed_bomb() -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("score.xml", b" " * 40_000_000)
    return data.getvalue()


ENTITIES = "<!DOCTYPE x [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;&a;'>]>"
TRACK = b"\x00\x90\x3c\x40\x83\x60\x80\x3c\x40\x00\xff\x2f\x00"


def midi(division: int, track: bytes = TRACK) -> bytes:
    head = b"MThd" + struct.pack(">IHHH", 6, 0, 1, division)
    return head + b"MTrk" + struct.pack(">I", len(track)) + track


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.xml", b"", "the file is empty"),
        ("a.txt", b"\x00\x01\x02", "neither MusicXML, ABC nor MIDI"),
        ("a.xml", b"<html/>", "not MusicXML"),
        ("a.xml", b"<score-partwise>", "line 1: this is not well-formed XML"),
        ("a.xml", b"<score-partwise/>", "there is no note in it"),
        ("a.xml", score(measure(note("C", 1), 1, HEAD), entity=ENTITIES).encode(), "entities"),
        ("a.xml", b"<score-partwise>" + b"<a>" * 50_000, "not well-formed"),
        ("a.xml", score(measure(note("C", 99_999_999), 1, HEAD)).encode(), "measure 1: '99999999'"),
        ("a.xml", score(measure(note("H", 6), 1, HEAD)).encode(), "cannot be read"),
        ("a.xml", score(measure(note("C", 1) * 1500, 1, HEAD)).encode(), "more than 1,000 notes"),
        ("a.mxl", packed_bomb(), "too large when it is unpacked"),
        ("a.mxl", b"PK\x03\x04broken", "the packed file is broken"),
        ("a.abc", b"X:1\nT:x\nCDE\n", "the tune has no key"),
        ("a.abc", b"X:1\nL:1/4\nK:C\nC999999999|\n", "line 4: no note lasts so long"),
        ("a.abc", b"X:1\nL:1/0\nK:C\nC|\n", "L:1/0 cannot be read"),
        ("a.abc", b"X:1\nK:C\n" + b"CDEF|" * 20_000, "letters; at most"),
        ("a.abc", b"X:1\nK:C\n" + b"CDEF|" * 700, "more than 600 barlines"),
        ("a.mid", b"MThd", "the MIDI file is broken"),
        ("a.mid", midi(0), "does not say what a beat is"),
        ("a.mid", midi(0xE728), "frames"),
        ("a.mid", midi(480)[:-9], "the MIDI file is broken"),
        ("a.mid", midi(480, b"\x00\xff\x59\x02\x14\x05" + TRACK), "the MIDI file is broken"),
        ("a.mid", midi(480, b"\x00\xff\x58\x04\xff\x10\x18\x08" + TRACK), "no time signature"),
        ("a.mid", midi(480, b"\xff\xff\xff\x7f\x90\x3c\x40" + TRACK), "20,000 beats"),
        ("a.mid", midi(480, TRACK.replace(b"\x90", b"\x99").replace(b"\x80", b"\x89")), "drums"),
    ],
)
def test_what_is_broken_or_hostile_is_refused(
    tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    (tmp_path / name).write_bytes(data)
    result = run(tmp_path / name, "--to", tmp_path / "x.yaml")
    assert result.exit_code == 1, result.output
    assert said in result.output
    assert not (tmp_path / "x.yaml").exists()


def test_a_midi_file_tells_what_it_leaves_out(tmp_path: Path) -> None:
    chord = b"\x00\x90\x3c\x40\x00\x90\x40\x40\x83\x60\x80\x3c\x40\x00\x80\x40\x40"
    drum = b"\x00\x99\x24\x40\x83\x60\x89\x24\x40"
    piece, said = brought(tmp_path, midi(480, chord * 4 + drum + TRACK), "tune.mid")
    assert "of notes struck at once the top one is kept" in said
    assert "percussion is left out (1 hits)" in said
    assert len(piece.lines["head"].notes) == 5


def test_a_plain_text_of_sargam_is_a_tune_too(tmp_path: Path) -> None:
    """The svara names of the two systems are common practice, from memory."""
    text = (
        "Levee Song\nRaga: Yaman  Tala: Teental\n\nSthayi:\n"
        "Ni Re Ga - | Ma# Dha Ni Sa' | Ni Dha Pa Ma# | Ga Re Sa - |\n"
    )
    piece, said = brought(tmp_path, text, "levee.txt", "--tonic", "E")
    assert "spelling: the names Sa Re Ga Ma" in said
    assert (piece.title, str(piece.tonic), piece.mode.name) == ("Levee Song", "E", "Yaman")
    pitches = [note.pitch for note in piece.lines["sthayi"].notes]
    assert pitches == [11, 2, 4, 6, 9, 11, 12, 11, 9, 7, 6, 4, 2, 0]
    (tmp_path / "piece.yaml").unlink()
    other, _ = brought(tmp_path, text, "levee.txt", "--mode", "bihag")
    assert other.mode.name == "Bihag"


def test_a_text_without_music_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("Dear all,\nthe rehearsal is at eight.\n", "utf-8")
    result = run(tmp_path / "a.txt")
    assert result.exit_code == 1
    assert "has no rows of sargam" in result.output
