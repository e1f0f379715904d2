"""The commands of the rehearsal: ``backing``, ``tonics``, and another Sa for a whole piece."""

from __future__ import annotations

import json
from pathlib import Path

import mido
import music21
import pretty_midi
import pytest
from click.testing import CliRunner, Result
from support.making import with_heading

from cyclechart import cli

TEXT = with_heading(
    "players: {flute: {octave: 1}, alto-sax: , tabla: , tanpura: }\n"
    'lines:\n  head: {sargam: "S R G m P d n d"}\n'
    '  close: {begins: 7, sargam: "n, R || S R G m P m G R || S"}\n'
    "form:\n  - {play: head, times: 4}\n  - play: close\n",
    cycle="keherwa",
    tempo="120",
)


def run(*args: object) -> Result:
    return CliRunner().invoke(cli.cli, [str(arg) for arg in args])


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "weir.yaml"
    path.write_text(TEXT, "utf-8")
    return path


def written(piece: Path, *options: str) -> list[Path]:
    result = run("backing", piece, "--to", piece.parent / "out", *options)
    assert result.exit_code == 0, result.output
    return [Path(line) for line in result.stdout.splitlines()]


def length(path: Path) -> float:
    return float(mido.MidiFile(path).length)


def names(path: Path) -> set[str]:
    return {instrument.name for instrument in pretty_midi.PrettyMIDI(str(path)).instruments}


def test_a_ladder_of_tempi_is_a_file_each(piece: Path) -> None:
    (whole,) = written(piece)
    assert whole.name == "weir.mid"
    slow, usual = written(piece, "--tempo", "50%,100%")
    assert [slow.name, usual.name] == ["weir--50-percent.mid", "weir--100-percent.mid"]
    assert length(slow) == pytest.approx(2 * length(usual), rel=1e-4)
    assert usual.read_bytes() == whole.read_bytes()


def test_who_is_in_the_room_is_left_out(piece: Path) -> None:
    (path,) = written(piece, "--without", "alto-sax", "--without", "tabla")
    assert path.name == "weir--without-alto-sax--without-tabla.mid"
    assert names(path) == {"flute", "tanpura", "claps and waves"}


def test_some_cycles_over_and_over(piece: Path) -> None:
    (once,) = written(piece, "--only-cycles", "2-3")
    (thrice,) = written(piece, "--only-cycles", "2-3", "--loop", "3")
    assert once.name == "weir--cycles-2-3.mid"
    # A cycle of claps and two of eight beats at 120: half a second a beat.
    assert length(once) == pytest.approx(12, abs=0.01)
    assert length(thrice) == pytest.approx(4 + 3 * 8, abs=0.01)


def test_a_pickup_is_heard_in_every_round_and_nothing_else_before(piece: Path) -> None:
    # close has a pickup of two beats; its body opens cycle 5, after four of the line.
    (path,) = written(piece, "--only-cycles", "5", "--loop", "3")
    flute = next(
        one for one in pretty_midi.PrettyMIDI(str(path)).instruments if one.name == "flute"
    )
    starts = [round(note.start, 3) for note in flute.notes]
    # Counted in for 4 s; n, and R half a second apart before each of three first beats.
    for first in (4, 8, 12):
        assert [at for at in starts if first - 1.01 <= at <= first] == [
            first - 1,
            first - 0.5,
            first,
        ]
    (path,) = written(piece, "--only-cycles", "2")
    notes = next(
        one for one in pretty_midi.PrettyMIDI(str(path)).instruments if one.name == "flute"
    ).notes
    assert min(note.start for note in notes) == pytest.approx(4, abs=0.01)


def test_claps_all_through_or_nowhere(piece: Path) -> None:
    counted = {}
    for option in ("--click", "--no-click"):
        (path,) = written(piece, option)
        read = pretty_midi.PrettyMIDI(str(path))
        counted[option] = sum(
            len(one.notes) for one in read.instruments if one.name == "claps and waves"
        )
    # Counted in, four times the line, and the close: eight taps to each of seven cycles or so.
    assert counted["--click"] >= 8 * 6
    assert counted["--no-click"] == 0


def test_a_line_and_as_long_to_sing_it_back(piece: Path) -> None:
    (path,) = written(piece, "--sing-back")
    assert path.name == "weir--sing-back.mid"
    read = pretty_midi.PrettyMIDI(str(path))
    flute = next(one for one in read.instruments if one.name == "flute")
    # Eight notes from the count-in's end at 4 s, then nothing for as long, but for the pickup.
    starts = [note.start for note in flute.notes]
    assert len([at for at in starts if 3.9 <= at < 7.9]) == 8
    assert [at for at in starts if 8 <= at < 10.9] == []


