"""The rehearsal files of a band: their names, their lengths, and the players in each.

Outside: lengths against the timeline's clock, and for the ladder by arithmetic (a tempo of 60 parts
of a hundred takes 100/60 of the time).
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction as F
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import DEMO_BOOK, load_text, piece_of, random_changing_piece, random_piece

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.clock import Clock, timeline_seconds
from cyclechart.arrange.rehearse.recipes import (
    LADDER,
    MOST_LOOPED,
    Rendering,
    _unique,
    renderings_of,
)
from cyclechart.arrange.score import Part
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.heading import SLOWEST
from cyclechart.piece.model import Piece
from cyclechart.write.audio.performance import performance_of

LINE = 'lines:\n  head: {sargam: "S R G m P d n S\' n d"}\n'
PLAIN_NAME = re.compile(r"[\w-]{1,80}\.flac")
FORM = "form: [play: head]\n"

PIECES = {
    "no form": LINE,
    "one player": f"players: {{flute: }}\n{LINE}{FORM}",
    "one player, no count-in": f"players: {{flute: }}\ncount-in: 0\n{LINE}{FORM}",
    "no drone": f"players: {{flute: , tabla: }}\n{LINE}{FORM}",
    "drums only": (
        "players: {tabla: }\n"
        'lines:\n  b: {strokes: "dha dhin dhin dha dha tin tin ta dha ge"}\nform: [play: b]\n'
    ),
    "free lines only": (
        "players: {flute: , tanpura: }\n"
        "lines:\n  a: {lands: free, sargam: S R G m P}\nform: [{free: a, seconds: 10}]\n"
    ),
    "a free line played": "lines:\n  a: {lands: free, sargam: S R G m P}\nform: [play: a]\n",
    "a free stretch only": f"{LINE}form: [{{free: melody, seconds: 3}}]\n",
    "eleven and a half beats": (
        "cycle: {beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}\n"
        'lines:\n  a: {sargam: "S R G m P d n S\' n d P m/2"}\nform: [{play: a, times: 2}]\n'
    ),
    "changing tempo": f"{LINE}form: [{{play: head, times: 3, tempo: {{to: 150}}}}, groove: 2]\n",
    "eight players": (
        "players: {flute: , alto-sax: {octave: -1}, violin: , guitar: , double-bass: , tabla: , "
        f"drum-kit: , tanpura: }}\n{LINE}form: [play: head, {{solo: violin, cycles: 2}}]\n"
    ),
    "one note": "lines:\n  a: {sargam: S}\n",
    "very low and very high": (
        f"players: {{flute: {{octave: 3}}, tanpura: {{octave: -3}}}}\n{LINE}{FORM}"
    ),
    "nothing but a tonic moved": f"{LINE}form: [play: head, {{play: head, tonic: E}}]\n",
}


def seconds(one: Rendering) -> F:
    return Clock(one.score.tempos).seconds(one.score.end)


def audible_parts(one: Rendering) -> list[Part]:
    return [part for part in one.score.parts if part.name not in one.out]


def sound_enough(piece: Piece) -> dict[str, Rendering]:
    """Whatever the piece, all of these hold."""
    found = renderings_of(piece)
    assert found[0].name == "band"
    assert found[-1].name == "drone"
    named = {one.name: one for one in found}
    assert len(named) == len(found)
    for one in found:
        assert PLAIN_NAME.fullmatch(f"{one.name}.flac"), one.name
        assert one.about and "\n" not in one.about
        # Somebody is heard, and sounds; without the only one who does, nobody.
        heard = audible_parts(one)
        assert heard, one.name
        assert one.out <= {part.name for part in one.score.parts}
        if not one.name.startswith("without-"):
            assert any(part.sounds or part.hits for part in heard), one.name
        assert one.score.end > 0
        assert performance_of(one.score).frames > 0
    whole = timeline_seconds(unroll(piece))
    assert seconds(named["band"]) == whole
    for factor in LADDER:
        one = named.get(f"slow-{int(factor * 100)}")
        if one is not None:
            # Beats are whole microseconds.
            assert float(seconds(one) * factor) == pytest.approx(float(whole), rel=1e-5, abs=1e-3)
    without = [one for one in found if one.name.startswith("without-")]
    sound = [p for p in arrange(piece).parts if p.role.name != "count" and (p.sounds or p.hits)]
    # Without the only one who plays there is nothing; without one who never does, nothing new.
    expected = [{part.name} for part in sound] if len(sound) > 1 else []
    assert [one.out for one in without] == expected
    drone = named["drone"]
    assert drone.rounds * seconds(drone) == 30 * 60
    return named


@pytest.mark.parametrize("name", PIECES)
def test_every_kind_of_piece_has_its_files(name: str) -> None:
    sound_enough(piece_of(PIECES[name]))


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_so_has_the_demo_book(path: Path) -> None:
    piece = load_text(path.read_bytes(), path.parent).piece
    assert piece is not None
    named = sound_enough(piece)
    assert {"claps", "sing-back", "slow-60", "slow-90", "without-flute"} <= set(named)
    assert any(name.startswith("loop-") for name in named)


@pytest.mark.parametrize("seed", range(6))
def test_so_have_random_pieces(seed: int) -> None:
    sound_enough(piece_of(random_piece(seed)))
    sound_enough(piece_of(random_changing_piece(seed)))


def test_there_are_no_claps_where_there_is_no_cycle() -> None:
    assert "claps" not in sound_enough(piece_of(PIECES["free lines only"]))
    assert "claps" in sound_enough(piece_of(PIECES["one player, no count-in"]))


def test_the_ladder_stays_within_the_tempos_that_a_piece_may_have() -> None:
    slow = sound_enough(piece_of(LINE, tempo=str(SLOWEST)))
    assert not any(name.startswith("slow-") for name in slow)
    some = sound_enough(piece_of(LINE, tempo=str(SLOWEST * 5 / 4)))
    assert [name for name in some if name.startswith("slow-")] == ["slow-80", "slow-90"]


def test_lines_and_loops_are_as_long_as_they_are_to_be() -> None:
    # 60 a minute: a cycle of ten beats is ten seconds.
    named = sound_enough(piece_of(f"{LINE}{FORM}", tempo="60"))
    assert seconds(named["band"]) == 20
    # Counted in, and twice.
    assert seconds(named["line-head"]) == 30
    # Counted in, and four times.
    assert seconds(named["loop-a-head"]) == 50
    assert named["loop-a-head"].about.endswith("4 times over")
    # Counted in, said, a cycle to sing it back, and the one on whose first beat that lands.
    assert seconds(named["sing-back"]) == 40
    assert named["claps"].out >= {"melody", "tabla", "tanpura"}


def test_a_long_section_is_not_looped_beyond_measure() -> None:
    text = f"{LINE}form: [{{play: head, times: 20}}]\n"
    named = sound_enough(piece_of(text, tempo="60"))
    (loop,) = [one for name, one in named.items() if name.startswith("loop-")]
    assert seconds(loop) <= (1 + max(MOST_LOOPED, 20)) * 10
    assert "times over" not in loop.about


def test_a_line_alone_is_with_its_player_the_drone_and_one_hand_drum() -> None:
    named = sound_enough(piece_of(PIECES["eight players"]))
    heard = {part.name: part.role.name for part in audible_parts(named["line-head"])}
    roles = sorted(heard.values())
    assert roles == ["count", "drone", "melody", "theka"]
    assert "guitar" not in heard and "double-bass" not in heard


def test_a_line_alone_is_heard_whoever_has_it() -> None:
    text = (
        "players: {flute: , violin: , tabla: , tanpura: }\n"
        'lines:\n  head: {sargam: "S R G m P d n S\' n d"}\n'
        '  answer: {sargam: "P m G R S R G m G R"}\n'
        "form: [{play: {flute: head, violin: answer}}]\n"
    )
    named = sound_enough(piece_of(text))
    for line, player in (("head", "flute"), ("answer", "violin")):
        parts = [
            part for part in audible_parts(named[f"line-{line}"]) if part.role.name == "melody"
        ]
        assert [part.name for part in parts] == [player]
        assert len(parts[0].sounds) == 20


@pytest.mark.parametrize("octave", [-1, 0, 1])
def test_the_drone_alone_is_as_the_drone_of_the_band(octave: int) -> None:
    for player in ("tanpura", "shruti-box"):
        text = f"players: {{flute: , {player}: {{octave: {octave}}}}}\n{LINE}{FORM}"
        named = sound_enough(piece_of(text))
        (alone,) = performance_of(named["drone"].score).parts
        band = next(
            part for part in performance_of(named["band"].score).parts if part.name == player
        )
        assert (alone.name, alone.role, alone.voice) == (band.name, band.role, band.voice)
        assert {tone.hz for tone in alone.tones} == {tone.hz for tone in band.tones}


@given(st.lists(st.text(max_size=300), max_size=12))
def test_names_of_files_stay_in_the_folder(names: list[str]) -> None:
    taken: set[str] = set()
    for name in [*names, *names]:
        found = _unique(f"line-{name}", taken)
        assert PLAIN_NAME.fullmatch(f"{found}.flac")
        assert Path(found).name == found and not set(found) & set("/\\:\0\n. ")
        assert len(f"{found}.flac.raw".encode()) <= 255
        assert found == found.lower() or unicodedata.normalize("NFC", found)
    assert len(taken) == 2 * len(names)


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("line-../../etc/passwd", "line--etc-passwd"),
        ("loop-A-Head (again)", "loop-a-head-again"),
        ("???", "rendering"),
        ("line-" + "x" * 300, "line-" + "x" * 55),
        ("İ" * 3, "i-i-i"),
    ],
)
def test_hostile_names_become_plain_ones(name: str, stem: str) -> None:
    assert _unique(name, set()) == stem
    assert _unique(name, {stem}) == f"{stem}-2"


def test_a_last_cadence_has_a_loop_with_its_run_up() -> None:
    # The step is all pickup: its own cycle holds the landing alone.
    lines = f"{LINE}  ending: {{cadence: {{sargam: P m G}}}}\n"
    form = "form:\n  - {play: head, times: 2}\n  - play: ending\n"
    named = sound_enough(piece_of(f"{lines}{form}", tempo="60"))
    (name,) = [name for name in named if name.startswith("loop-b")]
    melody = next(part for part in named[name].score.parts if part.role.name == "melody")
    assert len(melody.sounds) == 4 * 9
    landings = [sound.start % 10 for sound in melody.sounds[8::9]]
    assert landings == [0, 0, 0, 0]


def test_a_free_line_alone_is_as_slow_as_in_the_form() -> None:
    lines = f"{LINE}  air: {{lands: free, sargam: S - R - G - m P - - -}}\n"
    form = "form:\n  - {free: air, seconds: 25}\n  - play: head\n"
    named = sound_enough(piece_of(f"{lines}{form}", tempo="60"))
    assert seconds(named["line-air"]) == pytest.approx(50, abs=1e-3)
