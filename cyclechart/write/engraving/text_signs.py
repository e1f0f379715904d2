"""Musical signs within text, in a font that the page has."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import TSPAN, Drawing, Element
from cyclechart.write.engraving.engraver_facts import (
    CODA_SIGN,
    DYNAMIC_SIGNS,
    MUSIC_FONT,
    PLAIN_SIGNS,
)


def fix_text_signs(drawing: Drawing) -> None:
    """Set the signs within text, which are in a music font that the page does not have, in one that
    it has, the text's own, at the size of the text around them; a coda a little larger and apart.

    A sign that the text's font lacked would take the whole text into another font with it.
    """
    for span in drawing.root.iter(TSPAN) if drawing.has_music_text else ():
        text = span.text or ""
        if text in DYNAMIC_SIGNS and span.get("font-family") == MUSIC_FONT:
            _set_dynamic(span, DYNAMIC_SIGNS[text])
            continue
        sign = PLAIN_SIGNS.get(text)
        if sign and span.get("font-family") == MUSIC_FONT:
            size = int(span.get("font-size", "").removesuffix("px")) * 9 // 16
            del span.attrib["font-family"]
            span.text = sign
            if text == CODA_SIGN:
                size = size * 3 // 2
                span.text = f" {sign}"
            span.set("font-size", f"{size}px")


def _set_dynamic(span: Element, letters: str) -> None:
    """Set a dynamic before a word (p cresc.) in bold italics of the text's own font."""
    size = int(span.get("font-size", "").removesuffix("px")) * 5 // 8
    for name in ("font-family", "letter-spacing"):
        span.attrib.pop(name, "")
    span.text = f"{letters}\u00a0"
    span.set("font-style", "italic")
    span.set("font-weight", "bold")
    span.set("font-size", f"{size}px")
