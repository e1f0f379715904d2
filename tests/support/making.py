"""Pieces for tests: from a short text, or at random."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Part
from cyclechart.finding import Finding
from cyclechart.piece.load import Loaded, read_piece
from cyclechart.piece.model import Piece
from cyclechart.rules.judge import RULE_NAMES, in_order, judge

ROOT = Path(__file__).parents[2]
DEMO_BOOK = sorted((ROOT / "pieces").glob("*.yaml"))

HEADING = {
    "title": "A Test",
    "tonic": "D",
    "mode": "charukeshi",
    "cycle": "jhaptal",
    "tempo": "92",
}

CYCLES = {
    "tintal": 16,
    "jhaptal": 10,
    "rupak": 7,
    "ektal": 12,
    "dhamar": 14,
    "misra-chapu": 7,
    "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}": Fraction(23, 2),
    "{beats: 6 3/4, sections: [2 1/4, 2 1/4, 2 1/4]}": Fraction(27, 4),
    "{beats: 5, sections: [5]}": 5,
}
MODES = ("charukeshi", "bhimpalasi", "yaman", "marwa", "hamsadhwani", "bhairav", "kirwani", "lalit")
TONICS = ("C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "Bb", "B", "C#", "Cb")
PIECE_SEEDS = (
    1, 11, 13, 22, 28, 54, 55, 59, 65, 77, 82, 84, 93, 95, 99, 113, 114, 120, 123, 126, 127, 144,
    149, 154, 167, 172, 173, 177, 183, 187, 193, 198,
)  # fmt: skip
"""Random pieces which have twice all that random pieces have: each cycle with and without a pickup
and strokes, each mode, tempo and tuning, each speed and division, each step after each."""
FEW_PIECE_SEEDS = (1, 8, 29, 54, 55, 59, 65, 71, 77, 93, 95, 139, 172, 173, 183, 198)
"""Random pieces which have all of it once."""
CHANGING_SEEDS = (
    6, 7, 8, 9, 10, 17, 19, 21, 22, 24, 26, 33, 34, 36, 37, 39, 40, 43, 48, 57, 58, 66, 68, 69, 71,
    76, 83, 86, 88, 90, 91, 99,
)  # fmt: skip
"""The like of pieces whose cycle changes: to each cycle, by each step, over a line and without."""
SPEEDS = ("dugun", "tigun", "adi", "kuadi", "biadi", "x3/2", "x5/4", "x7/4", "x2/3", "x9/8")


def with_heading(text: str, **heading: str) -> str:
    """A piece's text with the headings it does not give itself."""
    given = {line.split(":")[0] for line in text.splitlines() if line[:1].isalpha()}
    top = {**HEADING, **heading}
    return "".join(f"{key}: {value}\n" for key, value in top.items() if key not in given) + text


def load_text(text: str | bytes, folder: Path | None = None) -> Loaded:
    """A text read as a piece file."""
    data = text.encode() if isinstance(text, str) else text
    return read_piece("test.yaml", data, RULE_NAMES, folder)


def piece_of(text: str, **heading: str) -> Piece:
    """A piece that must be readable without an error."""
    result = load_text(with_heading(text, **heading))
    errors = [finding for finding in result.findings if finding.severity == "error"]
    assert not errors, errors
    assert result.piece is not None
    return result.piece


def melody_of(piece: Piece) -> Part:
    """The part of the first melody player."""
    return next(part for part in arrange(piece).parts if part.role.name == "melody")


def findings_of(text: str | bytes, folder: Path | None = None) -> list[Finding]:
    """Return all findings about a piece file."""
    result = load_text(text, folder)
    found = list(result.findings)
    if result.piece is not None:
        found += judge(result.piece)
    return in_order(found)


