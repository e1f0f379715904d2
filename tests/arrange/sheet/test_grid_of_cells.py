"""The grid of beats: what is read back from its cells is the line, note for note."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pytest
from support.making import (
    CHANGING_SEEDS,
    DEMO_BOOK,
    PIECE_SEEDS,
    load_text,
    piece_of,
    random_changing_piece,
    random_piece,
)

from cyclechart.arrange.sheet.grid import FINEST, Grid, GridCell, strain_grid
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Strain

Making = Callable[[int], str]
RANDOM: list[tuple[Making, int]] = [
    *((random_piece, seed) for seed in PIECE_SEEDS),
    *((random_changing_piece, seed) for seed in CHANGING_SEEDS[::2]),
]
HALF = "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}"


def strains(text: str, **heading: str) -> list[Strain]:
    """The strains of a piece."""
    return list(sheet_of(piece_of(text, **heading)).strains)


@lru_cache(maxsize=len(RANDOM))
def random_strains(make: Making, seed: int) -> list[Strain]:
    """The strains of a random piece."""
    return strains(make(seed))


def only(line: str, **heading: str) -> Grid:
    """The grid of a piece of one line."""
    (strain,) = strains(f"lines:\n  head: {line}\n", **heading)
    return strain_grid(strain)


def cells_of(grid: Grid) -> list[GridCell]:
    """The cells in the order of time."""
    return [cell for row in grid.rows for cell in row.cells if cell is not None]


def written(cell: GridCell) -> str:
    """A cell's signs: n for a note, – for what is held, z for a rest."""
    return "".join({"note": "n", "hold": "–", "rest": "z"}[sign.kind] for sign in cell.signs)


def read_back(strain: Strain) -> list[tuple[int, Fraction, Fraction]]:
    """The notes that the cells hold: index, start and end."""
    signs = [
        (cell.time(sign), sign) for cell in cells_of(strain_grid(strain)) for sign in cell.signs
    ]
    begun = [(time, sign) for time, sign in signs if sign.begins]
    ends = [*(time for time, _ in begun[1:]), strain.measures[-1].end]
    # What goes on is what began last.
    for (_, before), (_, sign) in pairwise(signs):
        assert sign.begins or sign.note == before.note
    return [
        (sign.note, time, end)
        for (time, sign), end in zip(begun, ends, strict=True)
        if sign.kind == "note"
    ]


@pytest.mark.parametrize(("make", "seed"), RANDOM)
def test_every_note_is_read_back_with_its_exact_start_and_end(make: Making, seed: int) -> None:
    for strain in random_strains(make, seed):
        notes = [(n, note.start, note.end) for n, note in enumerate(strain.notes)]
        assert read_back(strain) == notes


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_every_note_of_the_demo_book_is_read_back(path: Path) -> None:
    piece = load_text(path.read_bytes(), path.parent).piece
    assert piece is not None
    for strain in sheet_of(piece).strains:
        assert [n for n, _, _ in read_back(strain)] == list(range(len(strain.notes)))


@pytest.mark.parametrize(("make", "seed"), RANDOM)
def test_a_cell_stands_under_its_beat(make: Making, seed: int) -> None:
    for strain in random_strains(make, seed):
        grid = strain_grid(strain)
        if strain.free:
            continue
        cycles = sum(column.cycle for column in grid.columns)
        assert sum(column.length for column in grid.columns) == cycles * strain.cycle.beats
        for row in grid.rows:
            for column, cell in zip(grid.columns, row.cells, strict=True):
                if cell is not None:
                    assert cell.start % strain.cycle.beats + 1 == column.beat
                    assert cell.length == column.length


@pytest.mark.parametrize(("make", "seed"), RANDOM)
def test_signs_rise_within_their_cell_and_fill_it_evenly(make: Making, seed: int) -> None:
    for strain in random_strains(make, seed):
        for cell in cells_of(strain_grid(strain)):
            places = [sign.at for sign in cell.signs]
            assert places and places[0] >= 0 and places[-1] < 1
            assert all(one < other for one, other in pairwise(places))
            assert cell.parts <= FINEST
            if cell.parts:
                assert {other - one for one, other in pairwise(places)} <= {Fraction(1, cell.parts)}


