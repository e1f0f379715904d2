"""Tasks for a pool of processes: each begins when what it needs is there, in the order of files.

No more tasks are handed over than there are cores, so that the order holds to the end.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from typing import Any

from cyclechart.produce.work_estimate import WorkEstimate
from cyclechart.write.files.progress import Show

FIRST_FILES = 2
"""Files that are wanted before all others: no long task goes before them."""


@dataclass(frozen=True, eq=False)
class Task:
    """A task for one process: ``work`` called with ``arguments``.

    ``file``: the name of the file that it is for; ``rank``: the place of that file in the order;
    ``kind`` and ``cost``: as for ``WorkEstimate``; ``needs``: tasks that have to be done before.
    """

    work: Callable[..., Any]
    arguments: tuple[Any, ...]
    file: str
    rank: int
    kind: str
    cost: float
    needs: tuple[Task, ...] = ()


def results(
    tasks: Sequence[Task], pool: Executor, cores: int, show: Show
) -> Generator[tuple[Task, Any]]:
    """Yield each task and its result when it is done. What a task raises is raised here."""
    estimate = WorkEstimate(((task.kind, task.cost) for task in tasks), cores)
    chains = _chains(tasks)
    waiting = list(tasks)
    done: set[Task] = set()
    running: dict[Future[tuple[Any, float]], Task] = {}

    def report() -> None:
        unfinished = [*running.values(), *waiting]
        name = min(unfinished, key=lambda task: task.rank).file if unfinished else ""
        longest = max(
            (chains[task] * estimate.slowness(task.kind) for task in unfinished), default=0
        )
        show(estimate.done, estimate.total, name, estimate.seconds_left(longest))

    while waiting or running:
        while len(running) < cores:
            ready = [task for task in waiting if done.issuperset(task.needs)]
            if not ready:
                break
            task = _next(ready, chains, estimate)
            waiting.remove(task)
            running[pool.submit(_timed, task.work, task.arguments)] = task
        report()
        ended, _ = wait(running, return_when=FIRST_COMPLETED)
        for future in ended:
            task = running.pop(future)
            result, seconds = future.result()
            done.add(task)
            estimate.finish(task.kind, task.cost, seconds)
            yield task, result
    report()


def _timed(work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[Any, float]:
    """Return what some work returns and the seconds that it took, in a process of the pool."""
    begin = time.monotonic()
    return work(*arguments), time.monotonic() - begin


def _next(ready: Sequence[Task], chains: dict[Task, float], estimate: WorkEstimate) -> Task:
    """Return the task to begin: the first in order, but in time a long one, or it would be left
    alone at the end with all cores but one idle."""
    first = min(ready, key=lambda task: task.rank)
    if first.rank < FIRST_FILES:
        return first
    longest = max(ready, key=lambda task: chains[task])
    rest = estimate.total - estimate.done
    return longest if chains[longest] * estimate.cores >= rest else first


def _chains(tasks: Sequence[Task]) -> dict[Task, float]:
    """Return of each task its cost and that of the longest row of tasks after it.

    What a task needs comes before it in ``tasks``."""
    after = dict.fromkeys(tasks, 0.0)
    for task in reversed(tasks):
        for needed in task.needs:
            after[needed] = max(after[needed], after[task] + task.cost)
    return {task: after[task] + task.cost for task in tasks}
