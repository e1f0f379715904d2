"""A band of eight as sound, against libsndfile encoding the same sound; and its memory."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import soundfile
from ensemble import piece
from table import Subject, Target

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.produce.rehearsal_audio import Job, jobs_of, make_one
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.encoders import ENCODER_FRAMES, Format

LONG_MINUTES = 40
LONG = 16
"""How often the form is played for so many minutes and some more."""
MOST_MEGABYTES = 500

ABOUT = """
The band of eight of the table above, three minutes or so of it, in a process of its own with one
thread. ours: from the piece arranged to the file: every note made, the mix in its room, brought to
its loudness, encoded. bare: soundfile encodes what the file has, in the same blocks and quality.
Memory is the most that a process held that made the long piece, the interpreter and all.
"""


def job(times: int, kind: Format, folder: Path) -> Job:
    """The whole band, the form so often over."""
    (made,) = jobs_of([Rendering("band", "all", arrange(piece(times)))], folder, kind, "")
    return made


def timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def bare(sound: Path, to: Path, kind: str) -> float:
    """Seconds that encoding takes once the samples are there."""
    samples, _ = soundfile.read(sound, dtype="float32")
    quality = {"FLAC": 0.5, "MP3": 0.45}[kind]

    def encode() -> None:
        with soundfile.SoundFile(to, "w", RATE, 2, format=kind, compression_level=quality) as file:
            for at in range(0, len(samples), ENCODER_FRAMES):
                file.write(samples[at : at + ENCODER_FRAMES])

    return timed(encode)


def short(folder: Path) -> dict[str, float]:
    """Seconds of each, on this one core."""
    flac, mp3 = job(1, "flac", folder), job(1, "mp3", folder)
    found = {"flac": timed(lambda: make_one(flac)), "mp3": timed(lambda: make_one(mp3))}
    found["bare flac"] = bare(flac.path, folder / "bare.flac", "FLAC")
    found["bare mp3"] = bare(flac.path, folder / "bare.mp3", "MP3")
    return {**found, "sound": soundfile.info(str(flac.path)).duration}


def long(folder: Path) -> dict[str, float]:
    """The long piece, and what it took at most."""
    made = job(LONG, "flac", folder)
    seconds = timed(lambda: make_one(made))
    # Linux counts kilobytes, macOS bytes.
    unit = 1e6 if sys.platform == "darwin" else 1e3
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
    size = soundfile.info(str(made.path)).duration
    return {"seconds": seconds, "megabytes": most, "sound": size}


def in_a_process(which: str) -> dict[str, float]:
    """Return the result of ``short`` or ``long``, run in a process of its own."""
    one = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    said = subprocess.run(
        [sys.executable, __file__, which], check=True, capture_output=True, text=True,
        env={**os.environ, **one},
    ).stdout  # fmt: skip
    found: dict[str, float] = json.loads(said)
    return found


def subject() -> Subject:
    """The whole table; each is run once."""
    few, many = in_a_process("short"), in_a_process("long")
    assert many["sound"] >= LONG_MINUTES * 60
    encoded = few["bare flac"] + few["bare mp3"]
    ours = few["flac"] + few["mp3"]
    size = few["sound"]
    rows = [
        (name, f"{few[key]:.2f}", f"{size / few[key]:.0f}", f"{few[key] / encoded:.2f}")
        for name, key in (
            ("ours, FLAC", "flac"), ("ours, MP3", "mp3"), ("bare, FLAC", "bare flac"),
            ("bare, MP3", "bare mp3"),
        )
    ]  # fmt: skip
    rows.append(
        (
            f"ours, FLAC, {many['sound'] / 60:.0f} min",
            f"{many['seconds']:.2f}",
            f"{many['sound'] / many['seconds']:.0f}",
            "",
        )
    )
    targets = (
        Target(f"{size / 60:.1f} minutes, both kinds: ours / bare", ours / encoded, 3.0),
        Target("times real time, FLAC, one core", size / few["flac"], 30, at_least=True),
        Target("megabytes at most for the long piece", many["megabytes"], MOST_MEGABYTES),
    )
    head = ("file", "seconds", "× real time", "/ bare FLAC + MP3")
    return Subject("A band of eight as sound", ABOUT, head, tuple(rows), targets)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        work = {"short": short, "long": long}[sys.argv[1]]
        print(json.dumps(work(Path(name))))
