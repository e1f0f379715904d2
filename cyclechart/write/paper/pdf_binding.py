"""Single PDFs bound into a book: its pages numbered, its outline, its links; the same bytes from
the same parts."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NullObject,
    TextStringObject,
)

LINK = "cyclechart:"
"""The beginning of a link from the front matter to a part; the part's index follows."""


@dataclass(frozen=True)
class BookPart:
    """A part of the book: its PDF, what the outline calls it, and under what heading there."""

    pdf: bytes
    name: str
    within: str = ""


def page_count(pdf: bytes) -> int:
    """Return the number of pages of a PDF."""
    return len(PdfReader(io.BytesIO(pdf)).pages)


def bind_book(front: bytes, parts: Sequence[BookPart], numbers: bytes, title: str) -> bytes:
    """One PDF of the front matter and the parts. ``numbers`` has a page of a number for each page
    of the book at least; the first page shows none."""
    writer = PdfWriter()
    writer.append(io.BytesIO(front), import_outline=True)
    firsts = []
    headings: dict[str, IndirectObject] = {}
    for part in parts:
        first = len(writer.pages)
        firsts.append(first)
        writer.append(io.BytesIO(part.pdf), import_outline=False)
        parent = None
        if part.within:
            if part.within not in headings:
                headings[part.within] = writer.add_outline_item(
                    title=part.within, page_number=first
                )
            parent = headings[part.within]
        writer.add_outline_item(title=part.name, page_number=first, parent=parent)
    _add_page_numbers(writer, numbers)
    _point_links(writer, firsts)
    writer.metadata = {"/Title": title, "/Producer": "cyclechart"}
    writer.page_mode = "/UseOutlines"
    writer.root_object[NameObject("/Lang")] = TextStringObject("en")
    digest = hashlib.sha256(front + numbers)
    for part in parts:
        digest.update(hashlib.sha256(part.pdf).digest())
    name = ByteStringObject(digest.digest()[:16])
    writer._ID = ArrayObject([name, name])
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


def _add_page_numbers(writer: PdfWriter, numbers: bytes) -> None:
    """Lay its number over each page but the first, as a picture that is not mixed into what stands
    there (nothing of a chart has to be read for it)."""
    layer = PdfReader(io.BytesIO(numbers))
    opening = writer._add_object(_stream(b"q\n"))
    closing = writer._add_object(_stream(b"\nQ\nq /BookNumber Do Q\n"))
    for at, page in enumerate(writer.pages):
        page.pop("/StructParents", None)  # the tags of single charts do not make those of a book
        if at == 0:
            continue
        number = _form(writer, layer.pages[at])
        resources = _copy(page.get("/Resources"))
        pictures = _copy(resources.get("/XObject"))
        pictures[NameObject("/BookNumber")] = number
        resources[NameObject("/XObject")] = pictures
        page[NameObject("/Resources")] = resources
        there = page.get("/Contents", NullObject())
        held = there.get_object()
        middle = list(held) if isinstance(held, ArrayObject) else [page.raw_get("/Contents")]
        page[NameObject("/Contents")] = ArrayObject([opening, *middle, closing])


def _copy(held: Any) -> DictionaryObject:
    """A dictionary of a page's own: what is written there may be shared with other pages."""
    return DictionaryObject() if held is None else DictionaryObject(held.get_object())


def _stream(data: bytes) -> DecodedStreamObject:
    stream = DecodedStreamObject()
    stream.set_data(data)
    return stream


def _form(writer: PdfWriter, page: PageObject) -> IndirectObject:
    """A page as a picture for other pages."""
    contents = page.get_contents()
    form = _stream(contents.get_data() if contents is not None else b"")
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = ArrayObject(FloatObject(side) for side in page.mediabox)
    form[NameObject("/Resources")] = page["/Resources"].get_object().clone(writer)  # type: ignore[union-attr]
    return writer._add_object(form)


def _point_links(writer: PdfWriter, firsts: Sequence[int]) -> None:
    """Links of the front matter to a part lead to its first page."""
    for page in writer.pages:
        for held in page.get("/Annots", ArrayObject()).get_object():
            link = held.get_object()
            link.pop("/StructParent", None)
            action = link.get("/A", DictionaryObject()).get_object()
            target = str(action.get("/URI", ""))
            if not target.startswith(LINK):
                continue
            there = writer.pages[firsts[int(target.removeprefix(LINK))]].indirect_reference
            link[NameObject("/A")] = DictionaryObject(
                {
                    NameObject("/S"): NameObject("/GoTo"),
                    NameObject("/D"): ArrayObject([there or NullObject(), NameObject("/Fit")]),
                }
            )
