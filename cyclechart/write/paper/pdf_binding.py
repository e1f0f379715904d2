"""A book bound from single PDFs: page numbers, outline, links; the same parts, the same bytes."""

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
"""The beginning of a link from the front matter to a part; the index of the part follows."""


@dataclass(frozen=True)
class BookPart:
    """A part of the book: its PDF, its name in the outline, and the heading there ("" for none).

    ``blank``: the PDF of an empty page before it, or b"".
    """

    pdf: bytes
    name: str
    heading: str = ""
    blank: bytes = b""


def page_count(pdf: bytes) -> int:
    """Return the number of pages of a PDF."""
    return len(PdfReader(io.BytesIO(pdf)).pages)


def bind_book(front: bytes, parts: Sequence[BookPart], numbers: bytes, title: str) -> bytes:
    """Return one PDF of the front matter and the parts.

    ``numbers``: a PDF with at least as many pages as the book, each with its number; the first page
    of the book shows none.
    """
    writer = PdfWriter()
    writer.append(io.BytesIO(front), import_outline=True)
    firsts = []
    headings: dict[str, IndirectObject] = {}
    for part in parts:
        if part.blank:
            writer.append(io.BytesIO(part.blank), import_outline=False)
        first = len(writer.pages)
        firsts.append(first)
        writer.append(io.BytesIO(part.pdf), import_outline=False)
        parent = None
        if part.heading:
            if part.heading not in headings:
                headings[part.heading] = writer.add_outline_item(
                    title=part.heading, page_number=first
                )
            parent = headings[part.heading]
        writer.add_outline_item(title=part.name, page_number=first, parent=parent)
    _add_page_numbers(writer, numbers)
    _point_links(writer, firsts)
    writer.metadata = {"/Title": title, "/Producer": "cyclechart"}
    writer.page_mode = "/UseOutlines"
    writer.root_object[NameObject("/Lang")] = TextStringObject("en")
    digest = hashlib.sha256(front + numbers)
    for part in parts:
        digest.update(hashlib.sha256(part.blank + part.pdf).digest())
    name = ByteStringObject(digest.digest()[:16])
    writer._ID = ArrayObject([name, name])
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


def _add_page_numbers(writer: PdfWriter, numbers: bytes) -> None:
    """Lay its number over each page but the first.

    The number is a picture of its own, so that the content of a chart need not be parsed.
    """
    layer = PdfReader(io.BytesIO(numbers))
    opening = writer._add_object(_stream(b"q\n"))
    closing = writer._add_object(_stream(b"\nQ\nq /BookNumber Do Q\n"))
    for at, page in enumerate(writer.pages):
        page.pop("/StructParents", None)  # the tags of charts are none of a book
        if at == 0:
            continue
        number = _form(writer, layer.pages[at])
        resources = _copy(page.get("/Resources"))
        pictures = _copy(resources.get("/XObject"))
        pictures[NameObject("/BookNumber")] = number
        resources[NameObject("/XObject")] = pictures
        page[NameObject("/Resources")] = resources
        contents = page.get("/Contents", NullObject()).get_object()
        middle = (
            list(contents) if isinstance(contents, ArrayObject) else [page.raw_get("/Contents")]
        )
        page[NameObject("/Contents")] = ArrayObject([opening, *middle, closing])


def _copy(dictionary: Any) -> DictionaryObject:
    """Return a copy of a dictionary that other pages may share; an empty one for None."""
    return DictionaryObject() if dictionary is None else DictionaryObject(dictionary.get_object())


def _stream(data: bytes) -> DecodedStreamObject:
    stream = DecodedStreamObject()
    stream.set_data(data)
    return stream


def _form(writer: PdfWriter, page: PageObject) -> IndirectObject:
    """Return a page as a picture for other pages."""
    contents = page.get_contents()
    form = _stream(contents.get_data() if contents is not None else b"")
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = ArrayObject(FloatObject(side) for side in page.mediabox)
    form[NameObject("/Resources")] = page["/Resources"].get_object().clone(writer)  # type: ignore[union-attr]
    return writer._add_object(form)


def _point_links(writer: PdfWriter, firsts: Sequence[int]) -> None:
    """Point the links from the front matter to a part at its first page."""
    for page in writer.pages:
        for annotation in page.get("/Annots", ArrayObject()).get_object():
            link = annotation.get_object()
            link.pop("/StructParent", None)
            action = link.get("/A", DictionaryObject()).get_object()
            target = str(action.get("/URI", ""))
            if not target.startswith(LINK):
                continue
            first_page = writer.pages[firsts[int(target.removeprefix(LINK))]].indirect_reference
            link[NameObject("/A")] = DictionaryObject(
                {
                    NameObject("/S"): NameObject("/GoTo"),
                    NameObject("/D"): ArrayObject([first_page or NullObject(), NameObject("/Fit")]),
                }
            )
