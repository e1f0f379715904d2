"""The command ``rehearse`` as it is run: its files, its messages, its exit codes.

Outside: the files that lie in the folder, read by soundfile; what --tonic moves, by a spectrum.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest
import soundfile
from click.testing import CliRunner, Result
from support.making import with_heading
from support.pools import one_thread
from support.small_font import Preset, small_font

from cyclechart import cli
from cyclechart.produce import rehearsal_folder
from cyclechart.write.files.manifest import MANIFEST

BAND = "players: {flute: , tabla: , tanpura: }\n"
LINE = 'lines:\n  head: {sargam: "S R G m P d n d"}\n'
TEXT = with_heading(f"{BAND}{LINE}form: [play: head]\n", cycle="keherwa", tempo="240")
FEW = ("--as", "flac", "--only", "band,without-t")


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tests of the folder start processes, and one of them by this command."""
    monkeypatch.setattr(rehearsal_folder, "workers", one_thread)


def run(*args: object) -> Result:
    return CliRunner().invoke(cli.cli, ["rehearse", *(str(arg) for arg in args)])


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "weir.yaml"
    path.write_text(TEXT, "utf-8")
    return path


def folder(piece: Path) -> Path:
    return piece.parent / "out" / piece.stem / "rehearsal"


def made(piece: Path, *options: str) -> Result:
    result = run(piece, "--to", piece.parent / "out", "--verbose", *options)
    assert result.exit_code == 0, result.output
    assert result.exception is None
    return result


def listed_in(readme: Path) -> set[str]:
    """The names of files that a folder's page tells of."""
    words = [line.split() for line in readme.read_text("utf-8").splitlines() if line]
    kinds = (".mp3", ".flac", ".ogg", ".wav")
    return {line[0] for line in words if line[0].endswith(kinds)}


def lying_in(where: Path) -> set[str]:
    return {one.name for one in where.iterdir()} - {MANIFEST, "README.txt"}


def test_it_makes_what_it_says_and_keeps_what_is_there(piece: Path) -> None:
    first = made(piece, *FEW)
    names = {"band.flac", "without-tabla.flac", "without-tanpura.flac"}
    where = folder(piece)
    assert lying_in(where) == names
    assert {Path(line).name for line in first.stdout.splitlines()} == names
    assert "rehearsal: 3 written" in first.stderr
    assert "Hearing" in first.stderr
    # Sixteen beats of a quarter of a second, and three seconds to ring.
    for name in names:
        info = soundfile.info(str(where / name))
        assert (info.samplerate, info.channels) == (44_100, 2)
        assert info.duration == pytest.approx(4 + 3, abs=0.01)
    assert listed_in(where / "README.txt") == names
    again = made(piece, *FEW)
    assert again.stdout == ""
    assert "0 written, 3 up to date" in again.stderr
    # More of it: the page tells of all that lies there.
    made(piece, "--as", "flac", "--only", "claps")
    assert lying_in(where) == names | {"claps.flac"} == listed_in(where / "README.txt")
    # Another player: what is without him is as it was, but he had no file before.
    text = TEXT.replace("tabla", "cajon")
    piece.write_text(text, "utf-8")
    third = made(piece, "--as", "flac", "--only", "band,without-c,claps")
    fresh = {Path(line).name for line in third.stdout.splitlines()}
    assert fresh == {"band.flac", "without-cajon.flac"}
    assert "without-tabla.flac" not in lying_in(where)
    assert lying_in(where) == listed_in(where / "README.txt")
    # Another kind beside it.
    made(piece, "--as", "ogg", "--only", "claps")
    assert {"claps.ogg", "claps.flac", "band.flac"} <= lying_in(where)
    assert listed_in(where / "README.txt") <= lying_in(where)


def test_a_list_is_no_work(piece: Path) -> None:
    result = made(piece, "--list")
    names = [line.split()[0] for line in result.stdout.splitlines()]
    assert names[0] == "band.mp3" and names[-1] == "drone.mp3"
    assert len(names) == len(set(names))
    assert not (piece.parent / "out").exists()
    some = made(piece, "--list", "--only", "slow", "--only", "drone, claps", "--as", "ogg")
    assert [line.split()[0] for line in some.stdout.splitlines()] == [
        "slow-60.ogg", "slow-70.ogg", "slow-80.ogg", "slow-90.ogg", "claps.ogg", "drone.ogg",
    ]  # fmt: skip
    assert "30:00" in some.stdout.splitlines()[-1]


