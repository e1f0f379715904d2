"""All that is arranged of some pieces as text, kept in tests/golden/arrange.

A change in any of them is meant or is a mistake. To renew all after a change that is meant (those
of roles and folds too): ``python tests/arrange/test_goldens.py``. That the same scores are right
is held elsewhere, against readers from outside and plain definitions; here nothing moves unseen.

The pieces: two of the demo book, two at random, and three that are written to have much in little.
"""

from __future__ import annotations

import runpy
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from support.making import load_text, random_changing_piece, random_piece  # noqa: E402
from support.text_dumps import flat, text_of, total  # noqa: E402

from cyclechart.arrange.arranger import Arrangement  # noqa: E402
from cyclechart.arrange.clock import timeline_seconds  # noqa: E402
from cyclechart.arrange.parts.band import Band  # noqa: E402
from cyclechart.arrange.parts.dal_segno import jump_of  # noqa: E402
from cyclechart.arrange.parts.part_sheets import part_sheet_with_places  # noqa: E402
from cyclechart.arrange.parts.score_sheets import score_sheets  # noqa: E402
from cyclechart.arrange.rehearse.excerpts import Excerpt, join_excerpts  # noqa: E402
from cyclechart.arrange.rehearse.recipes import renderings_of  # noqa: E402
from cyclechart.arrange.rehearse.score_transforms import (  # noqa: E402
    at_tempo,
    looped,
    only_cycles,
    with_claps,
    without_claps,
    without_parts,
)
from cyclechart.arrange.rehearse.sing_back import (  # noqa: E402
    cycle_claps,
    looped_with_pickup,
    pickup_to,
    timeline_claps,
)
from cyclechart.arrange.score import Hit, Part, Score, Sound  # noqa: E402
from cyclechart.arrange.set_book import gig_of, set_book_of  # noqa: E402
from cyclechart.arrange.sheet.grid import Grid, strain_grid  # noqa: E402
from cyclechart.arrange.sheet.key_signatures import SIGNATURES, with_signature  # noqa: E402
from cyclechart.arrange.sheet.lead_sheet import sheet_of  # noqa: E402
from cyclechart.arrange.sheet.model import Sheet  # noqa: E402
from cyclechart.arrange.transpose import transposed  # noqa: E402
from cyclechart.piece.load import load  # noqa: E402
from cyclechart.piece.set.setlist import load_setlist  # noqa: E402
from cyclechart.rules.judge import RULE_NAMES  # noqa: E402
from cyclechart.theory.spelling import Tonic  # noqa: E402

GOLDEN = ROOT / "tests" / "golden" / "arrange"
DEMO = ("two-tides", "salt-road")
WRITTEN = ("weir-and-mill", "mill-race", "loud-and-soft")
EIGHT = (
    "players:\n  flute: {plays: melody, octave: 1}\n  alto-sax: {plays: melody}\n"
    "  guitar: {plays: voicings}\n  double-bass: {plays: pedal}\n  tabla: {plays: theka}\n"
    "  drum-kit: {plays: theka}\n  tanpura: {plays: drone}\n"
)
RANDOM: dict[str, Callable[[], str]] = {
    "random-22": lambda: random_piece(22),
    "changing-10": lambda: random_changing_piece(10),
}


def _text(stem: str) -> str | None:
    """The text of a random piece, played by eight; None for one that has a file."""
    if stem not in RANDOM:
        return None
    said = RANDOM[stem]().replace("solo: melody", "solo: flute")
    return said.replace("free: melody", "free: alto-sax").replace("lines:\n", f"{EIGHT}lines:\n", 1)


@lru_cache(maxsize=1)
def band_of(stem: str) -> Band:
    """A piece of these, arranged."""
    text = _text(stem)
    folder = GOLDEN if stem in WRITTEN else ROOT / "pieces"
    read = load_text(text) if text else load(folder / f"{stem}.yaml", RULE_NAMES)
    assert read.piece is not None
    return Band(read.piece)


