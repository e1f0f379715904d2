"""A cold `check`: the whole process, against one that only imports three common libraries."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

from table import Subject, Target

ROOT = Path(__file__).parents[2]
PIECE = "pieces/ferry-at-first-light.yaml"
ROUNDS = 25

OURS, FLOOR, BARE = "cyclechart check", "import click, yaml, pydantic", "pass"
PROCESSES = {
    OURS: ("from cyclechart.cli import main; main()", "check", PIECE),
    FLOOR: (FLOOR,),
    BARE: (BARE,),
}

ABOUT = f"""
{OURS}: the console entry on {PIECE}, from start to exit, wall time.
Each is `python -c`, with its byte code cached: after one run of each to warm up, {ROUNDS} rounds of
one run of each. What is compared is the two processes of one round: the median of their ratios.
"""


def seconds_of(name: str) -> float:
    """Wall time of one process."""
    environment = {
        key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"
    }
    began = perf_counter()
    subprocess.run(
        [sys.executable, "-c", *PROCESSES[name]],
        cwd=ROOT,
        env=environment,
        check=True,
        stdout=subprocess.DEVNULL,
    )
    return perf_counter() - began


def subject() -> Subject:
    """The whole table."""
    for name in PROCESSES:
        seconds_of(name)
    times: dict[str, list[float]] = {name: [] for name in PROCESSES}
    for _ in range(ROUNDS):
        for name, taken in times.items():
            taken.append(seconds_of(name))
    ratios = {
        name: median(one / floor for one, floor in zip(taken, times[FLOOR], strict=True))
        for name, taken in times.items()
    }
    rows = tuple(
        (name, f"{median(taken):.4f}", f"{min(taken):.4f}", f"{ratios[name]:.2f}")
        for name, taken in times.items()
    )
    head = ("process", "seconds", "fastest", "/ imports")
    target = Target("cold check / three libraries' imports", ratios[OURS], 2)
    return Subject("Cold check", ABOUT, head, rows, (target,))
