"""The folder of a rehearsal: only what changed is rendered again, and nothing is lost or left over.

Outside: the bytes and times of the files themselves; signals as POSIX has them.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from support.hearing_sound import read_sound
from support.making import ROOT, piece_of, with_heading
from support.pools import one_thread

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering, renderings_of
from cyclechart.arrange.rehearse.score_transforms import at_tempo
from cyclechart.produce import rehearsal_audio as rehearsal
from cyclechart.produce.rehearsal_audio import Job, jobs_of, make, make_one
from cyclechart.produce.rehearsal_readme import readme
from cyclechart.write.files.manifest import MANIFEST

TEXT = """\
composer: The Tidewater Seven
count-in: 0
cycle: keherwa
players: {flute: , violin: , tabla: , tanpura: }
lines:
  head: {sargam: "S R G m P d n d"}
  answer: {sargam: "P m G R S R G R"}
form:
  - play: {flute: head, violin: answer}
  - {play: head, by: [flute]}
"""


def quiet(_done: float, _of: float, _name: str) -> None:
    """Show nothing."""


def jobs(folder: Path, text: str = TEXT, **heading: str) -> dict[str, Job]:
    piece = piece_of(text, tempo="240", **heading)
    return {job.path.stem: job for job in jobs_of(renderings_of(piece), folder, "flac", "")}


def few(folder: Path, text: str = TEXT) -> list[Job]:
    every = jobs(folder, text)
    return [every[name] for name in ("band", "without-flute", "without-tabla", "line-head")]


def left_over(folder: Path) -> list[str]:
    return [
        one.name for one in folder.iterdir() if one.name.startswith(".") and one.name != MANIFEST
    ]


def known(folder: Path) -> dict[str, str]:
    found = json.loads((folder / MANIFEST).read_text("utf-8"))["files"]
    assert isinstance(found, dict)
    return {name: entry["key"] for name, entry in found.items()}


def changed(text: str, **heading: str) -> set[str]:
    """The files of which something changes where the piece is this."""
    before = {name: job.key for name, job in jobs(Path(), TEXT).items()}
    after = {name: job.key for name, job in jobs(Path(), text, **heading).items()}
    assert before.keys() == after.keys()
    return {name for name in before if before[name] != after[name]}


def test_only_what_changed_is_other_work() -> None:
    every = set(jobs(Path()))
    assert changed(TEXT) == set()
    # The violin's line: what it plays in, and its own.
    other = changed(TEXT.replace("P m G R S R G R", "P m G R S R G S"))
    assert {"band", "without-flute", "without-tabla", "line-answer", "slow-60"} <= other
    assert not other & {"without-violin", "line-head", "claps", "drone"}
    # Another Sa is in all but the claps; another title in all there is, for it is in the tags.
    assert every - changed(TEXT, tonic="E") <= {"claps"}
    assert changed(TEXT, title="Another") == every


def test_the_tempo_is_no_matter_to_the_drone() -> None:
    one = jobs(Path())
    piece = piece_of(TEXT, tempo="120")
    other = {job.path.stem: job for job in jobs_of(renderings_of(piece), Path(), "flac", "")}
    assert {name for name in one if one[name].key == other[name].key} == {"drone"}


def test_every_thing_that_is_heard_is_in_the_key() -> None:
    job = jobs(Path())["band"]
    longer = replace(job.performance, frames=job.performance.frames + 1)
    quiet_one = replace(job.performance.parts[0], tones=())
    others = [
        replace(job, performance=longer),
        replace(job, performance=replace(longer, frames=1)),
        replace(job, performance=replace(job.performance, parts=(quiet_one, *longer.parts[1:]))),
        replace(job, heard=job.heard[:-1]),
        replace(job, rounds=2),
        replace(job, kind="ogg"),
        replace(job, tags=replace(job.tags, comment="other")),
    ]
    assert len({one.key for one in (job, *others)}) == 8
    # Where it lies is not.
    assert replace(job, path=Path("elsewhere.flac")).key == job.key


def test_a_key_is_the_same_in_every_process(tmp_path: Path) -> None:
    program = (
        "from pathlib import Path\nimport test_rehearsal_audio as t\n"
        "print(*[job.key for job in t.jobs(Path()).values()])\n"
    )
    said = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True,
        env={"PYTHONPATH": f"{ROOT}:{ROOT}/tests:{ROOT}/tests/produce", "PYTHONHASHSEED": "11",
             "PATH": ""},
    ).stdout.split()  # fmt: skip
    assert said == [job.key for job in jobs(Path()).values()]


def test_what_has_not_changed_is_kept_and_what_has_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[tuple[float, float]] = []
    first = few(tmp_path)
    made, sentences = make(first, tmp_path, lambda done, of, _name: shown.append((done, of)))
    assert made == [job.path for job in first]
    assert sentences == ()
    assert shown[-1][0] == pytest.approx(shown[-1][1])
    assert [done for done, _ in shown] == sorted(done for done, _ in shown)
    assert all(job.path.stat().st_mode & 0o777 == 0o644 for job in first)
    assert left_over(tmp_path) == []
    # Alone and in this process it is the same file. The rest is made here, too: it is quicker.
    monkeypatch.setattr(rehearsal, "workers", one_thread)
    alone = replace(first[0], path=tmp_path / "elsewhere" / "band.flac")
    make_one(alone)
    assert alone.path.read_bytes() == first[0].path.read_bytes()
    assert left_over(alone.path.parent) == []
    # Nothing to do: nothing done.
    assert make(first, tmp_path, quiet) == ([], ())
    # One note of the violin's.
    second = few(tmp_path, TEXT.replace("P m G R S R G R", "P m G R S R G S"))
    times = {job.path: job.path.stat().st_mtime_ns for job in first}
    made, _ = make(second, tmp_path, quiet, keep=["mine.flac"])
    assert {path.stem for path in made} == {"band", "without-flute", "without-tabla"}
    kept = tmp_path / "line-head.flac"
    assert kept.stat().st_mtime_ns == times[kept]
    # One that was taken away by hand is made again; what is no longer asked for goes, ours alone.
    kept.unlink()
    (tmp_path / "notes.txt").write_text("ours?")
    (tmp_path / "take.flac").write_text("a take of the band's own")
    assert make(second[3:], tmp_path, quiet, keep=["band.flac"]) == ([kept], ())
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        MANIFEST, "band.flac", "elsewhere", "line-head.flac", "notes.txt", "take.flac",
    ]  # fmt: skip
    assert set(known(tmp_path)) == {"band.flac", "line-head.flac"}


def test_a_run_that_fails_leaves_old_files_whole(tmp_path: Path) -> None:
    first = few(tmp_path)[:1]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rehearsal, "workers", one_thread)
        make(first, tmp_path, quiet, cores=1)
    old = first[0].path.read_bytes()
    # In the place of one of the new files stands a folder.
    second = few(tmp_path, TEXT.replace("S R G m P d n d", "S R G m P d n R"))
    (tmp_path / "without-flute.flac").mkdir()
    with pytest.raises(OSError, match=r"without-flute"):
        make(second[1:2] + second[3:], tmp_path, quiet, cores=1, keep=["band.flac"])
    assert first[0].path.read_bytes() == old
    assert left_over(tmp_path) == []
    assert known(tmp_path).get("without-flute.flac", "") == ""
    for path in tmp_path.glob("*.flac"):
        assert path.is_dir() or len(read_sound(path)) > 0


def test_whoever_stops_it_halfway_finds_nothing_left_over(tmp_path: Path) -> None:
    class Enough(Exception):
        pass

    def stop(_done: float, _of: float, _name: str) -> None:
        raise Enough

    with pytest.raises(Enough):
        make(few(tmp_path), tmp_path, stop, cores=2)
    assert left_over(tmp_path) == []
    assert len(known(tmp_path)) == 1


def test_an_interrupt_leaves_nothing_half_made(tmp_path: Path) -> None:
    text = with_heading(TEXT, tempo="60")
    text = text.replace("  - {play: head, by: [flute]}", "  - {play: head, times: 8}")
    (tmp_path / "long.yaml").write_text(text, "utf-8")
    folder = tmp_path / "out" / "long" / "rehearsal"
    # A shell that runs the tests in the background has its children ignore the signal.
    heeding = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    run = subprocess.Popen(
        [sys.executable, "-c", f"{heeding}from cyclechart.cli import main; main()", "rehearse",
         "long.yaml", "--to", "out"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    until = time.monotonic() + 120
    while not list(folder.glob(".making-*/*")) and time.monotonic() < until:
        time.sleep(0.05)
    # As a terminal does: to all of the group.
    os.killpg(run.pid, signal.SIGINT)
    run.communicate(timeout=60)
    assert run.returncode != 0
    assert left_over(folder) == []
    for path in folder.glob("*.mp3"):
        assert len(read_sound(path)) > 0


def ended(_job: Job, _scratch: Path) -> None:
    """As the system ends a process that takes too much memory."""
    os._exit(9)


def test_a_process_that_is_ended_is_an_error_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal, "_by_itself", ended)
    score = arrange(piece_of(TEXT, tempo="240"))
    (job,) = jobs_of([Rendering("band", "", score)], tmp_path, "flac", "")
    with pytest.raises(OSError, match="ended from outside"):
        make([replace(job)], tmp_path, quiet, cores=1)
    assert left_over(tmp_path) == []


def test_tags_say_what_it_is(tmp_path: Path) -> None:
    piece = piece_of(TEXT, tempo="96", title="Salt Road")
    for one, job in zip(
        renderings_of(piece), jobs_of(renderings_of(piece), tmp_path, "mp3", ""), strict=True
    ):
        assert job.tags.title == f"Salt Road: {one.about}"
        assert (job.tags.artist, job.tags.album) == ("The Tidewater Seven", "Salt Road")
        assert "beats a minute, Sa = D" in job.tags.comment
    half = jobs_of([Rendering("x", "x", at_tempo(arrange(piece), piece.tempo / 192))], tmp_path,
                   "mp3", "Us")  # fmt: skip
    assert half[0].tags.artist == "Us"
    assert half[0].tags.comment.startswith("48 beats")


def test_a_piece_without_a_composer_can_be_made(tmp_path: Path) -> None:
    text = TEXT.replace("composer: The Tidewater Seven\n", "")
    (job,) = jobs_of([Rendering("band", "", arrange(piece_of(text, tempo="240")))], tmp_path,
                     "mp3", "")  # fmt: skip
    assert job.tags.artist == ""
    make_one(job)
    assert len(read_sound(job.path)) > 0


def test_the_page_lists_names_times_and_cautions() -> None:
    piece = piece_of(TEXT, title="Salt \u202eRoad", tempo="96")
    files = [("band.mp3", "the whole band", 125.4), ("drone.mp3", "the drone", 1800.0)]
    lines = readme(piece, files).splitlines()
    assert lines[0] == "Salt Road"
    assert "band.mp3     2:05  the whole band" in lines
    assert "drone.mp3   30:00  the drone" in lines
    said = readme(piece, [])
    assert "NIOSH" in said and "your own teacher's word" in said.replace("\n", " ")
    assert max(map(len, said.splitlines())) <= 100
    assert not any("\u202a" <= sign <= "\u202e" for sign in said)
