"""What a sound file costs, stage by stage: ``PYTHONPATH=. python tests/bench/sound_files.py``.

CPU seconds of one process (set OPENBLAS_NUM_THREADS=1) of a whole file by itself, from the score to
the encoded bytes: players, mix and room, mastering, encoding. (`rehearse` renders the players once
for all files of a tempo.) Arguments: pieces, instead of the two of this table.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.piece.load import load
from cyclechart.produce.rehearsal_audio import Job, frames_of, jobs_of, whole_file
from cyclechart.write.audio.encoders import Format, write_sound
from cyclechart.write.audio.mixdown import (
    apply_mastering,
    mastering_of,
    mix_stems,
    part_gains,
    raw_blocks,
)
from cyclechart.write.audio.player_stems import player_stem

PIECES = Path(__file__).parents[2] / "pieces"
USUAL = (PIECES / "two-tides.yaml", PIECES / "the-delta-post.yaml")
LEAST: dict[Format, int] = {"flac": 30, "mp3": 20}
"""Times real time that a whole file has to reach on one core."""


@contextmanager
def stage(name: str, seconds: float) -> Iterator[None]:
    """Print the CPU seconds of what is done inside, of so many seconds of sound."""
    start = time.process_time()
    yield
    used = time.process_time() - start
    print(f"  {name:<28}{used:7.2f} s{seconds / used:8.0f} times real time")


def whole(job: Job, folder: Path) -> float:
    """Return how many times real time a whole file is made."""
    start = time.process_time()
    whole_file(job, folder)
    return job.seconds / (time.process_time() - start)


def stages(job: Job, folder: Path) -> None:
    """Print what each stage of a file costs."""
    frames, parts = frames_of(job), job.performance.parts
    stems = []
    for part in parts:
        with stage(f"{part.name} ({part.voice})"[:28], job.seconds):
            stems.append(list(player_stem(part, frames, job.options)))
    raw = folder / "mix.raw"
    with stage("mix and room", job.seconds), raw.open("wb") as file:
        for block in mix_stems([iter(stem) for stem in stems], part_gains(parts, job.options)):
            file.write(block.tobytes())
    for kind, lossy in (("flac", False), ("mp3", True)):
        with stage(f"mastering, {kind}", job.seconds):
            how = mastering_of(lambda: raw_blocks(raw), lossy=lossy)
        with stage("its limiter", job.seconds):
            mastered = list(apply_mastering(raw_blocks(raw), how, frames))
        with stage(f"encoding {kind}", job.seconds):
            write_sound(folder / f"mix.{kind}", iter(mastered), job.tags, kind)


def main(pieces: Sequence[Path]) -> None:
    """Print the tables of some pieces."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for path in pieces:
            score = arrange(load(path).piece)
            flac, mp3 = (
                jobs_of([Rendering("band", "all", score)], folder, kind, "")[0] for kind in LEAST
            )
            print(f"{score.title}: {flac.seconds:.0f} s")
            for job in (flac, mp3):
                print(f"  {job.kind}: {whole(job, folder):.1f} times real time, whole file; "
                      f"at least {LEAST[job.kind]}")  # fmt: skip
            stages(flac, folder)


if __name__ == "__main__":
    main([Path(one) for one in sys.argv[1:]] or USUAL)
