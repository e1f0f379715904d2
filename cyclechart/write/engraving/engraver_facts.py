"""Facts about the engraver's own documents, its MEI and its SVG, that everything here rests on.

They hold for verovio 6; the SVG that it writes is not described anywhere.
"""

from __future__ import annotations

import re

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
MEI = "{http://www.music-encoding.org/ns/mei}"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"

# Sizes, in the units of a drawing; y grows downwards.

STAFF_SPACE = 180

STAFF_HEIGHT = 4 * STAFF_SPACE

STAFF_LINE = "13"
"""The stroke of a staff line."""

# Classes. Each ``<g>`` says what it shows in the first word of its class.

_FIXED = """
    accid artic bTrem beam clef dots flag gliss keyAccid ledgerLines mNum mRest meterSig meterSigGrp
    multiRest notehead rest slur staff stem tie
"""
FIXED = frozenset(_FIXED.split())
"""The classes of what stays where it is."""

ROWS = frozenset(("dir", "harm", "reh", "tempo"))
"""The classes of texts that stand in a row, all at one height."""

ORNAMENTS = ("fermata", "mordent", "trill", "turn")
"""The classes of signs over a note, each a single glyph."""

FLOATING = ROWS | {"bracketSpan", "caesura", "repeatMark", "voltaBracket", *ORNAMENTS}
"""The classes of what can be moved up."""

UNMEASURED = frozenset(("barLine", "dynam", "layer", "verse"))
"""The classes of what stands within a measured group and is no part of it."""

KNOWN = FIXED | FLOATING | UNMEASURED | {"tupletBracket", "tupletNum"}

INDEXED = frozenset(
    (
        "bracketSpan",
        "caesura",
        "dir",
        "harm",
        "dynam",
        *ORNAMENTS,
        "hairpin",
        "measure",
        "meterSig",
        "meterSigGrp",
        "page-margin",
        "slur",
        "staff",
        "tuplet",
        "tupletNum",
        "verse",
    )
)
"""The classes that fixes look for; all others are too many to keep."""

INVISIBLE = frozenset(("placeholder", "pageMilestone", "systemMilestoneEnd"))

FONT_WEIGHTS = {
    "ending": "bold", "fing": "bold", "reh": "bold", "tempo": "bold", "label": "normal",
}  # fmt: skip
FONT_STYLES = {"dir": "italic", "dynam": "italic", "mNum": "italic"}
"""The style sheet of a drawing, by class. It gives every path and rect a stroke, too, which a style
of their own undoes and an attribute does not."""

# Fonts.

MUSIC_FONT = "Leipzig"

SIGNATURE_FIGURES = {f"E08{figure:X}": str(figure) for figure in range(10)}
"""The codes of the figures of a time signature."""

SIGNATURE_PLUSES = frozenset(("E08C", "E08D"))
"""The large plus of a time signature and the small one."""

LEFT_PAREN, RIGHT_PAREN = "E26A", "E26B"
"""The codes of parentheses, round accidentals and noteheads."""

CODA_SIGN = "\ue048"
PLAIN_SIGNS = {"\uea64": "♭", "\uea65": "♮", "\uea66": "♯", "\ue551": "_", CODA_SIGN: "⊕"}
"""Signs within text (SMuFL figbassFlat and its neighbours, coda) and the like in a text font."""

DYNAMIC_SIGNS = {
    "\ue520": "p", "\ue522": "f", "\ue52b": "pp", "\ue52c": "mp", "\ue52d": "mf", "\ue52f": "ff",
}  # fmt: skip
"""Dynamics within text (SMuFL dynamicPiano and its neighbours) and their letters."""

# How attributes are written.

STRAIGHT = re.compile(r"M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)")
"""The ``d`` of a straight path."""

GLYPH_PLACE = re.compile(r"translate\((-?\d+), (-?\d+)\) scale\(([\d.]+), [\d.]+\)")
"""The ``transform`` of a glyph."""

TRANSLATION = re.compile(r"translate\((-?\d+), (-?\d+)\)")
"""The ``transform`` of the page's margin."""

VIEW_BOX = re.compile(r"0 0 (\S+) (\S+)")

NOTE_ID = re.compile(r"((?:p\d+-)?n-\w+-\d+)(?:-\d+)?")
"""The id of a note as we write it, which the engraver keeps: with its part's number in a score,
and with a number of its own where a note is spelled as several."""
