"""Slurs, words above, hairpins and cut-offs in the handwritten grid."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pypdfium2
import pytest
from support.making import load_text, piece_of
from support.signed_pieces import signed_piece

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.hairpins_and_slurs import slurs_of
from cyclechart.write.files.paper_sizes import A4
from cyclechart.write.paper.grid import grid_data, set_grid
from cyclechart.write.paper.grid_spans import LETTERS_IN_ROW


def line(sargam: str) -> Sheet:
    text = f"lines:\n  head:\n    sargam: |\n      {sargam}\n"
    return sheet_of(piece_of(text, cycle="keherwa", mode="kafi"))


def spans_of(sheet: Sheet, kind: str) -> Iterator[tuple[int, dict[str, Any]]]:
    for strain in grid_data(sheet, A4, "sargam")["strains"]:
        for number, row in enumerate(strain["rows"]):
            yield from ((number, span) for span in row["spans"] if span["kind"] == kind)


def marks_of(sheet: Sheet) -> list[str]:
    return [
        mark["text"]
        for strain in grid_data(sheet, A4, "sargam")["strains"]
        for row in strain["rows"]
        for cell in row["cells"]
        if cell
        for sign in cell["signs"]
        for mark in sign.get("marks", [])
    ]


def test_a_slur_goes_from_its_first_sign_to_its_last_over_rows() -> None:
    sheet = line("(S R) g m P (m gR S || S) - - - - - - -")
    found = [(row, span["from"], span["to"]) for row, span in spans_of(sheet, "slur")]
    assert found == [(0, (0, 0), (1, 0)), (0, (5, 0), None), (1, None, (0, 0))]


def test_signs_of_a_line_are_texts() -> None:
    sheet = line("!p!S !cresc!R g m !f!P !dim!m g R || !cut!S - - - - - - -")
    assert marks_of(sheet) == ["p", "cresc.", "f", "dim.", "//"]
    legend = [sign for sign, *_ in grid_data(sheet, A4, "sargam")["legend"]]
    assert "//" in legend and "slur" not in legend


@pytest.mark.parametrize("seed", range(8))
def test_words_above_have_room_beside_one_another(seed: int) -> None:
    piece = load_text(signed_piece(seed)).piece
    assert piece is not None
    sheet = sheet_of(piece)
    words: dict[tuple[int, int], list[tuple[float, int]]] = {}
    columns = len(grid_data(sheet, A4, "sargam")["strains"][0]["columns"])
    for row, span in spans_of(sheet, "words"):
        at = span["from"][0] * LETTERS_IN_ROW / columns
        words.setdefault((row, span["level"]), []).append((at, len(span["label"])))
    if len(sheet.strains) == 1:
        for placed in words.values():
            starts = [min(at, LETTERS_IN_ROW - long) for at, long in placed]
            for before, (_, long), after in zip(starts, placed, starts[1:], strict=False):
                assert before + long <= after + 1
    total = sum(bool(note.text) for strain in sheet.strains for note in strain.notes)
    assert sum(map(len, words.values())) == total
    slurs = sum(1 for strain in sheet.strains for _ in slurs_of(strain.notes))
    begun = sum(span["from"] is not None for _, span in spans_of(sheet, "slur"))
    assert begun == slurs


def test_any_words_are_set_as_they_are() -> None:
    hostile = "#sys.inputs $x$ *b* _i_ @ref <a> \\ //"
    (pdf,) = set_grid(line(f'!"{hostile}"!S (R g m) P m g R || S - - - - - - -'), "pdf")
    document = pypdfium2.PdfDocument(pdf)
    text = document[0].get_textpage().get_text_range()
    assert hostile.replace(" ", "") in text.replace(" ", "").replace("\u200b", "")
