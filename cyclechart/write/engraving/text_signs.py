"""Musical signs within text, in a font that the page has."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import TSPAN, Drawing
from cyclechart.write.engraving.engraver_facts import CODA_SIGN, MUSIC_FONT, PLAIN_SIGNS


def fix_text_signs(drawing: Drawing) -> None:
    """Set the signs within text, which are in a music font that the page does not have, in one that
    it has, the text's own, at the size of the text around them; a coda a little larger and apart.

    A sign that the text's font lacked would take the whole text into another font with it.
    """
    for span in drawing.root.iter(TSPAN) if drawing.has_music_text else ():
        text = span.text or ""
        sign = PLAIN_SIGNS.get(text)
        if sign and span.get("font-family") == MUSIC_FONT:
            size = int(span.get("font-size", "").removesuffix("px")) * 9 // 16
            del span.attrib["font-family"]
            span.text = sign
            if text == CODA_SIGN:
                size = size * 3 // 2
                span.text = f" {sign}"
            span.set("font-size", f"{size}px")
