"""All that pages are given, as golden text: charts, grids, modes, the front matter of books."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import Link
from pypdf.generic import DecodedStreamObject, NameObject, NumberObject
from support.dense import dense_part, dense_piece
from support.goldens import as_lines, check_golden
from support.making import ROOT

from cyclechart.arrange.set_book import gig_of, set_book_of
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.piece.set.setlist import load_setlist
from cyclechart.rules.judge import RULE_NAMES
from cyclechart.theory.spelling import Tonic
from cyclechart.write.files.paper_sizes import A4, PAPERS
from cyclechart.write.paper import book_pages, charts, grid, mode_page
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.pdf_binding import LINK, BookPart, bind_book, page_count


@pytest.fixture
def given(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Any]]:
    """All that is given to the typesetter, which sets nothing."""
    found: list[Any] = []

    def noted(files: Mapping[str, bytes], texts: Mapping[str, Any], kind: str) -> list[bytes]:
        found.append(
            {"kind": kind, "files": {name: _file(data) for name, data in files.items()}, **texts}
        )
        return [b""]

    for module in (book_pages, charts, grid, mode_page):
        monkeypatch.setattr(module, "typeset", noted)
    yield found


def _file(data: bytes) -> str:
    """The template or the picture that a file is."""
    for path in Path(charts.__file__).parent.glob("*.typ"):
        if path.read_bytes() == data:
            return path.name
    return data.decode()[:40]


def test_what_a_chart_is_given_is_the_golden_one(given: list[Any]) -> None:
    for sheet in (sheet_of(dense_piece()), *map(dense_part, ("alto-sax", "violin", "tanpura"))):
        music = chart_music(sheet, PAPERS["letter"])
        charts.set_pages(sheet, music, "pdf", PAPERS["letter"])
    check_golden("charts.json", as_lines(given) + "\n")
    texts = {text for one in (dense_piece(),) for text in charts.user_texts(sheet_of(one))}
    check_golden("chart-texts.txt", "\n".join(sorted(texts)) + "\n")


@pytest.mark.parametrize("names", ["sargam", "letters", "degrees", "solfa16"])
def test_what_a_grid_is_given_is_the_golden_one(given: list[Any], names: str) -> None:
    sheet = sheet_of(dense_piece()) if names != "degrees" else dense_part("violin")
    grid.set_grid(sheet, "png", A4, names)
    data = given[0] if names == "sargam" else {k: given[0][k] for k in ("modes", "strains")}
    check_golden(f"grid-{names}.json", as_lines(data) + "\n")


def test_other_names_of_tones_are_refused() -> None:
    with pytest.raises(ValueError, match="swaras"):
        grid.set_grid(sheet_of(dense_piece()), "pdf", A4, "swaras")


def test_what_a_mode_page_is_given_is_the_golden_one(given: list[Any]) -> None:
    library = Library.beside(None)
    for name, tonic in (("marwa", Tonic("F", 1)), ("bhimpalasi", Tonic("G"))):
        mode, _ = library.mode(name, Spot("", 1, 1))
        assert mode is not None
        mode_page.mode_page(mode, tonic, "pdf")
    check_golden("mode-pages.json", as_lines(given) + "\n")


def test_what_front_matter_is_given_is_the_golden_one(given: list[Any]) -> None:
    setlist, _, _ = load_setlist(ROOT / "pieces" / "sets" / "regatta-night.yaml", RULE_NAMES)
    assert setlist is not None
    book = set_book_of(gig_of(setlist))
    parts = [book_pages.ChartPlace(1, "Flute", 1), book_pages.ChartPlace(2, "Flute", 3)]
    parts += [book_pages.ChartPlace(2, "Alto Sax", 5)]
    for reader in (None, "flute", "alto-sax", "tanpura", "tabla"):
        missing = [(9, "z.yaml"), (2, "a.yaml")] if reader in (None, "flute") else []
        book_pages.front_matter(book, reader, parts, PAPERS["letter"], missing)
    book_pages.page_numbers(3, A4)
    check_golden("front-matter.json", as_lines(given) + "\n")


def _pdf(texts: list[str], *links: str) -> bytes:
    """A PDF with a page for each text; its first page has the links."""
    writer = PdfWriter()
    for text in texts:
        page = writer.add_blank_page(100, 150)
        stream = DecodedStreamObject()
        stream.set_data(text.encode())
        page[NameObject("/Contents")] = writer._add_object(stream)
        page[NameObject("/StructParents")] = NumberObject(1)
    for link in links:
        writer.add_annotation(0, Link(rect=(1, 2, 3, 4), url=link))
    if texts:
        writer.add_outline_item(title=f"outline of {texts[0]}", page_number=0)
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


def _book_as_text(reader: PdfReader) -> Iterator[str]:
    """What stands on each page of a book, where its links lead, its outline."""
    for page in reader.pages:
        contents = page.get_contents()
        pictures = page["/Resources"].get("/XObject", {}) if "/Resources" in page else {}
        yield f"page {page.page_number}: {contents.get_data() if contents is not None else None!r}"
        for name, picture in pictures.items():
            form = picture.get_object()
            box = [float(side) for side in form["/BBox"]]
            keys = [form[key] for key in ("/Type", "/Subtype")]
            yield f"  {name}: {form.get_data()!r} {box} {keys} {sorted(form['/Resources'])}"
        for link in page.get("/Annots", []):
            action = link.get_object()["/A"].get_object()
            goal = action.get("/D")
            to = reader.get_page_number(goal[0].get_object()) if goal else action.get("/URI")
            yield f"  link {action['/S']} to {to} {goal[1] if goal else ''}".rstrip()
        yield f"  {'/StructParents' in page}"
    yield from _outline(reader, reader.outline, "")
    root = reader.trailer["/Root"]
    yield f"{dict(reader.metadata or {})} {root['/PageMode']} {root['/Lang']}"
    one, two = reader.trailer["/ID"]
    yield f"{one == two} {len(one.original_bytes)}"


def _outline(reader: PdfReader, items: list[Any], indent: str) -> Iterator[str]:
    for item in items:
        if isinstance(item, list):
            yield from _outline(reader, item, indent + "  ")
        else:
            yield f"{indent}outline {item.title} to {reader.get_destination_page_number(item)}"


def test_a_bound_book_is_the_golden_one() -> None:
    front = _pdf(["front", "contents"], f"{LINK}2", "https://example.org", f"{LINK}0")
    parts = [
        BookPart(_pdf(["a", "b"]), "flute", "1 One"),
        BookPart(_pdf(["c"]), "tabla", "1 One"),
        BookPart(_pdf(["d", "e"]), "flute", "2 Two"),
        BookPart(_pdf(["f"]), "alone"),
    ]
    book = bind_book(front, parts, _pdf([f"number {n}" for n in range(1, 10)]), "A Book")
    assert page_count(book) == 8
    check_golden("book.txt", "\n".join(_book_as_text(PdfReader(io.BytesIO(book)))) + "\n")
