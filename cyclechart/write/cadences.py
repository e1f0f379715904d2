"""Cadences that land, as a table for a person and as JSON for a program."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from cyclechart.theory.cadence import Answer
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact

HEADS = (
    "begins",
    "phrase",
    "gap",
    "silence",
    "between rounds",
    "cycles",
    "last strokes on",
    "kind",
)


def as_rows(answers: Sequence[Answer], cycle: Cycle) -> list[tuple[str, ...]]:
    """The heads and a row an answer. A last stroke on a first beat is marked ×."""
    return [HEADS, *(_row(answer, cycle) for answer in answers)]


def _row(answer: Answer, cycle: Cycle) -> tuple[str, ...]:
    return (
        show_exact(answer.begins),
        show_exact(answer.phrase),
        show_exact(answer.gap),
        show_exact(answer.silence),
        show_exact(answer.round_gap) if answer.round_gap is not None else "",
        str(answer.cycles),
        " ".join(_counted(end, cycle) for end in answer.ends),
        answer.kind if answer.lands == "sam" else f"{answer.kind}, anagat",
    )


def _counted(end: Fraction, cycle: Cycle) -> str:
    sign = "×" if (end - 1) % cycle.beats == 0 else ""
    return f"{show_exact(end)}{sign}"


def as_table(answers: Sequence[Answer], cycle: Cycle) -> str:
    """The rows in columns; a column that says nothing is left out."""
    rows = as_rows(answers, cycle)
    kept = [number for number in range(len(HEADS)) if any(row[number] for row in rows[1:])]
    widths = {number: max(len(row[number]) for row in rows) for number in kept}
    lines = ["  ".join(row[n].ljust(widths[n]) for n in kept).rstrip() for row in rows]
    beats = show_beats(cycle.beats)
    note = (
        f"Counts begin with 1 on the first beat of the cycle it begins in ({cycle.name}, {beats}); "
        "× is a first beat.\nThe gap is added after each statement; stroke to stroke it is counted "
        "as one beat more\nthan the silence by some teachers."
    )
    return "\n".join([*lines, "", note])


def as_objects(answers: Sequence[Answer]) -> list[dict[str, Any]]:
    """The answers for JSON; exact numbers as text."""
    return [
        {
            "begins": show_exact(answer.begins),
            "gap": show_exact(answer.gap),
            "round_gap": None if answer.round_gap is None else show_exact(answer.round_gap),
            "phrase": show_exact(answer.phrase),
            "cycles": answer.cycles,
            "ends": [show_exact(end) for end in answer.ends],
            "kind": answer.kind,
            "lands": answer.lands,
        }
        for answer in answers
    ]
