"""The signs of rhythm section pages: counts of repeats, ghost strokes, the key of a kit.

Everything is measured by the tests' own boxes (support.boxes), not by ours.
"""

from __future__ import annotations

import re

import pytest
from support.bands import SEEDS, band_of, cached_part
from support.boxes import Box, boxes, boxes_outside, overlaps
from support.chart_systems import systems_by_letter
from support.making import DEMO_BOOK

from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.engraving.kit_key import kit_key
from cyclechart.write.engraving.systems import engrave

NAMES = [path.stem for path in DEMO_BOOK] + [str(seed) for seed in SEEDS[:3]]
RHYTHM = ("voicings", "pedal", "theka")


def rhythm_sheets(name: str) -> list[Sheet]:
    band = band_of(name)
    return [cached_part(band, p) for p in band.piece.players if p.plays in RHYTHM]


def counts_of(svg: str) -> list[Box]:
    return [box for box in boxes(svg) if re.fullmatch(r"×\d+", box.text)]


@pytest.mark.parametrize("name", NAMES)
def test_repeat_counts_stand_over_closing_barlines_and_on_nothing(name: str) -> None:
    for sheet in rhythm_sheets(name):
        for strain in sheet.strains:
            if strain.silent:
                continue
            engraved = engrave(sheet, strain, first=strain.first)
            expected = [f"×{m.times}" for m in engraved.measures if m.times > 2 and not m.ending]
            drawn = []
            for svg in engraved.systems:
                assert not overlaps(svg), (name, strain.letter)
                assert not boxes_outside(svg), (name, strain.letter)
                counts = [box for box in counts_of(svg) if "repeatCount" in svg]
                if not counts:
                    continue
                lines = [box for box in boxes(svg) if box.kind == "barline"]
                for box in counts:
                    near = [line for line in lines if abs(line.x1 - box.x1) < 30]
                    if near:
                        drawn.append(box.text)
                        assert box.y1 <= min(line.y0 for line in near)
            assert drawn == expected, (name, strain.letter)


@pytest.mark.parametrize("name", NAMES)
def test_parentheses_of_ghost_strokes_are_clear_of_what_stands_over_them(name: str) -> None:
    for sheet in rhythm_sheets(name):
        if sheet.reader is None or sheet.reader.staff != "kit":
            continue
        for systems in systems_by_letter(sheet).values():
            for svg in systems:
                found = re.findall(
                    r'xlink:href="#(E0A9|E26A|E26B)-\w+" transform="translate\((\d+), (\d+)\) '
                    r"scale\(([\d.]+),",
                    svg,
                )
                crosses = [(int(x), int(y)) for code, x, y, _ in found if code == "E0A9"]
                for code, x, y, scale in found:
                    if code == "E0A9":
                        continue
                    # Leipzig's parenthesis is 500 units high about its place, a cross 250.
                    top = int(y) - 250 * float(scale)
                    for cross, height in crosses:
                        if abs(cross - int(x)) < 400 and height < int(y):
                            assert top > height + 125 * 0.72 - 1, (code, cross, x)


@pytest.mark.parametrize("name", [path.stem for path in DEMO_BOOK])
def test_the_key_shows_each_sound_of_the_part_once(name: str) -> None:
    for sheet in rhythm_sheets(name):
        key = kit_key(sheet)
        if sheet.reader is None or sheet.reader.staff != "kit":
            assert key is None
            continue
        assert key is not None and key.width > 0
        assert not overlaps(key.svg)
        assert key.svg.count('class="verse"') == len(sheet.drums)
        written = {
            sound
            for strain in sheet.strains
            for note in strain.notes
            if not getattr(note, "head", "")
            for sound in (note.syllable, *getattr(note, "also", ()))
        }
        assert set(sheet.drums) == written