@pytest.mark.parametrize(("make", "seed"), RANDOM)
def test_a_note_is_found_where_it_stands(make: Making, seed: int) -> None:
    for strain in random_strains(make, seed):
        grid = strain_grid(strain)
        for number, note in enumerate(strain.notes):
            row, column, place = grid.place(number)
            cell = grid.rows[row].cells[column]
            assert cell is not None and cell.time(cell.signs[place]) == note.start
        with pytest.raises(KeyError):
            grid.place(len(strain.notes))


def test_holds_and_rests_fill_the_parts_of_a_beat() -> None:
    grid = only('{sargam: "S S-R zG SzR- - z SRGm S-- - - || S"}')
    assert [written(cell) for cell in grid.rows[0].cells if cell] == [
        "n", "n–n", "zn", "nzn–", "–", "z", "nnnn", "n", "–", "–",
    ]  # fmt: skip


def test_a_pickup_has_empty_columns_before_it() -> None:
    grid = only('{begins: 9, sargam: "G m || S - - - - - - - - -"}')
    first, second = grid.rows
    assert (first.cycle, second.cycle) == (0, 1)
    assert [cell is None for cell in first.cells] == [True] * 8 + [False] * 2
    begun = only('{begins: 9 1/2, sargam: "G/2 m || S - - - - - - - - -"}').rows[0].cells[8]
    # The half of its beat that the line does not have stays empty.
    assert begun is not None and begun.parts == 2
    assert [sign.at for sign in begun.signs] == [Fraction(1, 2)]


def test_a_broken_beat_is_a_shorter_column() -> None:
    grid = only('{sargam: "S R m P n S d d P m R S/2 || S"}', cycle=HALF)
    assert [column.length for column in grid.columns] == [1] * 11 + [Fraction(1, 2)]
    last = grid.rows[0].cells[-1]
    assert last is not None and (last.parts, written(last)) == (1, "n")


def test_notes_at_another_speed_begin_inside_the_beats() -> None:
    grid = only('{sargam: "[S R G m P d n]x7/4 - - - - - - || S"}')
    assert [written(cell) for cell in cells_of(grid)[:5]] == [
        "n–––n––", "–n–––n–", "––n–––n", "–––n–––", "–",
    ]  # fmt: skip


def test_what_no_simple_division_holds_stands_at_its_share() -> None:
    grid = only('{sargam: "[SRGmPdnSRGmPdnSR S]x7/4 -/2 -/4 - - - - - - - -"}')
    cell = cells_of(grid)[0]
    assert cell.parts == 0
    assert [sign.at for sign in cell.signs[:3]] == [0, Fraction(1, 28), Fraction(1, 14)]
    assert all(sign.begins for sign in cell.signs)


def test_sixteen_notes_fill_a_beat() -> None:
    cell = cells_of(only('{sargam: "SRGmPdnSRGmPdnSR || S"}'))[0]
    assert (cell.parts, written(cell)) == (16, "n" * 16)


def test_short_cycles_stand_side_by_side() -> None:
    grid = only('{sargam: "S R G m P d n S\' S R"}', cycle="{beats: 1}")
    assert [len(row.cells) for row in grid.rows] == [8, 8]
    assert [row.cycle for row in grid.rows] == [1, 9]
    assert all(column.cycle and column.beat == 1 for column in grid.columns)


def test_a_free_line_is_one_row() -> None:
    grid = only('{lands: free, sargam: "S - - z R~G - P/2"}')
    (row,) = grid.rows
    assert [written(cell) for cell in row.cells if cell] == ["n", "–", "–", "z", "nn", "–", "n"]
    assert row.cells[-1] is not None and row.cells[-1].length == Fraction(1, 2)
