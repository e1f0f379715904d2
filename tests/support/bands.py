"""Bands of the demo book and random bands, with their parts, built once for all tests of a worker.

The forms are random: lines at once, other Sas and modes on the way, solos, trades.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import chain

import pytest
from support.making import CYCLES, DEMO_BOOK, MODES, ROOT, TONICS, load_text, random_changing_piece
from support.reading_musicxml import Element, parsed

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_places import BarPlace
from cyclechart.arrange.parts.part_sheets import part_sheet_with_places
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.write.musicxml.document import part_xml

SEEDS = (7, 9, 17, 29, 100, 103)
"""Of fifty random forms the fewest that have, with the demo book, all that the fifty have: every
branch of the part maker and of its MusicXML, each kind of note for each kind of player, jumps,
endings, repeats, rests, free passages and signatures."""
MELODIES = ("flute", "alto-sax", "cello", "trumpet", "tenor-sax", "violin")
OTHERS = (
    "  guitar: {plays: voicings}\n  double-bass: {plays: pedal}\n  tabla: {plays: theka}\n"
    "  drum-kit: {plays: theka}\n  tanpura: {plays: drone}\n"
)


def random_form(seed: int) -> str:
    """A changing piece for a band of eight, of whom three play melodies."""
    dice = random.Random(seed)
    who = dice.sample(MELODIES, 3)
    head, form = random_changing_piece(seed).split("form:\n")
    said = [line for line in head.splitlines() if "sargam:" in line]
    melodies = [line.split(":")[0].strip() for line in said]
    steps = []
    for step in re.findall(r"  - [^-].*\n(?:    .*\n)*", form):
        step = step.replace("solo: melody", f"solo: {dice.choice([*who, 'guitar', 'drum-kit'])}")
        step = step.replace("free: melody", f"free: {who[0]}")
        line = re.match(r"  - play: (\S+)\n", step)
        if line and len(melodies) > 1 and dice.random() < 0.4:
            one, two = dice.sample(melodies, 2)
            step = step.replace(line[1], f"{{{who[0]}: {one}, {who[1]}: {two}}}", 1)
        elif line and line[1] in melodies and dice.random() < 0.4:
            step += f"    by: [{dice.choice(who)}]\n"
        for key, values in (("tonic", TONICS), ("mode", MODES), ("dynamics", ("p", "f"))):
            if dice.random() < 0.2:
                step += f"    {key}: {dice.choice(values)}\n"
        steps.append(step)
        if dice.random() < 0.2:
            steps.append(f"  - trade: [{who[0]}, tabla]\n    cycles: {dice.randint(1, 3)}\n")
        if dice.random() < 0.2:
            steps.append(f"  - groove: {dice.randint(1, 6)}\n")
    if dice.random() < 0.5:
        # What comes again as it was: a part may have it from a sign.
        same = f"    cycle: {dice.choice(list(CYCLES))}\n    tonic: D\n    mode: yaman\n"
        again = [
            f"  - play: {line}\n    times: {dice.randint(1, 3)}\n{same}    dynamics: mf\n"
            for line in dice.sample(melodies, min(len(melodies), 2))
        ]
        steps = [*again, *steps, *again]
    players = "".join(f"  {name}: {{plays: melody, octave: {dice.choice([0, 0, -1])}}}\n"
                      for name in who)  # fmt: skip
    return f"{head}players:\n{players}{OTHERS}form:\n{''.join(steps)}"


STAND_PLAYERS = ("trumpet", "tenor-sax", "viola", "guitar", "double-bass", "tabla", "drum-kit")
STAND_CYCLES = {
    "rupak": 7,
    "jhaptal": 10,
    "keherwa": 8,
    "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}": Fraction(23, 2),
}
STAND_SEEDS = (5, 22)
"""Of two dozen random forms of this kind the fewest with a jump into a step, endings, rests in a
repeat, a pickup of more than a cycle and a steady change of tempo."""


def random_stand_form(seed: int) -> str:
    """A piece for a band of eight whose players trade in any order, as often as they are named.

    Heads of several cycles come again, short lines are played many times, the tempo changes
    steadily, and a cadence begins more than a cycle before its letter.
    """
    dice = random.Random(seed)
    cycle, beats = dice.choice(list(STAND_CYCLES.items()))
    whole = int(beats)

    def tones(cycles: int) -> str:
        cells = [dice.choice(["S", "R", "G", "m", "P", "d", "n", "S'", "-", "z"])
                 for _ in range(whole * cycles)]  # fmt: skip
        half = ["z/2"] if beats != whole else []
        rows = [cells[at * whole : (at + 1) * whole] + half for at in range(cycles)]
        return " ".join(["S", *list(chain(*rows))[1:]])

    begins = dice.choice(["", f"begins: {whole - 1}, "])
    pickup = "P d " if begins else ""
    statement = " ".join(dice.choice("SRGmPdn") for _ in range(dice.randint(whole // 2, whole)))
    lines = (
        f'  head: {{{begins}sargam: "{pickup}{tones(dice.randint(3, 7))}"}}\n'
        f'  vamp: {{sargam: "{tones(1)}"}}\n'
        f'  out: {{cadence: {{sargam: "{statement} S"}}}}\n'
        f'  roll: {{cadence: {{strokes: "{" ".join(["dha", "ti", "ta"] * (whole // 3))} dha"}}}}\n'
    )
    opening = [
        f"  - play: head\n    times: {dice.randint(1, 2)}\n",
        f"  - play: vamp\n    by: [viola]\n    times: {dice.randint(2, 9)}\n",
    ]
    middle = []
    for _ in range(dice.randint(3, 6)):
        traders = dice.choices(STAND_PLAYERS, k=dice.randint(2, 5))
        if len(set(traders)) < 2:
            traders.append("trumpet" if traders[0] != "trumpet" else "drum-kit")
        middle.append(
            dice.choice(
                [f"  - trade: [{', '.join(traders)}]\n    cycles: {dice.randint(1, 4)}\n"
                 f"    times: {dice.randint(1, 3)}\n"] * 3
                + [f"  - trade: [{', '.join(traders)}]\n    cycles: 2\n    halves: true\n",
                   f"  - solo: {dice.choice(STAND_PLAYERS)}\n"
                   f"    over: {dice.choice(['vamp', 'head'])}\n"
                   f"    by: [viola]\n    cycles: {dice.randint(2, 16)}\n",
                   f"  - groove: {dice.randint(1, 8)}\n",
                   "  - play: out\n", "  - play: roll\n"]
            )
        )  # fmt: skip
        if dice.random() < 0.4:
            middle[-1] += f"    tempo: {dice.choice(['{to: 132}', '{to: 60}', '100'])}\n"
    back = "    tempo: 92\n"
    again = [f"  - play: head\n{back}", "  - play: vamp\n    by: [viola]\n    times: 2\n"]
    if dice.random() < 0.5:
        opening[0] = opening[0].replace("times: 2", "times: 1")
        again = [f"  - play: head\n{back}", "  - play: out\n"]
    players = "".join(
        f"  {name}: {{plays: {plays}}}\n"
        for name, plays in zip(
            (*STAND_PLAYERS, "tanpura"),
            ("melody", "melody", "melody", "voicings", "pedal", "theka", "theka", "drone"),
            strict=True,
        )
    )
    return (
        f"title: Stand {seed}\ntonic: D\nmode: charukeshi\ncycle: {cycle}\ntempo: 92\n"
        f"lines:\n{lines}players:\n{players}form:\n{''.join([*opening, *middle, *again])}"
    )


def read(text: str) -> Piece:
    result = load_text(text, ROOT)
    assert result.piece is not None, result.findings
    return result.piece


@lru_cache(maxsize=64)
def band_of(name: str) -> Band:
    """The band of a piece of the demo book, or of the random piece of a number."""
    if name.isdigit():
        return Band(read(random_form(int(name))))
    if name.startswith("stand-"):
        return Band(read(random_stand_form(int(name.removeprefix("stand-")))))
    piece = load(next(path for path in DEMO_BOOK if path.stem == name)).piece
    assert piece is not None
    return Band(piece)


@lru_cache(maxsize=512)
def part_with_places(band: Band, player: Player) -> tuple[Sheet, dict[int, BarPlace]]:
    """A player's part and the places of the bars in it, built once for all tests of its band."""
    return part_sheet_with_places(band, player)


def cached_part(band: Band, player: Player) -> Sheet:
    return part_with_places(band, player)[0]


@lru_cache(maxsize=512)
def part_element(band: Band, player: Player) -> Element:
    """A player's part as it is read from its file, which must be valid."""
    part = parsed(part_xml(cached_part(band, player))).find("part")
    assert part is not None
    return part


def parts_of(name: str) -> dict[str, Sheet]:
    band = band_of(name)
    return {player.name: cached_part(band, player) for player in band.piece.players}


NAMES = [path.stem for path in DEMO_BOOK] + [str(seed) for seed in SEEDS]
NAMES += [f"stand-{seed}" for seed in STAND_SEEDS]
every_piece = pytest.mark.parametrize("name", NAMES)


def staves(name: str) -> Iterator[tuple[Player, Sheet]]:
    """The players who read a staff, and their parts."""
    for player in band_of(name).piece.players:
        if player.plays != "drone":
            yield player, parts_of(name)[player.name]
