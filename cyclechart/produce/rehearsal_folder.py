"""A rehearsal folder: what changed is made again, the page first, on all cores."""

from __future__ import annotations

import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from cyclechart.produce import rehearsal_audio as audio
from cyclechart.produce.rehearsal_audio import MAKING, Job, minutes
from cyclechart.produce.rehearsal_costs import READING, mix_cost, stem_cost, whole_cost
from cyclechart.produce.rehearsal_page import PAGE, PageJob, draw_parts, write_page
from cyclechart.produce.task_queue import Task, results
from cyclechart.write.audio.mixdown import part_gains
from cyclechart.write.files.manifest import Manifest
from cyclechart.write.files.progress import Finished, Show, say_nothing
from cyclechart.write.files.workers import cores_here, workers

LEFT_SECONDS = 6 * 3600
"""The age of a working folder that was left behind by a run that was killed."""


class Made(NamedTuple):
    """The files that were made, in order, and sentences about files that somebody has changed and
    that were kept."""

    files: list[Path]
    sentences: tuple[str, ...]


def make(
    jobs: Sequence[Job],
    folder: Path,
    show: Show,
    *,
    cores: int | None = None,
    keep: Sequence[str] = (),
    page: PageJob | None = None,
    finished: Finished = say_nothing,
) -> Made:
    """Make the page and the files that are not there yet as they are to be, in this order.

    Files of an earlier run that this one is not asked for, nor asked to ``keep``, are removed.
    ``finished`` is called for each file when it is whole and in its place. Raises OSError.
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
    page = None if page is None or page.is_current else page
    made = [folder / PAGE] if page is not None else []
    made += [job.path for job in pending]
    manifest.forget([path.name for path in made])
    if not made:
        return Made([], tuple(sentences))
    cores = cores or cores_here()
    # Whatever ends this, the processes are done before the folder goes in which they write.
    with (
        tempfile.TemporaryDirectory(
            prefix=MAKING, dir=folder, ignore_cleanup_errors=True
        ) as scratch,
        workers(cores) as pool,
    ):
        work = _Work(pending, page, Path(scratch))
        with closing(results(work.tasks, pool, cores, show)) as done:
            for task, result in done:
                for sentence in work.finish(task, result, finished):
                    sentences.append(sentence)
    return Made(made, tuple(sentences))


def _sweep(folder: Path) -> None:
    """Remove what a run left that was killed: hundreds of megabytes, maybe. Not what another run
    may be writing in now."""
    for left in folder.glob(f"{MAKING}*"):
        with suppress(OSError):
            if left.is_dir() and time.time() - left.stat().st_mtime > LEFT_SECONDS:
                shutil.rmtree(left)


class _Work:
    """The tasks of a run, and what is done with the result of each."""

    def __init__(self, jobs: Sequence[Job], page: PageJob | None, scratch: Path) -> None:
        self.page = page
        self.scratch = scratch
        self.tasks: list[Task] = []
        self.parts: dict[int, dict[str, str]] = {}
        """What is drawn of the page, by shift."""
        self.shift_of: dict[Task, int] = {}
        self.job_of: dict[Task, Job] = {}
        """The last task of each file of sound."""
        self.stem_of: dict[Task, Path] = {}
        self.uses: Counter[Task] = Counter()
        """The files that still need a stem."""
        if page is not None:
            self._add_page(page)
        groups: dict[int, list[tuple[int, Job]]] = {}
        for rank, job in enumerate(jobs, start=1):
            groups.setdefault(id(job.performance), []).append((rank, job))
        for number, group in enumerate(groups.values()):
            self._add_group(number, group)

    def finish(self, task: Task, result: Any, finished: Finished) -> Iterator[str]:
        """Take the result of a task: put a file that is whole in its place, and remove stems that
        nobody needs any more. Yield sentences about files that had to be kept."""
        if task in self.shift_of and self.page is not None:
            self.parts[self.shift_of[task]] = result
            if len(self.parts) == len(self.page.shifts):
                yield from write_page(self.page, self.parts)
                self.parts.clear()
                finished(PAGE, _megabytes(self.page.folder / PAGE))
        if task in self.job_of:
            job = self.job_of[task]
            yield from audio.place(job, self.scratch, Manifest(job.path.parent))
            finished(job.path.name, minutes(job.seconds))
        for stem in task.needs:
            self.uses[stem] -= 1
            if not self.uses[stem]:
                self.stem_of[stem].unlink()

    def _add_page(self, page: PageJob) -> None:
        cost = READING * len(page.piece.players)
        for shift in page.shifts:
            task = Task(draw_parts, (page.piece, shift, page.cache), PAGE, 0, "page", cost)
            self.shift_of[task] = shift
            self.tasks.append(task)

    def _add_group(self, number: int, group: Sequence[tuple[int, Job]]) -> None:
        """Add the files of one performance, which share its stems."""
        stems: dict[int, Task] = {}
        for rank, job in group:
            name = job.path.name
            if job.rounds or (len(group) == 1 and len(job.heard) == 1):
                work: Callable[..., None] = audio.whole_file
                task = Task(work, (job, self.scratch), name, rank, "whole", whole_cost(job))
            else:
                for part in job.heard:
                    if part not in stems:
                        stems[part] = self._add_stem(number, part, rank, job)
                task = self._mix(rank, job, stems)
            self.job_of[task] = job
            self.tasks.append(task)

    def _add_stem(self, group: int, part: int, rank: int, job: Job) -> Task:
        events, frames = job.performance.parts[part], audio.frames_of(job)
        to = self.scratch / f"{group}-{part}.stem"
        cost = stem_cost(events, frames)
        task = Task(
            audio.stem_file, (events, frames, job.options, to), job.path.name, rank, "stem", cost
        )
        self.stem_of[task] = to
        self.tasks.append(task)
        return task

    def _mix(self, rank: int, job: Job, stems: dict[int, Task]) -> Task:
        needs = tuple(stems[part] for part in job.heard)
        self.uses.update(needs)
        gains = part_gains(job.performance.parts, job.options)
        light = replace(job, performance=replace(job.performance, parts=()))
        places = [(self.stem_of[stems[part]], gains[part]) for part in job.heard]
        return Task(
            audio.mixed_file, (light, places, self.scratch), job.path.name, rank, "mix",
            mix_cost(job), needs,
        )  # fmt: skip


def _megabytes(path: Path) -> str:
    return f"{path.stat().st_size / 1e6:.1f} MB"