def test_the_page_comes_first_and_each_file_is_a_line_as_it_is_done(piece: Path) -> None:
    result = made(piece, "--as", "flac", "--only", "claps,page,band")
    names = ["page.html", "band.flac", "claps.flac"]
    assert [Path(line).name for line in result.stdout.splitlines()] == names
    lines = [line.split() for line in result.stderr.splitlines()[:3]]
    # While the band's last stem is made, the claps may be.
    assert lines[0][0] == "page.html" and {line[0] for line in lines} == set(names)
    assert lines[0][2] == "MB" and lines[1][1] == lines[2][1] == "0:07"
    page = (folder(piece) / "page.html").read_text("utf-8")
    assert page.startswith("<!DOCTYPE html>")
    # Done once: nothing to do, nothing said.
    again = made(piece, "--as", "flac", "--only", "page,band,claps")
    assert again.stdout == "" and "page.html" not in again.stderr
    assert "0 written, 3 up to date" in again.stderr
    # Another piece, another page, by itself.
    piece.write_text(TEXT.replace("S R G m P d n d", "S R G m P d n S'"), "utf-8")
    alone = made(piece, "--as", "flac", "--only", "page")
    assert [Path(line).name for line in alone.stdout.splitlines()] == ["page.html"]
    assert (folder(piece) / "page.html").read_text("utf-8") != page
    assert lying_in(folder(piece)) == set(names)


def test_the_drone_is_one_round_where_no_sample_is_lost(piece: Path) -> None:
    last = {
        kind: made(piece, "--list", "--only", "drone", "--as", kind).stdout
        for kind in ("mp3", "flac")
    }
    assert "30:00" in last["mp3"] and "one round" not in last["mp3"]
    assert "1:30" in last["flac"] and "one round" in last["flac"] and "seam" in last["flac"]
    folder(piece).mkdir(parents=True)
    (folder(piece) / "drone.flac").touch()
    made(piece, "--as", "flac", "--only", "claps")
    about = (folder(piece) / "README.txt").read_text("utf-8")
    assert "set your player to repeat" in about and "one round" in about
    assert any("drone.flac" in line and "1:30" in line for line in about.splitlines())


@pytest.mark.parametrize(
    ("name", "near"), [("drome", "drone"), ("clasp", "claps"), ("without-table", "without-tabla")]
)
def test_an_unknown_name_is_told_with_the_nearest(piece: Path, name: str, near: str) -> None:
    result = run(piece, "--to", piece.parent / "out", "--only", name)
    assert result.exit_code == 2
    assert f"'{name}'" in result.stderr and near in result.stderr
    assert not (piece.parent / "out").exists()


def test_a_piece_with_errors_is_not_played(piece: Path) -> None:
    piece.write_text(TEXT.replace("S R G m", "S R Q m"), "utf-8")
    result = run(piece, "--to", piece.parent / "out")
    assert result.exit_code == 1
    assert "Q" in result.stderr and "weir.yaml" in result.stderr
    assert result.stdout == ""
    assert not (piece.parent / "out").exists()


def one_sentence(result: Result) -> None:
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    lines = result.stderr.strip().splitlines()
    # Before it there may be a line for each file that was made.
    said = [line for line in lines if not line.endswith(" 0:07")]
    assert len(said) == 1, said
    assert said[0].startswith("Error: ")


def test_where_a_file_stands_in_the_place_of_the_folder_it_says_so(piece: Path) -> None:
    where = folder(piece)
    where.parent.mkdir(parents=True)
    where.write_text("in the way")
    one_sentence(run(piece, "--to", piece.parent / "out", *FEW))
    where.unlink()
    (where / "README.txt").mkdir(parents=True)
    result = run(piece, "--to", piece.parent / "out", *FEW)
    one_sentence(result)
    assert "README.txt" in result.stderr


