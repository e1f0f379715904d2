"""The sound files of a rehearsal folder: those that changed are rendered, on all cores."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import time
from collections.abc import Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.sound.rate import RATE, Stereo, Wave
from cyclechart.write.audio.encoders import Format, Tags, write_sound
from cyclechart.write.audio.mixdown import (
    RING_OUT,
    Blocks,
    MixGains,
    apply_mastering,
    mastering_of,
    mix_stems,
    part_gains,
    raw_blocks,
    write_raw_mix,
)
from cyclechart.write.audio.performance import PartEvents, Performance, performance_of
from cyclechart.write.audio.stems import BLOCK, stem
from cyclechart.write.files.manifest import Manifest
from cyclechart.write.files.progress import Show
from cyclechart.write.files.workers import cores_here, workers

MAKING, LEFT_SECONDS = ".making-", 6 * 3600
"""The beginning of the name of a run's working folder, and its age when it is left behind."""
KIND = "sound"
"""Of the files in the manifest."""
SOUNDS_LIKE = 2
"""To be raised when the synthesiser, the mix or the mastering sound otherwise than before."""

"""Called with how much of the work is done, and of how much; in seconds of sound."""


@dataclass(frozen=True)
class Job:
    """A file to be made. ``heard``: of the performance's parts, by index."""

    path: Path
    performance: Performance
    heard: tuple[int, ...]
    rounds: int
    tags: Tags
    kind: Format

    @property
    def seconds(self) -> float:
        """The length, with what rings at the end."""
        if self.rounds:
            return self.performance.frames * self.rounds / RATE
        return (self.performance.frames + RING_OUT) / RATE

    @property
    def key(self) -> str:
        """A digest of all that the file depends on: another key is another sound."""
        places_of = part_gains(self.performance.parts)
        contents = repr(
            (
                SOUNDS_LIKE, self.performance.frames, self.rounds, self.tags, self.kind,
                [(self.performance.parts[n], places_of[n]) for n in self.heard],
            )
        )  # fmt: skip
        return hashlib.sha256(contents.encode()).hexdigest()


def jobs_of(
    renderings: Sequence[Rendering], folder: Path, kind: Format, band: str
) -> tuple[Job, ...]:
    """A file for each rendering. ``band``: who is named as the artist."""
    performances: dict[int, Performance] = {}
    found = []
    for one in renderings:
        performance = performances.get(id(one.score))
        if performance is None:
            performance = performances[id(one.score)] = performance_of(one.score)
        heard = tuple(
            number for number, part in enumerate(performance.parts) if part.name not in one.out
        )
        tempos = sorted({round(mark.tempo) for mark in one.score.tempos})
        about = f"{tempos[0]} to {tempos[-1]}" if len(tempos) > 1 else "".join(map(str, tempos))
        title = f"{one.score.title}: {one.about}"
        comment = f"{about} beats a minute, Sa = {one.score.tonic}"
        tags = Tags(title, band or one.score.composer, one.score.title, comment)
        path = folder / f"{one.name}.{kind}"
        found.append(Job(path, performance, heard, one.rounds, tags, kind))
    return tuple(found)


def make(
    jobs: Sequence[Job],
    folder: Path,
    show: Show,
    cores: int | None = None,
    keep: Sequence[str] = (),
) -> tuple[list[Path], tuple[str, ...]]:
    """Make the files that are not there yet as they are to be.

    Files of an earlier run that this one is not asked for, nor asked to ``keep``, are removed.
    Returns the files made, and sentences about files that somebody has changed and that were kept.
    Each file is put in its place when it is whole. Raises OSError.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _sweep(folder)
    manifest = Manifest(folder)
    keys = {job.path: job.key for job in jobs}
    # Files of another kind, asked for before, stay.
    kinds = {job.path.suffix for job in jobs}
    stale = {name for name in manifest.entries if Path(name).suffix in kinds}
    stale -= {*keep, *(job.path.name for job in jobs)}
    sentences = list(manifest.remove(stale))
    pending = [job for job in jobs if not manifest.is_current(job.path.name, keys[job.path])]
    manifest.forget([job.path.name for job in pending])
    total = sum(job.seconds for job in pending)
    done = 0.0
    if not pending:
        return [], tuple(sentences)
    # Whatever ends this, the processes are done before the folder goes in which they write.
    with (
        tempfile.TemporaryDirectory(
            prefix=MAKING, dir=folder, ignore_cleanup_errors=True
        ) as scratch,
        closing(_finished(pending, Path(scratch), cores or cores_here())) as each,
    ):
        for job in each:
            done += job.seconds
            sentences += _place(job, Path(scratch), manifest)
            show(done, total, job.path.name)
    return [job.path for job in pending], tuple(sentences)


def _place(job: Job, scratch: Path, manifest: Manifest) -> tuple[str, ...]:
    """Put a finished file in its place; a sentence where somebody else's had to be kept."""
    return manifest.place(scratch / job.path.name, job.path.name, KIND, job.key)