def random_piece(seed: int) -> str:
    """A valid piece file: odd cycles, groups at speed, dense cells, graces, glides, strokes."""
    dice = random.Random(seed)
    cycle = dice.choice(list(CYCLES))
    lines = []
    names = [f"line-{number}" for number in range(dice.randint(1, 4))]
    for number, name in enumerate(names):
        lines.append(f"  {name}:")
        if dice.random() < 0.4:
            beat = dice.choice(["2", "3", "4 1/2", "3 1/3", "5"])
            lines.append(f"    begins: {beat}")
        elif dice.random() < 0.2:
            lines.append("    lands: free")
        if number and dice.random() < 0.25 and "lands: free" not in lines[-1]:
            lines.append(f"    strokes: |\n      {_strokes(dice)}")
        else:
            lines.append(f"    sargam: |\n      {_melody(dice)}")
    form = []
    for name in names:
        form.append(f"  - play: {name}\n    times: {dice.randint(1, 3)}")
        if dice.random() < 0.3:
            form.append(
                f"  - solo: {dice.choice(['melody', 'tabla'])}\n    cycles: {dice.randint(1, 4)}"
            )
        if dice.random() < 0.2:
            form.append(f"  - free: melody\n    seconds: {dice.choice(['10', '7 1/2', '12.5'])}")
    heading = (
        f"title: Piece {seed}\ntonic: {dice.choice(TONICS)}\nmode: {dice.choice(MODES)}\n"
        f"cycle: {cycle}\ntempo: {dice.choice(['40', '92', '133 1/3', '200.5'])}\n"
        f"tuning: {dice.choice(['just', 'equal', '{D: 27/16, n: 996.1}'])}\n"
    )
    return heading + "lines:\n" + "\n".join(lines) + "\nform:\n" + "\n".join(form) + "\n"


def _melody(dice: random.Random) -> str:
    cells = ["S"] + [_cell(dice, "melody") for _ in range(dice.randint(3, 40))]
    return " ".join(_with_groups(dice, cells))


def _strokes(dice: random.Random) -> str:
    return " ".join(_cell(dice, "strokes") for _ in range(dice.randint(4, 30)))


def _cell(dice: random.Random, kind: str) -> str:
    count = dice.choice([1, 1, 1, 2, 2, 3, 4, 5, 6, 7, 8, 9, 12, 16])
    tail = dice.choice(["", "", "", "", "", "/2", "/4"])
    if kind == "strokes":
        return ".".join(dice.choice(["dha", "dhin", "na", "tin", "ta", "ge"]) for _ in range(count))
    elements = []
    for _ in range(count):
        tone = dice.choice("SrRgGmMPdDnN") + dice.choice(["", "", "", "'", ","])
        grace = dice.choice(["", "", "", "", "{G}", "{RG}"])
        mark = dice.choice(["", "", "", "", "", "!accent!", "!trill!", "!mp!"])
        elements.append(dice.choice([mark + grace + tone] * 6 + ["-", "z"]))
    return "".join(elements) + tail


def _with_groups(dice: random.Random, cells: list[str]) -> list[str]:
    made: list[str] = []
    while cells:
        if dice.random() < 0.2:
            size = dice.randint(1, min(6, len(cells)))
            inside, cells = cells[:size], cells[size:]
            made.append(f"[{' '.join(inside)}]{dice.choice(SPEEDS)}")
        elif dice.random() < 0.1:
            size = dice.randint(1, min(3, len(cells)))
            inside, cells = cells[:size], cells[size:]
            made.append(f"({' '.join(inside)})*{dice.randint(1, 3)}")
        else:
            made.append(cells.pop(0))
    return made


def random_changing_piece(seed: int) -> str:
    """A valid piece whose form goes through several cycles, with lines played in more than one."""
    dice = random.Random(seed)
    cycles = dice.sample(list(CYCLES), dice.randint(2, 4))
    names = [f"line-{number}" for number in range(dice.randint(2, 4))]
    lines = []
    for number, name in enumerate(names):
        begins = dice.choice(["", "", "begins: 2, ", "begins: 4 1/2, ", "begins: 3 1/3, "])
        key = "strokes" if number and dice.random() < 0.3 else "sargam"
        said = _strokes(dice) if key == "strokes" else _melody(dice)
        lines.append(f'  {name}: {{{begins}{key}: "{said}"}}\n')
    form = []
    for _ in range(dice.randint(3, 8)):
        line = dice.choice(names)
        over = f"\n    over: {names[0]}" if dice.random() < 0.5 else ""
        step = dice.choice(
            [f"play: {line}\n    times: {dice.randint(1, 3)}"] * 5
            + [f"solo: tabla\n    cycles: {dice.randint(1, 3)}{over}"] * 2
            + ["solo: melody\n    cycles: 2", "free: melody\n    seconds: 7 1/2"]
        )
        change = f"\n    cycle: {dice.choice(cycles)}" if dice.random() < 0.7 else ""
        form.append(f"  - {step}{change}\n")
    heading = (
        f"title: Changes {seed}\ntonic: {dice.choice(TONICS)}\nmode: {dice.choice(MODES)}\n"
        f"cycle: {cycles[0]}\ntempo: {dice.choice(['40', '92', '133 1/3', '200.5'])}\n"
        f"count-in: {dice.choice(['0', '1'])}\n"
    )
    return f"{heading}lines:\n{''.join(lines)}form:\n{''.join(form)}"