def test_what_the_system_forbids_is_told_with_the_name_of_a_file(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no(*_args: object, **_rest: object) -> object:
        raise PermissionError(13, "Permission denied", "/hidden/name")

    # As root may write anywhere, the system's word is put in its mouth.
    monkeypatch.setattr(tempfile, "mkstemp", no)
    result = run(piece, "--to", piece.parent / "out", *FEW)
    one_sentence(result)
    assert "Permission denied" in result.stderr and str(folder(piece)) in result.stderr
    assert "hidden" not in result.stderr


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may do all")
def test_a_folder_that_may_not_be_written_in_is_told(piece: Path) -> None:
    where = folder(piece)
    where.mkdir(parents=True)
    where.chmod(0o555)
    try:
        result = run(piece, "--to", piece.parent / "out", *FEW)
    finally:
        where.chmod(0o755)
    one_sentence(result)
    assert "ermission denied" in result.stderr


def test_another_sa_is_another_sound(piece: Path) -> None:
    made(piece, "--as", "flac", "--only", "without-t")
    before = (folder(piece) / "without-tabla.flac").read_bytes()
    assert run(piece, "--tonic", "H").exit_code == 2
    made(piece, "--as", "flac", "--only", "without-tab", "--tonic", "E")
    after = folder(piece) / "without-tabla.flac"
    assert after.read_bytes() != before
    assert soundfile.SoundFile(after).comment.endswith("Sa = E")
    assert "on E" in (folder(piece) / "README.txt").read_text("utf-8")


KINDS = {
    "only free lines": (
        f"{BAND}lines:\n  a: {{lands: free, sargam: S R}}\nform: [{{free: a, seconds: 1}}]\n"
    ),
    "one player": f"players: {{flute: }}\n{LINE}form: [play: head]\n",
    "drums only": (
        "players: {tabla: }\nlines:\n  b: {strokes: dha ge na ti na ka dhi na}\nform: [play: b]\n"
    ),
    "one note": "lines:\n  a: {sargam: S}\n",
    "eleven and a half": (
        "cycle: {beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}\n"
        'lines:\n  a: {sargam: "S R G m P d n S\' n d P m/2"}\nform: [play: a]\n'
    ),
    "changing tempo": f"{BAND}{LINE}form: [{{play: head, tempo: {{to: 400}}}}]\n",
    "very low": f"players: {{flute: , tanpura: {{octave: -3}}}}\n{LINE}",
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_piece_sounds(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "p.yaml"
    path.write_text(with_heading(KINDS[kind], cycle="keherwa", tempo="300"), "utf-8")
    made(path, "--as", "wav", "--only", "band")
    made(path, "--list")
    sound, _ = soundfile.read(folder(path) / "band.wav")
    assert abs(sound).max() > 0.02


def test_hostile_names_stay_in_the_folder(tmp_path: Path) -> None:
    text = (
        'title: "<b>../..</b> \\u202eשלום 👩\\u200d🚀"\n'
        'players:\n  "../../flute": {plays: melody, instrument: flute}\n  tanpura:\n'
        'lines:\n  "../../etc/passwd": {sargam: "S R G m P d n d"}\n'
    )
    path = tmp_path / "p.yaml"
    path.write_text(with_heading(text, cycle="keherwa", tempo="300"), "utf-8")
    result = run(path, "--to", tmp_path / "out", "--as", "flac", "--only", "without,line")
    assert result.exit_code == 0, result.output
    every = {one for one in tmp_path.rglob("*") if one.is_file()} - {path}
    assert {one.parent for one in every} == {folder(path)}
    assert lying_in(folder(path)) == {
        "without--flute.flac", "without-tanpura.flac", "line--etc-passwd.flac",
    }  # fmt: skip


def test_backing_has_the_same_sound(piece: Path) -> None:
    made(piece, "--as", "flac", "--only", "band")
    result = CliRunner().invoke(
        cli.cli, ["backing", str(piece), "--to", str(piece.parent / "out"), "--as", "flac"]
    )
    assert result.exit_code == 0, result.output
    (path,) = [Path(line) for line in result.stdout.splitlines()]
    assert path == piece.parent / "out" / "weir" / "weir--backing.flac"
    other = folder(piece) / "band.flac"
    ours, _ = soundfile.read(path)
    theirs, _ = soundfile.read(other)
    assert (ours == theirs).all()
    hidden = [one.name for one in path.parent.iterdir() if one.name.startswith(".")]
    assert hidden == [MANIFEST]


def test_the_balance_for_loudspeakers_has_a_folder_of_its_own(piece: Path) -> None:
    made(piece, *FEW)
    before = {path.name: path.read_bytes() for path in folder(piece).glob("*.flac")}
    made(piece, *FEW, "--balance", "loudspeakers")
    other = folder(piece).with_name("rehearsal-for-loudspeakers")
    after = {path.name: path.read_bytes() for path in other.glob("*.flac")}
    assert set(before) == set(after)
    assert all(after[name] != data for name, data in before.items())
    # Neither run takes the other's files.
    assert all((folder(piece) / name).read_bytes() == data for name, data in before.items())
    assert not made(piece, *FEW, "--balance", "loudspeakers").stdout


def test_a_sound_font_makes_the_files_again_and_only_then(piece: Path) -> None:
    pytest.importorskip("tinysoundfont")
    font = piece.parent / "small.sf2"
    font.write_bytes(small_font([Preset(0, 73)]))
    made(piece, *FEW)
    assert made(piece, *FEW, "--font", str(font)).stdout
    assert not made(piece, *FEW, "--font", str(font)).stdout
    # Another font under the same name.
    font.write_bytes(small_font([Preset(0, 73, level=0.3)]))
    assert made(piece, *FEW, "--font", str(font)).stdout
    font.write_bytes(b"RIFF")
    result = run(piece, "--to", piece.parent / "out", *FEW, "--font", str(font))
    assert result.exit_code == 2
    assert "it is no SoundFont 2 file" in result.stderr
