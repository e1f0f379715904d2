"""The systems of a score: nothing overlaps, names and brackets, staves left out, its size."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pytest
from support.bands import random_form, read
from support.boxes import boxes, boxes_outside, overlaps
from support.dense import dense_band
from support.making import DEMO_BOOK, load_text, piece_of, random_piece

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.write.engraving.condensing import (
    RESTING,
    condensed_systems,
    players_by_measure,
    playing_sheets,
)
from cyclechart.write.files.paper_sizes import PAPERS
from cyclechart.write.paper.chart_music import ChartMusic, score_music
from cyclechart.write.paper.page_plan import PageWish

STAFF = 72
"""The height of a staff in the engraver's units."""

LEAST_STAFF = 3.4
"""Of a score on A4, in mm: study scores are printed with staves of 3.5 mm and more (handbooks; from
memory); a very wide section may take a little off."""

WORD_SPACE = 8.0
"""The least distance of two sung syllables, in the picture's units: about a space between words, a
quarter of the size of their letters, of which 40 make one."""

BAND = """\
players:
  flute: {plays: melody}
  alto-sax: {plays: melody}
  trumpet: {plays: melody}
  voice: {plays: melody}
  piano: {plays: voicings}
  double-bass: {plays: pedal}
  drum-kit: {plays: theka}
  tabla: {plays: theka}
"""


def music_of(piece: Piece, paper: str = "a4") -> tuple[tuple[Sheet, ...], ChartMusic]:
    sheets = score_sheets(Band(piece))
    return sheets, score_music(sheets, sheets[0], PAPERS[paper], PageWish(pairs=False))


@lru_cache(maxsize=len(DEMO_BOOK))
def demo_score(path: Path) -> tuple[tuple[Sheet, ...], ChartMusic]:
    piece = load(path).piece
    assert piece is not None
    return music_of(piece)


def faults(music: ChartMusic) -> list[object]:
    return [
        (strain, number, fault)
        for strain, systems in enumerate(music.systems)
        for number, svg in enumerate(systems)
        for fault in [*overlaps(svg), *boxes_outside(svg)]
    ]


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_nothing_of_the_scores_of_the_demo_book_overlaps(path: Path) -> None:
    _, music = demo_score(path)
    assert faults(music) == []


@pytest.mark.parametrize("seed", [5, 6, 8])
def test_nothing_of_the_scores_of_random_bands_overlaps(seed: int) -> None:
    # Tuplets, graces and ties on each staff: in these the engraver alone sets something upon
    # something else.
    piece = load_text(random_piece(seed) + BAND).piece
    assert piece is not None
    _, music = music_of(piece)
    assert faults(music) == []


def test_what_is_lifted_over_a_staff_stays_under_the_staff_above() -> None:
    # A name over a septuplet of the kit, which the engraver's usual distance has no room for.
    _, music = music_of(read(random_form(17)), "letter")
    assert faults(music) == []


def test_sung_syllables_stand_apart() -> None:
    words = "three or-an-ges I left un-der the stair and no-bo-dy came for them all through there"
    text = (
        "players: {voice: , trumpet: , double-bass: {plays: pedal}, tabla: }\n"
        f'lines:\n  head: {{sargam: "{"S R G m | P m G R || " * 3}S - - -", words: "{words}"}}\n'
        "form: [play: head]\n"
    )
    _, music = music_of(piece_of(text))
    sung = 0
    for svg in (svg for systems in music.systems for svg in systems):
        rows: dict[float, list[tuple[float, float]]] = {}
        for box in boxes(svg):
            if box.kind in ("word", "syllable") and len(box.text) > 1:
                rows.setdefault(round(box.y1 / 30), []).append((box.x0, box.x1))
                sung += 1
        for row in rows.values():
            for (_, end), (start, _) in pairwise(sorted(row)):
                assert start - end >= WORD_SPACE
    assert sung > 12


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_every_system_has_the_names_of_its_staves(path: Path) -> None:
    sheets, music = demo_score(path)
    shorts = [sheet.reader.short for sheet in sheets if sheet.reader]
    for number, svg in enumerate(svg for systems in music.systems for svg in systems):
        names = re.findall(r'class="(?:label|labelAbbr)".*?font-size="[1-9]\d*px">([^<]+)<', svg,
                           re.S)  # fmt: skip
        if number:
            assert names and set(names) <= set(shorts)
        else:
            assert len(names) == len(shorts)


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_staves_of_a_score_are_large_enough(path: Path) -> None:
    _, music = demo_score(path)
    a4 = PAPERS["a4"]
    for layout in music.plan.layouts:
        if layout is not None:
            line = a4.width - 2 * a4.side
            assert line * STAFF / layout.width * layout.share >= LEAST_STAFF


SOLO = """\
lines:
  head: {sargam: "S R G m | P m G R || S - - - | - - - z"}
form: [play: head, {trade: [drum-kit, trumpet], cycles: 8}, play: head]
"""


def test_staves_that_rest_are_left_out_and_the_claps_stay() -> None:
    sheets, music = music_of(piece_of(BAND + SOLO))
    shown = [svg.count('class="staff"') // svg.count('class="measure"') for svg in music.systems[1]]
    assert len(shown) > 1 and min(shown) <= len(sheets) + 1 - RESTING
    claps = sum(bool(measure.sign) for measure in sheets[0].strains[1].measures)
    drawn = [box for svg in music.systems[1] for box in boxes(svg)
             if box.kind == "sign" and box.text]  # fmt: skip
    assert len(drawn) == claps
    for svg in music.systems[1]:
        top = min(box.y0 for box in boxes(svg) if box.kind == "staff")
        signs = [box for box in boxes(svg) if box.kind == "sign" and box.text]
        assert signs and all(box.y1 < top for box in signs)


def test_who_plays_is_drawn() -> None:
    sheets = score_sheets(Band(piece_of(BAND + SOLO)))
    found = 0
    for at, strain in enumerate(sheets[0].strains):
        shown = playing_sheets(sheets, at)
        hidden = [sheet for sheet in sheets if sheet not in shown]
        assert all(sheet.strains[at].silent for sheet in hidden)
        assert not hidden or len(hidden) >= RESTING
        breaks = [number for number, measure in enumerate(strain.measures)
                  if measure.opens and number]  # fmt: skip
        strains = [sheet.strains[at] for sheet in sheets]
        systems = condensed_systems(sheets, players_by_measure(strains), breaks, opening=False)
        found += len(systems)
        for system, staves in enumerate(systems):
            start = strain.measures[[0, *breaks][system]].start
            end = strain.measures[[*breaks, 0][system] - 1].end
            playing = [
                one for one in strains
                if any(note.start < end and note.start + note.length > start for note in one.notes)
            ]  # fmt: skip
            assert staves.players == len(playing)
    assert found


def test_a_dense_score_is_drawn_whole() -> None:
    band = dense_band()
    sheets = score_sheets(band)
    music = score_music(sheets, sheets[0], PAPERS["a4"], PageWish(pairs=False))
    for at, systems in enumerate(music.systems):
        if systems:
            drawn = set(re.findall(r'id="((?:p\d+-)?n-\w+-\d+)["-]', "".join(systems)))
            assert len(drawn) == sum(len(sheet.strains[at].notes) for sheet in sheets)
