"""The commands of the rehearsal: ``backing``, ``tonics``, and another Sa for a whole piece."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import mido
import music21
import pretty_midi
import pytest
from click.testing import CliRunner, Result
from support.making import with_heading
from support.small_font import Preset, small_font

from cyclechart import cli
from cyclechart.write.files.manifest import MANIFEST

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
    assert whole.name == "weir--backing.mid"
    slow, usual = written(piece, "--tempo", "50%,100%")
    assert [slow.name, usual.name] == [
        "weir--backing--50-percent.mid",
        "weir--backing--100-percent.mid",
    ]
    assert length(slow) == pytest.approx(2 * length(usual), rel=1e-4)
    assert usual.read_bytes() == whole.read_bytes()


def test_who_is_in_the_room_is_left_out(piece: Path) -> None:
    (path,) = written(piece, "--without", "alto-sax", "--without", "tabla")
    assert path.name == "weir--backing--without-alto-sax--without-tabla.mid"
    assert names(path) == {"flute", "tanpura", "claps and waves"}


def test_some_cycles_over_and_over(piece: Path) -> None:
    (once,) = written(piece, "--only-cycles", "2-3")
    (thrice,) = written(piece, "--only-cycles", "2-3", "--loop", "3")
    assert once.name == "weir--backing--cycles-2-3.mid"
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
    assert path.name == "weir--backing--sing-back.mid"
    read = pretty_midi.PrettyMIDI(str(path))
    flute = next(one for one in read.instruments if one.name == "flute")
    # Eight notes from the count-in's end at 4 s, then nothing for as long, but for the pickup.
    starts = [note.start for note in flute.notes]
    assert len([at for at in starts if 3.9 <= at < 7.9]) == 8
    assert [at for at in starts if 8 <= at < 10.9] == []


def test_another_sa(piece: Path) -> None:
    (usual,), (moved,) = written(piece), written(piece, "--tonic", "F")
    assert moved.name == "weir--backing--sa-f.mid"
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
    assert tuned.name == "weir--backing--tuning-standard.mid"
    assert bent.read_bytes() == before != tuned.read_bytes()
    kinds = {message.type for track in mido.MidiFile(tuned).tracks for message in track}
    assert "sysex" in kinds
    (slow,) = written(piece, "--tempo", "50%", "--tuning-standard")
    assert slow.name == "weir--backing--50-percent--tuning-standard.mid"


# Names


CHOICES = (
    ((), ("--tempo", "50%"), ("--tempo", "100%,60%")),
    ((), ("--without", "tabla"), ("--without", "flute,alto-sax")),
    ((), ("--only-cycles", "1"), ("--only-cycles", "1-2")),
    ((), ("--loop", "2")),
    ((), ("--click",), ("--no-click",)),
    ((), ("--sing-back",)),
    ((), ("--tonic", "Eb")),
    ((), ("--tuning-standard",)),
    ((), ("--plain",)),
)
"""Of each option the ways to give it, none first."""
STEMS = ("weir", "backing", "weir--backing", "weir--backing--loop", "Two Tides", "x" * 130)


def combinations() -> list[tuple[str, ...]]:
    """Each option alone, each two neighbours together, and all at once."""
    alone = [way for ways in CHOICES for way in ways[1:]]
    pairs = [(*a[-1], *b[-1]) for a, b in pairwise(CHOICES)]
    return [(), *alone, *pairs, tuple(word for ways in CHOICES for word in ways[-1])]


def test_no_name_is_ever_one_of_arrange_or_of_a_book(piece: Path) -> None:
    folder = piece.parent / "out"
    ours: set[str] = set()
    for options in combinations():
        paths = written(piece, *options)
        fresh = {path.name for path in paths}
        assert all(name.startswith("weir--backing") for name in fresh)
        # Other options, another file.
        assert len(fresh) == len(paths) and not fresh & ours, options
        ours |= fresh
    assert run("arrange", piece, "--png", "--to", folder).exit_code == 0
    # A set with the name of a piece shares its folder.
    setlist = piece.parent / "sets" / "weir.yaml"
    setlist.parent.mkdir()
    setlist.write_text("title: Night\npieces: [{piece: ../weir.yaml}]\n", "utf-8")
    assert run("book", setlist, "--to", folder).exit_code == 0
    every = {path.name for path in (folder / "weir").iterdir()}
    assert ours < every
    entries = json.loads((folder / "weir" / MANIFEST).read_text("utf-8"))["files"]
    theirs = {name for name, entry in entries.items() if not entry["kind"].startswith("backing")}
    assert {"weir.mid", "weir.musicxml", "weir.pdf", "weir-grid.pdf", "weir-all.pdf"} <= theirs
    assert not {name.casefold() for name in theirs} & {name.casefold() for name in ours}


@pytest.mark.parametrize("stem", STEMS)
def test_arranges_file_stays_as_it_is_under_any_name(piece: Path, stem: str) -> None:
    path = piece.rename(piece.with_name(f"{stem}.yaml"))
    assert run("arrange", path, "--only", "midi", "--to", piece.parent / "out").exit_code == 0
    midi = piece.parent / "out" / stem / f"{stem}.mid"
    before = midi.read_bytes()
    for options in ((), ("--tuning-standard",), ("--loop", "2")):
        paths = written(path, *options)
        assert midi not in paths and all(one.is_file() for one in paths)
        assert midi.read_bytes() == before


def under_its_former_name(piece: Path, kind: str = "backing weir.mid") -> Path:
    """The file of a plain ``backing`` of 0.1's first days: under the name of ``arrange``'s."""
    (path,) = written(piece)
    former = path.rename(path.with_name("weir.mid"))
    manifest = path.parent / MANIFEST
    known = json.loads(manifest.read_text("utf-8"))
    entry = known["files"].pop(path.name)
    known["files"][former.name] = {**entry, "kind": kind}
    manifest.write_text(json.dumps(known), "utf-8")
    return former


def test_the_file_under_the_former_name_goes_when_it_is_made_anew(piece: Path) -> None:
    former = under_its_former_name(piece)
    written(piece, "--loop", "2")
    assert former.is_file()  # of other options
    (path,) = written(piece)
    assert path.is_file() and not former.exists()
    entries = json.loads((path.parent / MANIFEST).read_text("utf-8"))["files"]
    assert set(entries) == {"weir--backing.mid", "weir--backing--times-2.mid"}


def test_a_file_that_is_not_of_backing_stays_under_the_former_name(piece: Path) -> None:
    former = under_its_former_name(piece, kind="midi")
    written(piece)
    assert former.is_file()
    # Nor one that somebody has changed, nor one of their own.
    former.unlink()
    former = under_its_former_name(piece)
    former.write_bytes(b"my own")
    result = run("backing", piece, "--to", piece.parent / "out")
    assert former.read_bytes() == b"my own"
    assert "it stays" in result.stderr and "weir.mid" in result.stderr
    assert written(piece)[0].is_file() and former.read_bytes() == b"my own"


# Sound: the balance, a sound font


def font_file(folder: Path) -> Path:
    path = folder / "small.sf2"
    path.write_bytes(small_font([Preset(0, 73)]))
    return path


def test_the_balance_is_in_the_name_of_the_file(piece: Path) -> None:
    (usual,) = written(piece, "--as", "flac", "--only-cycles", "1")
    (other,) = written(piece, "--as", "flac", "--only-cycles", "1", "--balance", "loudspeakers")
    assert usual.name == "weir--backing--cycle-1.flac"
    assert other.name == "weir--backing--cycle-1--for-loudspeakers.flac"
    assert usual.read_bytes() != other.read_bytes()
    (same,) = written(piece, "--as", "flac", "--only-cycles", "1", "--balance", "headphones")
    assert same == usual


def test_a_sound_font_is_played(piece: Path) -> None:
    pytest.importorskip("tinysoundfont")
    font = font_file(piece.parent)
    result = run(
        "backing", piece, "--to", piece.parent / "out", "--as", "flac", "--only-cycles", "1",
        "--font", font,
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    (path,) = map(Path, result.stdout.splitlines())
    assert path.name == "weir--backing--cycle-1--font-small.flac"
    assert "small.sf2 has no program 66: alto-sax keeps our own voice" in result.stderr
    assert "tabla" not in result.stderr
    assert "tanpura" not in result.stderr


@pytest.mark.parametrize(
    ("options", "reason"),
    [
        (("--balance", "loudspeakers"), "a MIDI file has no balance for loudspeakers"),
        (("--font", "FONT"), "a MIDI file has no sound of its own"),
        (("--as", "flac", "--font", "TEXT"), "it is no SoundFont 2 file"),
        (("--as", "flac", "--font", "HALF"), "it is cut off"),
        (("--as", "flac", "--font", "HUGE"), "it is larger than"),
        (("--as", "flac", "--font", "none.sf2"), "does not exist"),
        (("--as", "flac", "--balance", "car"), "headphones"),
    ],
)
def test_sound_options_that_cannot_be_are_refused(
    options: tuple[str, ...], reason: str, piece: Path
) -> None:
    pytest.importorskip("tinysoundfont")
    folder = piece.parent
    font = font_file(folder)
    (folder / "half.sf2").write_bytes(font.read_bytes()[:700])
    with (folder / "huge.sf2").open("wb") as file:
        file.truncate(1 << 33)
    places = {"FONT": font, "TEXT": piece, "HALF": folder / "half.sf2", "HUGE": folder / "huge.sf2"}
    result = run("backing", piece, "--to", folder / "out", *(places.get(o, o) for o in options))
    assert result.exit_code == 2
    assert reason in result.stderr
    assert "Traceback" not in result.output
    assert not (folder / "out").exists()


def test_without_the_package_a_font_says_what_to_install(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    result = run(
        "backing", piece, "--to", piece.parent / "out", "--as", "flac",
        "--font", font_file(piece.parent),
    )  # fmt: skip
    assert result.exit_code == 2
    assert "pip install 'cyclechart[font]'" in result.stderr


def test_plain_is_another_file_that_is_level(piece: Path) -> None:
    (phrased,) = written(piece)
    (plain,) = written(piece, "--plain")
    assert plain.name == "weir--backing--plain.mid"

    def velocities(path: Path) -> set[int]:
        flute = pretty_midi.PrettyMIDI(str(path)).instruments[0]
        return {note.velocity for note in flute.notes}

    assert len(velocities(plain)) == 1 < len(velocities(phrased))
    (slow,) = written(piece, "--plain", "--tempo", "50%")
    assert slow.name == "weir--backing--50-percent--plain.mid"
