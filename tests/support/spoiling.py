"""Pieces spoiled by slips of the hand, at random."""

from __future__ import annotations

import random

SLIPS = (
    "lost letter", "swapped letters", "row twice", "row lost", "other case", "comment", "tone",
    "section line", "beat", "bracket", "indent", "lost letter of a word", "dash", "number", "comma",
)  # fmt: skip


def spoiled(text: str, seed: int) -> str:
    """Return the text of a piece with one to three slips."""
    chance = random.Random(seed)
    rows = text.split("\n")
    for _ in range(chance.choice([1, 1, 2, 3])):
        at = chance.randrange(len(rows))
        if rows[at].strip():
            rows[at : at + 1] = _slip(rows[at], chance)
    return "\n".join(rows)


def _slip(row: str, chance: random.Random) -> list[str]:
    at = chance.randrange(len(row))
    head, tail = row[:at], row[at:]
    match chance.choice(SLIPS):
        case "lost letter":
            return [head + tail[1:]]
        case "swapped letters":
            return [head + tail[1:2] + tail[:1] + tail[2:]]
        case "row twice":
            return [row, row]
        case "row lost":
            return []
        case "other case":
            return [head + tail[:1].swapcase() + tail[1:]]
        case "comment":
            return [f"{head} #{tail}"]
        case "tone":
            return [head + chance.choice("SrRgGmMPdDnN',-z") + tail]
        case "section line":
            return [head + chance.choice([" | ", " || "]) + tail]
        case "beat":
            return [row.replace(" - ", " ", 1) if chance.random() < 0.5 else f"{head} S {tail}"]
        case "bracket":
            return [head + chance.choice("\"'[]{}()!") + tail]
        case "indent":
            return [" " * chance.randrange(1, 4) + row]
        case "lost letter of a word":
            word = chance.choice(row.split())
            return [row.replace(word, word[:-2] + word[-1:], 1)]
        case "dash":
            return [row.replace(": ", ": - ", 1)]
        case "number":
            return [row.replace("1", "9", 1).replace("2", "x", 1)]
    return [f"{head}, {tail}"]
