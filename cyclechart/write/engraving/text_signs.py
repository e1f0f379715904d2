"""Musical signs within text, in a font that the page has."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import TSPAN, Drawing
from cyclechart.write.engraving.engraver_facts import MUSIC_FONT, PLAIN_SIGNS


def fix_text_signs(drawing: Drawing) -> None:
    """Set the accidentals within text, which are in a music font that the page does not have, in
    the text's own font, at the size of the text around them."""
    for span in drawing.root.iter(TSPAN) if drawing.has_music_text else ():
        sign = PLAIN_SIGNS.get(span.text or "")
        if sign and span.get("font-family") == MUSIC_FONT:
            size = int(span.get("font-size", "").removesuffix("px")) * 9 // 16
            del span.attrib["font-family"]
            span.set("font-size", f"{size}px")
            span.text = sign
