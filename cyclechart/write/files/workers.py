"""A pool of processes that end when the work they are for does."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context, parent_process

ENDED = "one of the processes was ended from outside (too little memory?)"


class WorkerEnded(OSError):
    """A process was ended from outside."""


@contextmanager
def workers(cores: int) -> Iterator[ProcessPoolExecutor]:
    """A pool of so many processes. An exception in the ``with`` block ends them at once.

    Raises WorkerEnded where one of them is ended from outside.
    """
    # A fresh process has none of this one's threads and locks.
    pool = ProcessPoolExecutor(cores, mp_context=get_context("spawn"), initializer=_begin)
    try:
        with _interrupts_held():
            pool.submit(_nothing)  # The processes start now.
        yield pool
    except BrokenProcessPool as error:
        pool.shutdown(cancel_futures=True)
        raise WorkerEnded(None, ENDED) from error
    except BaseException:
        _end(pool)
        raise
    else:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Hold Ctrl-C back for a moment: processes that start meanwhile never get it, not even before
    ``_begin`` can set them up, and this one gets it afterwards."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _nothing() -> None:
    """Do nothing, in a process of the pool."""


def _begin() -> None:
    """Set up a process: Ctrl-C, which reaches every process of a terminal, is for the parent, and
    the process ends when the parent does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for the parent to end, and end this process: nobody is left to take its results."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _end(pool: ProcessPoolExecutor) -> None:
    """End the processes that still work."""
    # Python 3.14 has a public way; before it only the pool itself knows its processes.
    processes = list((getattr(pool, "_processes", None) or {}).values())
    pool.shutdown(wait=False, cancel_futures=True)
    for process in processes:
        process.terminate()
    for process in processes:
        process.join(5)
        if process.is_alive():
            process.kill()


def cores_here() -> int:
    """Return how many cores this process may use."""
    return max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1)