def timeline_text(band: Band) -> str:
    """Stretches, placed lines, bars and the road map, field by field."""
    timeline = band.timeline
    stretches = [
        [getattr(one, name) for name in one.__dataclass_fields__] for one in timeline.stretches
    ]
    bars = [(bar.start, bar.end, bar.number, bar.whole, bar.stretch.step) for bar in band.bars]
    placed = [
        (one.line.name, one.start, one.state, one.until, one.stretch, one.players)
        for one in timeline.placed_lines
    ]
    ends = [timeline.end, timeline.closing, timeline_seconds(timeline), jump_of(band)]
    return text_of(
        {
            "ends": list(map(flat, ends)),
            "stretches": list(map(flat, stretches)),
            "placed": list(map(flat, placed)),
            "bars": list(map(flat, bars)),
            "road": list(map(flat, band.road)),
        }
    )


def score_text(band: Band) -> str:
    """Every sound, hit and mark."""
    return text_of(band.score)


def sheet_text(band: Band) -> str:
    """The lead sheet, its signatures and its grids."""
    sheet = sheet_of(band.piece)
    signatures = {
        name: [(one.key.fifths, one.key.signs) for one in with_signature(sheet, name).strains]
        for name in SIGNATURES
    }
    return "".join(
        [
            text_of(sheet),
            text_of({name: list(map(flat, keys)) for name, keys in signatures.items()}),
            *_derived(sheet),
        ]
    )


def _derived(sheet: Sheet) -> Iterator[str]:
    """What is worked out of the strains."""
    for strain in sheet.strains:
        yield f"{strain.letter}: {strain.ticks} {flat(strain.places)} {flat(strain.key.alters)}\n"
        yield grid_text(strain_grid(strain))


def grid_text(grid: Grid) -> str:
    """A grid, a line a cell: what begins in it, what is held, what rests."""
    cells = ["-" if cell is None else flat(cell) for row in grid.rows for cell in row.cells]
    return text_of(
        {"columns": list(grid.columns), "rows": [row.cycle for row in grid.rows], "cells": cells}
    )


def parts_text(band: Band) -> str:
    """Every player's part, with where each bar stands in it."""
    found = []
    for player in band.piece.players:
        sheet, places = part_sheet_with_places(band, player)
        own = band.contents[player.name].left_open
        found.append(f"== {player.name}\n{text_of(sheet.strains)}{text_of(sheet.reader)}")
        found.append(text_of({"road": list(map(flat, sheet.road)), "own": flat(own)}))
        found += [f"{at}: {flat(place)}\n" for at, place in sorted(places.items())]
        found += [f"{s.letter}: {flat(s.places)} {s.ticks}\n" for s in sheet.strains]
    return "".join(found)


def together_text(band: Band) -> str:
    """The score of all who read a staff: the measures once, then sums of the notes of each."""
    sheets = score_sheets(band)
    found = [text_of([[flat(m) for m in strain.measures] for strain in sheets[0].strains])]
    for sheet in sheets:
        assert sheet.reader is not None
        found.append(f"== {sheet.reader.player}\n")
        for strain, first in zip(sheet.strains, sheets[0].strains, strict=True):
            assert strain.measures == first.measures
            pitches = [note.pitch for note in strain.notes if note.pitch is not None]
            sums = total([n.start for n in strain.notes]), total([n.length for n in strain.notes])
            found.append(
                f"{strain.letter} {strain.name} {strain.remark!r} {flat(strain.brackets)}: "
                f"{len(strain.notes)} {flat(sums)} {sum(pitches)}\n"
            )
    return "".join(found)


def sums_of(part: Part) -> str:
    """How many sounds and hits, and the sums of their fields: exact, and short."""
    every: list[Sound | Hit] = [*part.sounds, *part.hits]
    keys = [one.pitch + (one.base or 0) for one in part.sounds] + [one.key for one in part.hits]
    weighed = total([one.start * (at % 7 + 1) for at, one in enumerate(every)])
    curves = [point for one in part.sounds for point in one.curve]
    return " ".join(
        map(
            flat,
            (
                part.name, part.program, part.bends, part.voice, len(every), weighed,
                total([one.length for one in every]), sum(keys), sum(o.velocity for o in every),
                len(curves), total([at for at, _ in curves]), float(sum(by for _, by in curves)),
                sum(one.voice for one in part.sounds), "".join(o.text for o in every)[-40:],
            ),
        )
    )  # fmt: skip


def marks_text(score: Score) -> str:
    """A score's marks, and its parts as sums."""
    parts = [sums_of(part) for part in score.parts]
    return f"  end {score.end}\n" + "".join(
        f"  {name} {flat(value)}\n"
        for name, value in (
            ("tempos", [f"{m.at}: {m.tempo}" for m in score.tempos]),
            ("meters", [f"{m.at}: {m.beats}" for m in score.meters]),
            ("markers", [f"{m.at}: {m.text}" for m in score.markers if " beat " not in m.text]),
            *(("part", part) for part in parts),
        )
    )


