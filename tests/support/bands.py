"""Bands of the demo book and random bands, with their parts, built once for all tests of a worker.

The forms are random: lines at once, other Sas and modes on the way, solos, trades.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from functools import lru_cache

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


def read(text: str) -> Piece:
    result = load_text(text, ROOT)
    assert result.piece is not None, result.findings
    return result.piece


@lru_cache(maxsize=64)
def band_of(name: str) -> Band:
    """The band of a piece of the demo book, or of the random piece of a number."""
    if name.isdigit():
        return Band(read(random_form(int(name))))
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
every_piece = pytest.mark.parametrize("name", NAMES)


def staves(name: str) -> Iterator[tuple[Player, Sheet]]:
    """The players who read a staff, and their parts."""
    for player in band_of(name).piece.players:
        if player.plays != "drone":
            yield player, parts_of(name)[player.name]
