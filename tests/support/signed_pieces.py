"""Random pieces full of signs: slurs, words above, hairpins, cut-offs, tuplets, folded repeats."""

from __future__ import annotations

import random
from fractions import Fraction

CYCLES = {
    "rupak": [3, 2, 2],
    "jhaptal": [2, 3, 2, 3],
    "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}": [
        4,
        4,
        3,
        Fraction(1, 2),
    ],
}
"""Cycles and the beats that each is written in, a whole number of cells or half a one."""

TONES = ["S", "R", "G", "m", "P", "d", "n"]
PLAYERS = """\
players:
  flute: {plays: melody, octave: 1}
  alto-sax: {plays: melody}
  piano: {plays: voicings}
  drum-kit: {plays: theka}
"""


def signed_piece(seed: int) -> str:
    """A valid piece file whose lines loop, and are played several times."""
    dice = random.Random(seed)
    cycle = dice.choice(list(CYCLES))
    lines, form = [], []
    for number in range(dice.randint(1, 2)):
        rows = [_cycle(dice, CYCLES[cycle]) for _ in range(dice.choice([1, 2, 2, 3]))]
        if dice.random() < 0.5:  # bars that are alike, so that they are written once
            rows = [row for row in rows for _ in range(2)]
        lines.append(f"  line-{number}:\n    sargam: |\n      " + " ".join(rows))
        form.append(f"  - play: line-{number}\n    times: {dice.randint(1, 4)}")
    heading = (
        f"title: Signs {seed}\ntonic: {dice.choice(['C', 'Eb', 'F#'])}\nmode: charukeshi\n"
        f"cycle: {cycle}\ntempo: {dice.choice(['72', '132'])}\n{PLAYERS}"
    )
    return heading + "lines:\n" + "\n".join(lines) + "\nform:\n" + "\n".join(form) + "\n"


def _cycle(dice: random.Random, sections: list[int | Fraction]) -> str:
    cells: list[str] = []
    for section in sections:
        if section == Fraction(1, 2):
            cells.append(f"{_note(dice)}/2")
        elif dice.random() < 0.2:
            cells.append("[" + " ".join(_cell(dice) for _ in range(2 * int(section))) + "]x2")
        else:
            cells += [_cell(dice) for _ in range(int(section))]
    cells[0] = f"{_note(dice)}{cells[0]}" if cells[0][0] in "-z" else cells[0]
    at = 0
    while at < len(cells) - 1:
        end = at + dice.randint(1, 3)
        notes = sum(sign in TONES for cell in cells[at : end + 1] for sign in _bare(cell))
        if dice.random() < 0.4 and end < len(cells) and notes > 1:
            cells[at], cells[end] = f"({cells[at]}", f"{cells[end]})"
        at = end + 1
    return " ".join(cells)


def _bare(cell: str) -> str:
    """The tones of a cell without marks, graces and words."""
    found, inside = [], ""
    for sign in cell:
        if inside:
            inside = "" if sign == inside else inside
        elif sign in "!{":
            inside = {"!": "!", "{": "}"}[sign]
        else:
            found.append(sign)
    return "".join(found)


def _cell(dice: random.Random) -> str:
    """A beat; signs that need room stand at most once in it."""
    count = dice.choice([1, 1, 1, 2, 2, 3, 4, 5])
    first = _note(dice)
    others = (
        dice.choice("-z") if dice.random() < 0.15 else _plain_note(dice) for _ in range(count - 1)
    )
    return first + "".join(others)


def _note(dice: random.Random) -> str:
    mark = dice.choice(
        [*[""] * 14, "!cresc!", "!dim!", "!cut!", "!p!", "!f!", "!mp!!cresc!", '!"on cue"!',
         '!"softly, like rain on tin"!']
    )  # fmt: skip
    return mark + _plain_note(dice)


def _plain_note(dice: random.Random) -> str:
    mark = dice.choice([*[""] * 6, "!trill!", "!staccato!"])
    return mark + dice.choice([*[""] * 4, "{R}"]) + dice.choice(TONES)
