"""Processes that end when what they work for does."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

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


def test_the_processes_end_with_the_one_that_shares_the_work(tmp_path: Path) -> None:
    script = tmp_path / "parent.py"
    script.write_text(
        "import os, time\n"
        "from cyclechart.write.files.workers import workers\n"
        "if __name__ == '__main__':\n"
        "    with workers(1) as pool:\n"
        "        pid = pool.submit(os.getpid).result()\n"
        "        pool.submit(time.sleep, 120)\n"
        "        print(pid, flush=True)\n"
        "        time.sleep(120)\n"
    )
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE) as parent:
        assert parent.stdout is not None
        worker = int(parent.stdout.readline())
        parent.kill()
    end = time.monotonic() + 60
    while _is_running(worker) and time.monotonic() < end:
        time.sleep(0.1)
    assert not _is_running(worker)


def _is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    # Nobody may have asked yet how it ended.
    return not (state.is_file() and state.read_text().rpartition(")")[2].split()[0] == "Z")


def test_there_is_a_core() -> None:
    assert cores_here() >= 1
