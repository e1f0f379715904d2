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
from support.rehearsals import TEXT, jobs

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.produce import rehearsal_audio, rehearsal_folder
from cyclechart.produce.rehearsal_audio import Job, jobs_of, make_one
from cyclechart.produce.rehearsal_folder import make
from cyclechart.write.files.manifest import MANIFEST
from cyclechart.write.files.progress import show_nothing


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


def test_what_has_not_changed_is_kept_and_what_has_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[tuple[float, float]] = []

    def show(done: float, of: float, _name: str, left: float | None = None, /) -> None:
        assert left is not None and left >= 0
        shown.append((done, of))

    first = few(tmp_path)
    made, sentences = make(first, tmp_path, show)
    assert made == [job.path for job in first]
    assert sentences == ()
    assert shown[-1][0] == pytest.approx(shown[-1][1])
    assert [done for done, _ in shown] == sorted(done for done, _ in shown)
    assert all(job.path.stat().st_mode & 0o777 == 0o644 for job in first)
    assert left_over(tmp_path) == []
    # Alone and in this process it is the same file. The rest is made here, too: it is quicker.
    monkeypatch.setattr(rehearsal_folder, "workers", one_thread)
    alone = replace(first[0], path=tmp_path / "elsewhere" / "band.flac")
    make_one(alone)
    assert alone.path.read_bytes() == first[0].path.read_bytes()
    assert left_over(alone.path.parent) == []
    # Nothing to do: nothing done.
    assert make(first, tmp_path, show_nothing) == ([], ())
    # One note of the violin's.
    second = few(tmp_path, TEXT.replace("P m G R S R G R", "P m G R S R G S"))
    times = {job.path: job.path.stat().st_mtime_ns for job in first}
    made, _ = make(second, tmp_path, show_nothing, keep=["mine.flac"])
    assert {path.stem for path in made} == {"band", "without-flute", "without-tabla"}
    kept = tmp_path / "line-head.flac"
    assert kept.stat().st_mtime_ns == times[kept]
    # One that was taken away by hand is made again; what is no longer asked for goes, ours alone.
    kept.unlink()
    (tmp_path / "notes.txt").write_text("ours?")
    (tmp_path / "take.flac").write_text("a take of the band's own")
    assert make(second[3:], tmp_path, show_nothing, keep=["band.flac"]) == ([kept], ())
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        MANIFEST, "band.flac", "elsewhere", "line-head.flac", "notes.txt", "take.flac",
    ]  # fmt: skip
    assert set(known(tmp_path)) == {"band.flac", "line-head.flac"}


def test_a_run_that_fails_leaves_old_files_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal_folder, "workers", one_thread)
    first = few(tmp_path)[:1]
    make(first, tmp_path, show_nothing, cores=1)
    old = first[0].path.read_bytes()
    # In the place of one of the new files stands a folder.
    second = few(tmp_path, TEXT.replace("S R G m P d n d", "S R G m P d n R"))
    (tmp_path / "without-flute.flac").mkdir()
    with pytest.raises(OSError, match=r"without-flute"):
        make(second[1:2] + second[3:], tmp_path, show_nothing, cores=1, keep=["band.flac"])
    assert first[0].path.read_bytes() == old
    assert left_over(tmp_path) == []
    assert known(tmp_path).get("without-flute.flac", "") == ""
    for path in tmp_path.glob("*.flac"):
        assert path.is_dir() or len(read_sound(path)) > 0


def test_whoever_stops_it_halfway_finds_nothing_left_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal_folder, "workers", one_thread)

    class Enough(Exception):
        pass

    def stop(_name: str, _length: str) -> None:
        raise Enough

    with pytest.raises(Enough):
        make(few(tmp_path), tmp_path, show_nothing, cores=2, finished=stop)
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


def ended(*_arguments: object) -> None:
    """As the system ends a process that takes too much memory."""
    os._exit(9)


def test_a_process_that_is_ended_is_an_error_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal_audio, "mixed_file", ended)
    score = arrange(piece_of(TEXT, tempo="240"))
    (job,) = jobs_of([Rendering("band", "", score)], tmp_path, "flac", "")
    with pytest.raises(OSError, match="ended from outside"):
        make([replace(job)], tmp_path, show_nothing, cores=1)
    assert left_over(tmp_path) == []
