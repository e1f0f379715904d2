"""Processes that end when what they work for does."""

from __future__ import annotations

import os
import signal
import time

import pytest

from cyclechart.write.files.workers import ENDED, cores_here, workers


def test_what_is_given_up_is_ended_at_once() -> None:
    begun = time.monotonic()
    with pytest.raises(KeyboardInterrupt), workers(2) as pool:
        for _ in range(4):
            pool.submit(time.sleep, 120)
        raise KeyboardInterrupt
    # Not a matter of speed: the work would have taken four minutes.
    assert time.monotonic() - begun < 60


def test_a_process_that_is_ended_from_outside_is_told_in_a_sentence() -> None:
    with pytest.raises(OSError, match="ended from outside"), workers(1) as pool:
        pool.submit(os.kill, pool.submit(os.getpid).result(), signal.SIGKILL).result()
    assert "memory" in ENDED


def test_the_processes_leave_ctrl_c_to_the_one_that_shares_the_work() -> None:
    with workers(1) as pool:
        heeds = pool.submit(signal.getsignal, signal.SIGINT).result()
    assert heeds == signal.SIG_IGN


def test_there_is_a_core() -> None:
    assert cores_here() >= 1