def renderings_text(band: Band) -> str:
    """All that is rehearsed with."""
    found = []
    before = ""
    for one in renderings_of(band.piece):
        marks = marks_text(one.score)
        found.append(f"{one.name} | {one.about} | {flat(one.out)} {one.rounds}\n")
        found.append(marks if marks != before else "  the same\n")
        before = marks
    return "".join(found)


def cycles_text(band: Band) -> str:
    """Some cycles of the score alone, with and without_parts what leads in."""
    count = max(bar.number for bar in band.bars)
    found = []
    for first in range(1, count + 1, 3):
        last = min(count, first + 1)
        for lead in (True, False):
            made = only_cycles(band.score, first, last, lead_in=lead)
            found.append(f"{first}-{last} {lead}\n{marks_text(made)}")
    return "".join(found)


def changes_text(band: Band) -> str:
    """The score changed for a rehearsal in every way, and the piece on another Sa."""
    score = band.score
    claps = timeline_claps(band.timeline)
    half = score.end / 2
    first = next(bar.start for bar in band.bars if bar.number)
    counted = with_claps(score, claps)
    made = {
        "slower": at_tempo(score, Fraction(9, 10)),
        "without": without_parts(score, [score.parts[0].name]),
        "click": counted,
        "some clicks": with_claps(score, claps[1::3]),
        "no click": without_claps(counted),
        "twice": looped(score, 2),
        "three from the middle": looped(score, 3, half),
        "with its pickup": looped_with_pickup(score, 2, pickup_to(band.timeline, first)),
        "with two beats": looped_with_pickup(score, 3, Fraction(2)),
        "takes": join_excerpts(
            score, [Excerpt(half, score.end), Excerpt(Fraction(3, 2), half + 1)]
        ),
        "moved": Arrangement(transposed(band.piece, Tonic("B", -1))).score,
    }
    found = [f"{name}\n{marks_text(one)}" for name, one in made.items()]
    bars = [f"{bar.start} {pickup_to(band.timeline, bar.start)}" for bar in band.bars]
    once = [flat(cycle_claps(band.timeline, bar.start)) for bar in band.bars[::7]]
    return "".join([*found, f"{flat(bars)}\n", *(f"{one}\n" for one in once)])


KINDS: dict[str, Callable[[Band], str]] = {
    "timeline": timeline_text,
    "score": score_text,
    "sheet": sheet_text,
    "parts": parts_text,
    "together": together_text,
    "renderings": renderings_text,
    "cycles": cycles_text,
    "changes": changes_text,
}
EVERY = [(stem, kind) for stem in (*DEMO, *WRITTEN, *RANDOM) for kind in KINDS]


def made(stem: str, kind: str) -> str:
    """The text of a kind of a piece."""
    return KINDS[kind](band_of(stem))


@pytest.mark.parametrize(("stem", "kind"), EVERY)
def test_what_is_arranged_is_what_was_arranged_before(stem: str, kind: str) -> None:
    assert made(stem, kind) == (GOLDEN / f"{stem}.{kind}.txt").read_text("utf-8")


def set_text() -> str:
    """The book of the demo set."""
    setlist, _, _ = load_setlist(ROOT / "pieces" / "sets" / "regatta-night.yaml", RULE_NAMES)
    assert setlist is not None
    book = set_book_of(gig_of(setlist))
    return text_of(replace(book, entries=())) + "".join(
        f"{type(entry).__name__} {flat(entry)}\n" for entry in book.entries
    )


def test_the_book_of_a_set_is_what_it_was_before() -> None:
    assert set_text() == (GOLDEN / "regatta-night.txt").read_text("utf-8")


if __name__ == "__main__":
    (GOLDEN / "regatta-night.txt").write_text(set_text(), "utf-8")
    for stem, kind in EVERY:
        (GOLDEN / f"{stem}.{kind}.txt").write_text(made(stem, kind), "utf-8")
    for name in ("roles/test_role_goldens.py", "parts/test_fold_goldens.py"):
        runpy.run_path(str(Path(__file__).parent / name), {}, "__main__")
