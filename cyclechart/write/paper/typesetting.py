"""Typesetting of texts and pictures by one of our templates: PDF, or a PNG for each page."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import typst

from cyclechart.write.files.fonts import family_names, font_paths

PNG_PPI = 144
"""Pixels an inch."""


@cache
def template(name: str) -> bytes:
    """Return one of our templates, which lie beside this module."""
    return (Path(__file__).parent / name).read_bytes()


def typeset(files: Mapping[str, bytes], texts: Mapping[str, Any], kind: str) -> list[bytes]:
    """Return a typeset template: one PDF (``kind`` pdf), or a PNG for each page (``kind`` png).

    The template is ``main.typ`` of the ``files``. The texts reach it as data, with the fonts that
    they need, so that none is ever read as markup.
    The same input gives the same bytes.
    """
    pages: bytes | list[bytes] = typst.compile(  # type: ignore[call-overload]  # takes a dict too
        dict(files),
        format=kind,
        ppi=float(PNG_PPI) if kind == "png" else None,
        timestamp=0,
        **_text_inputs(texts),
    )
    return pages if isinstance(pages, list) else [pages]


def query(files: Mapping[str, bytes], texts: Mapping[str, Any], label: str) -> Any:
    """Return the value of the only metadata of a label in a typeset template.

    Files and texts as for ``typeset``.
    """
    found = typst.query(dict(files), label, field="value", one=True, **_text_inputs(texts))
    return json.loads(found)


def _text_inputs(texts: Mapping[str, Any]) -> dict[str, Any]:
    """Return the texts as the typesetter takes them, with the fonts that they need."""
    data = json.dumps({**texts, "fonts": family_names([str(texts)])}, ensure_ascii=False)
    return {
        "sys_inputs": {"data": data},
        "font_paths": font_paths([data]),
        "ignore_system_fonts": True,
    }