def _sweep(folder: Path) -> None:
    """Remove what a run left that was killed: hundreds of megabytes, maybe. Not what another run
    may be writing in now."""
    for left in folder.glob(f"{MAKING}*"):
        with suppress(OSError):
            if left.is_dir() and time.time() - left.stat().st_mtime > LEFT_SECONDS:
                shutil.rmtree(left)


def make_one(job: Job) -> tuple[str, ...]:
    """One file by itself, in this process; a sentence where somebody else's had to be kept.

    Raises OSError."""
    folder = job.path.parent
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=MAKING, dir=folder) as scratch:
        _by_itself(job, Path(scratch))
        return _place(job, Path(scratch), Manifest(folder))


def _finished(pending: Sequence[Job], scratch: Path, cores: int) -> Generator[Job]:
    """The jobs as they are done. Several mixes of one performance share its stems."""
    groups: dict[int, list[Job]] = {}
    for job in pending:
        groups.setdefault(id(job.performance), []).append(job)
    with workers(cores) as pool:
        waiting: dict[Future[None], tuple[Job | None, int]] = {}
        stems_left: dict[int, int] = {}
        for number, group in enumerate(groups.values()):
            if len(group) == 1:
                waiting[pool.submit(_by_itself, group[0], scratch)] = group[0], number
                continue
            needed = sorted({part for job in group for part in job.heard})
            stems_left[number] = len(needed)
            for part in needed:
                one = group[0].performance.parts[part]
                to = _at(scratch, number, part)
                task = pool.submit(_stem_file, one, _frames(group[0]), to)
                waiting[task] = None, number
        every = list(groups.values())
        while waiting:
            ended, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for task in ended:
                finished, number = waiting.pop(task)
                task.result()
                if finished is not None:
                    yield finished
                    continue
                stems_left[number] -= 1
                if not stems_left[number]:
                    for mix in every[number]:
                        light = replace(mix, performance=replace(mix.performance, parts=()))
                        where = part_gains(mix.performance.parts)
                        stems = [(_at(scratch, number, p), where[p]) for p in mix.heard]
                        waiting[pool.submit(_from_stems, light, stems, scratch)] = mix, number


def _frames(job: Job) -> int:
    return job.performance.frames + (0 if job.rounds else RING_OUT)


def _at(scratch: Path, group: int, part: int) -> Path:
    return scratch / f"{group}-{part}.stem"


def _stem_file(part: PartEvents, frames: int, to: Path) -> None:
    with to.open("wb") as file:
        for block in stem(part, frames):
            file.write(block.tobytes())


def _mono(path: Path) -> Iterator[Wave]:
    with path.open("rb") as file:
        while data := file.read(BLOCK * 4):
            yield np.frombuffer(data, dtype=np.float32)


def _from_stems(job: Job, stems: Sequence[tuple[Path, MixGains]], scratch: Path) -> None:
    # Mastering hears the mix several times: mixed once, read again.
    raw = scratch / f"{job.path.name}.raw"
    with raw.open("wb") as file:
        for block in mix_stems([_mono(path) for path, _ in stems], [place for _, place in stems]):
            file.write(block.tobytes())
    _finish(job, lambda: raw_blocks(raw), scratch)
    raw.unlink()


def _by_itself(job: Job, scratch: Path) -> None:
    raw = scratch / f"{job.path.name}.raw"
    where = part_gains(job.performance.parts)
    heard = replace(
        job.performance, parts=tuple(job.performance.parts[number] for number in job.heard)
    )
    own = [where[number] for number in job.heard]
    write_raw_mix(heard, own, raw, seamless=bool(job.rounds))
    _finish(job, lambda: raw_blocks(raw), scratch)
    raw.unlink()


def _finish(job: Job, blocks: Blocks, scratch: Path) -> None:
    """Master a mix and write its file, not yet in its place."""
    how = mastering_of(blocks, lossy=job.kind in ("mp3", "ogg"))
    out = scratch / job.path.name
    sound = apply_mastering(_again(blocks, job.rounds), how, None if job.rounds else _frames(job))
    write_sound(out, sound, job.tags, job.kind)
    out.chmod(0o644)


def _again(blocks: Blocks, rounds: int) -> Iterator[Stereo]:
    for _ in range(max(1, rounds)):
        yield from blocks()