def test_another_sa(piece: Path) -> None:
    (usual,), (moved,) = written(piece), written(piece, "--tonic", "F")
    assert moved.name == "weir--sa-f.mid"
    first, second = (
        next(i for i in pretty_midi.PrettyMIDI(str(path)).instruments if i.name == "flute")
        for path in (usual, moved)
    )
    # From D to F: three semitones up.
    assert [b.pitch - a.pitch for a, b in zip(first.notes, second.notes, strict=True)] == [3] * len(
        first.notes
    )


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--tempo", "fast"), "fast"),
        (("--tempo", "1%"), "1%"),
        (("--without", "tabl"), "tabla"),
        (("--only-cycles", "90"), "there is no cycle 90"),
        (("--only-cycles", "3-1"), "backwards"),
        (("--loop", "0"), "0"),
        (("--tonic", "H"), "not a letter name"),
    ],
)
def test_what_cannot_be_had_is_said_and_nothing_written(
    piece: Path, options: tuple[str, ...], said: str
) -> None:
    result = run("backing", piece, "--to", piece.parent / "out", *options)
    assert result.exit_code == 2
    assert said in result.output
    assert not (piece.parent / "out").exists()


def test_a_piece_that_cannot_be_read_gets_findings(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    path.write_text(TEXT.replace("play: close", "play: clsoe"), "utf-8")
    result = run("backing", path, "--to", tmp_path / "out")
    assert result.exit_code == 1
    assert "unknown-line" in result.output


# Which Sa


def test_the_sa_that_suits_comes_first(piece: Path) -> None:
    result = run("tonics", piece, "--format", "json")
    rows = json.loads(result.stdout)
    assert len({row["tonic"] for row in rows}) == 12
    beyond = [bool(row["out-of-range"]) for row in rows]
    assert beyond == sorted(beyond)
    assert all(set(row) == {"tonic", "out-of-range", "strained", "signs"} for row in rows)
    # Checked by hand: at the first no finding of range is left.
    first = rows[0]["tonic"].replace("♯", "#").replace("♭", "b")
    judged = run("check", piece, "--tonic", first, "--format", "json")
    rules = {finding["rule"] for finding in json.loads(judged.stdout)["findings"]}
    assert not rules & {"out-of-range", "strained-range"}


def test_a_saxophone_cannot_go_where_it_has_no_note(tmp_path: Path) -> None:
    path = tmp_path / "high.yaml"
    path.write_text(
        with_heading(
            "players: {alto-sax: {octave: 1}, tanpura: }\n"
            'lines:\n  head: {sargam: "S R G m P d n d"}\n',
            cycle="keherwa",
        ),
        "utf-8",
    )
    result = run("tonics", path)
    # Its highest note is A5 as it sounds (common practice): n over B♭ (58 + 12 + 10) is A♭5.
    assert result.output.splitlines()[1].startswith("B♭")
    assert "alto-sax out of range" in result.output
    assert "the player's own word comes first" in result.output


def test_arrange_moves_the_chart_too(piece: Path) -> None:
    usual, moved = piece.parent / "usual", piece.parent / "moved"
    run("arrange", piece, "--only", "musicxml", "--to", usual)
    run("arrange", piece, "--tonic", "Ab", "--only", "musicxml", "--to", moved)
    keys = []
    for folder in (usual, moved):
        score = music21.converter.parse(folder / "weir" / "weir.musicxml")
        keys.append([note.pitch.midi for note in score.flatten().notes if note.isNote])
    # D4 is 62, A♭4 68.
    assert [b - a for a, b in zip(*keys, strict=True)] == [6] * len(keys[0])
    assert run("check", piece, "--tonic", "X").exit_code == 2


def test_a_file_in_the_tuning_standard_leaves_the_other_alone(piece: Path) -> None:
    (bent,) = written(piece)
    before = bent.read_bytes()
    (tuned,) = written(piece, "--tuning-standard")
    assert tuned.name == "weir--tuning-standard.mid"
    assert bent.read_bytes() == before != tuned.read_bytes()
    kinds = {message.type for track in mido.MidiFile(tuned).tracks for message in track}
    assert "sysex" in kinds
    (slow,) = written(piece, "--tempo", "50%", "--tuning-standard")
    assert slow.name == "weir--50-percent--tuning-standard.mid"


def test_plain_is_another_file_that_is_level(piece: Path) -> None:
    (phrased,) = written(piece)
    (plain,) = written(piece, "--plain")
    assert plain.name == "weir--plain.mid"

    def velocities(path: Path) -> set[int]:
        flute = pretty_midi.PrettyMIDI(str(path)).instruments[0]
        return {note.velocity for note in flute.notes}

    assert len(velocities(plain)) == 1 < len(velocities(phrased))
    (slow,) = written(piece, "--plain", "--tempo", "50%")
    assert slow.name == "weir--50-percent--plain.mid"
