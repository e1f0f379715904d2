"""Work shared among processes that end when what they work for does."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context

ENDED = "one of the processes was ended from outside (too little memory?)"


@contextmanager
def workers(cores: int) -> Iterator[ProcessPoolExecutor]:
    """So many processes. Whatever ends their use before its time ends them too, at once.

    Raises OSError where one of them is ended from outside.
    """
    # A fresh process has none of this one's threads and locks.
    pool = ProcessPoolExecutor(cores, mp_context=get_context("spawn"), initializer=_deaf)
    try:
        yield pool
    except BrokenProcessPool as error:
        raise OSError(None, ENDED) from error
    except BaseException:
        _end(pool)
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _deaf() -> None:
    """Ctrl-C reaches every process of a terminal: only that which shares the work heeds it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _end(pool: ProcessPoolExecutor) -> None:
    """End what still works: nobody wants it any more."""
    # Since Python 3.14 there is a public way; before it the processes are known here alone.
    held = list((getattr(pool, "_processes", None) or {}).values())
    pool.shutdown(wait=False, cancel_futures=True)
    for process in held:
        process.terminate()
    for process in held:
        process.join(5)


def cores_here() -> int:
    """How many cores this process may use."""
    return max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1)
