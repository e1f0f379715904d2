"""The order in which tasks are done, and how long the rest will take.

Outside: the order and the sums are worked out by hand beside each test; scheduling by the longest
row of tasks that follows is R. L. Graham's (Bounds on Multiprocessing Timing Anomalies, 1969).
"""

from __future__ import annotations

import time
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest

from cyclechart.produce.task_queue import Task, results
from cyclechart.produce.work_estimate import WorkEstimate
from cyclechart.write.files.progress import show_nothing


class Recorder(ThreadPoolExecutor):
    """A pool that notes in which order tasks are handed over, by the first argument of each."""

    def __init__(self, threads: int) -> None:
        super().__init__(threads)
        self.order: list[str] = []

    def submit(self, fn: Any, /, *arguments: Any, **named: Any) -> Future[Any]:
        self.order.append(arguments[1][0])
        return super().submit(fn, *arguments, **named)


def same(name: str) -> str:
    return name


def task(name: str, rank: int, cost: float, *needs: Task) -> Task:
    return Task(same, (name,), f"{name}.mp3", rank, "sound", cost, needs)


def done(tasks: list[Task], cores: int = 1) -> tuple[list[str], list[str]]:
    """The names as they were handed over, and as they were done."""
    with Recorder(cores) as pool:
        found = [result for _, result in results(tasks, pool, cores, show_nothing)]
    return pool.order, found


def test_tasks_begin_in_the_order_of_their_files_once_what_they_need_is_done() -> None:
    stem, other = task("stem", 1, 1), task("other stem", 2, 1)
    tasks = [stem, other, task("b", 2, 1, stem, other), task("a", 1, 1, stem), task("page", 0, 1)]
    tasks.sort(key=lambda one: bool(one.needs))
    begun, found = done(tasks)
    assert begun[0] == "page" and sorted(found) == ["a", "b", "other stem", "page", "stem"]
    assert begun.index("stem") < begun.index("a") < begun.index("b")
    assert begun.index("other stem") < begun.index("b")


def test_a_long_task_does_not_stay_alone_at_the_end() -> None:
    # 20 of one second and one of ten, on two cores: it has to begin when twenty are left.
    short = [task(f"s{number}", number, 1) for number in range(20)]
    begun, _ = done([*short, task("long", 99, 10)], cores=2)
    at = begun.index("long")
    assert 2 <= at < 20
    # Nothing of the first two files waits for it, however long it is.
    begun, _ = done([*short[:2], task("long", 99, 1000), *short[2:]], cores=2)
    assert begun[:3] == ["s0", "s1", "long"]
    # On one core there is no end to be alone at.
    assert done([*short, task("long", 99, 10)])[0][-1] == "long"


def test_a_row_of_tasks_counts_as_long_as_it_is() -> None:
    first = task("first", 98, 4)
    row = [first, task("last", 99, 6, first)]
    begun, _ = done([*(task(f"s{number}", number, 1) for number in range(20)), *row], cores=2)
    assert begun.index("first") < 20


def test_what_a_task_raises_is_raised() -> None:
    def fail(_name: str) -> None:
        raise OSError("no room")

    with ThreadPoolExecutor(1) as pool, pytest.raises(OSError, match="no room"):
        list(results([Task(fail, ("x",), "x", 0, "sound", 1)], pool, 1, show_nothing))


def test_what_is_shown_names_the_first_unfinished_file_and_ends_with_all_done() -> None:
    shown: list[tuple[float, float, str, float | None]] = []

    def show(done: float, of: float, name: str, left: float | None = None, /) -> None:
        shown.append((done, of, name, left))

    tasks = [task("page", 0, 3), task("band", 1, 2), task("drone", 2, 1)]
    with ThreadPoolExecutor(1) as pool:
        list(results(tasks, pool, 1, show))
    # Before anything is done there is a name, and the time that all is expected to take.
    assert shown[0] == (0, 6, "page.mp3", pytest.approx(6))
    # Two that are done at the same moment are shown once.
    names = [name for _, _, name, _ in shown]
    assert names == sorted(names, key=["page.mp3", "band.mp3", "drone.mp3", ""].index)
    assert names[-1] == ""
    assert shown[-1][:2] == (6, 6) and shown[-1][3] == pytest.approx(0)


def test_the_time_that_a_task_takes_is_its_own() -> None:
    def slow(_name: str) -> None:
        time.sleep(0.05)

    lefts: list[float] = []

    def show(_done: float, _of: float, _name: str, left: float | None = None, /) -> None:
        lefts.append(left or 0.0)

    # Expected to take 1000 s each, and over at once: the rest will be quick as well.
    tasks = [Task(slow, (str(n),), str(n), n, "sound", 1000.0) for n in range(3)]
    with ThreadPoolExecutor(1) as pool:
        list(results(tasks, pool, 1, show))
    assert lefts[0] == pytest.approx(3000) and lefts[1] < 100


# Time


def test_before_anything_is_done_the_costs_are_believed() -> None:
    estimate = WorkEstimate([("stem", 30.0), ("mix", 10.0)], 2)
    assert estimate.total == 40 and estimate.done == 0
    assert estimate.seconds_left() == pytest.approx(20)
    assert estimate.seconds_left(longest=25) == 25


def test_the_speed_of_the_machine_and_of_a_kind_are_learned() -> None:
    estimate = WorkEstimate([("stem", 500.0), ("mix", 500.0), ("page", 500.0)], 1)
    estimate.finish("stem", 400, 1200)
    # Three times as slow, and nothing is known of the others yet.
    assert estimate.slowness("stem") == pytest.approx(3, rel=0.03)
    assert estimate.slowness("page") == pytest.approx(3, rel=0.03)
    estimate.finish("mix", 400, 200)
    assert estimate.slowness("mix") == pytest.approx(0.5, rel=0.1)
    assert estimate.slowness("stem") == pytest.approx(3, rel=0.03)
    # All together: 1400 s for 800.
    assert estimate.slowness("page") == pytest.approx(1.75, rel=0.03)
    left = 100 * 3 + 100 * 0.5 + 500 * 1.75
    assert estimate.seconds_left() == pytest.approx(left, rel=0.05)


def test_one_odd_task_at_the_beginning_does_not_turn_it_over() -> None:
    estimate = WorkEstimate([("page", 28.0), ("mix", 250.0)], 2)
    before = estimate.seconds_left()
    estimate.finish("page", 2.3, 6.0)  # a process that had its libraries to load
    assert before < estimate.seconds_left() < before * 1.6
