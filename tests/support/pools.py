"""A pool in this process in the place of one of processes, where they are not what is tested."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager


@contextmanager
def one_thread(_cores: int) -> Iterator[Executor]:
    """Give a pool of one thread: no process has to start and load the libraries of sound."""
    with ThreadPoolExecutor(1) as pool:
        try:
            yield pool
        finally:
            pool.shutdown(cancel_futures=True)
