"""The engraver: a MusicXML document drawn as SVG pages."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import verovio

from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.engraving.condensing import DrawnStaves, condense
from cyclechart.write.engraving.engraver_facts import MUSIC_FONT
from cyclechart.write.engraving.mei_brackets import add_brackets, needs_brackets

PAGE_WIDTH = 1900
"""Width of a system in the engraver's units; a staff is 72 high (6.8 mm on a line of 180 mm)."""

MARGIN = 22
"""Left of the staff, for the cycle number above its beginning."""

BRACE = 14
"""The room of a brace, left of two staves."""

STAFF_GAP = 7
"""The least room between two staves of a score, in halves of a staff space; what stands between
them takes more."""

BRACKET_FOOT = 30
"""The room under a score for the foot of a bracket and the name of the last staff."""

WORD_SPACE = 2.6
"""The space between sung words in a score, in halves of a staff space: the page's letters are wider
than the engraver's."""

_BASE: dict[str, Any] = {
    "adjustPageHeight": True,
    "condense": "none",
    "footer": "none",
    "header": "none",
    "defaultBottomMargin": 1.5,
    "font": MUSIC_FONT,
    "lyricTopMinMargin": 3.0,
    "lyricHeightFactor": 1.3,
    "measureMinWidth": 30,
    "mnumInterval": 0,
    "multiRestStyle": "block",
    "pageMarginBottom": 8,
    "pageMarginLeft": MARGIN,
    "pageMarginRight": 0,
    "pageMarginTop": 20,
    "spacingBracketGroup": STAFF_GAP,
    "spacingStaff": STAFF_GAP,
    "svgFormatRaw": True,
    "svgViewBox": True,
    "xmlIdChecksum": True,
}
_SCORE: dict[str, Any] = {
    "lyricWordSpace": WORD_SPACE,
    "pageMarginBottom": BRACKET_FOOT,
}
_WIDE_NAMES = {"lyricWordSpace": 4.0}
"""The like for names in another script: the engraver takes their letters to be narrower still."""
_ENDLESS = {**_BASE, "adjustPageWidth": True, "breaks": "none", "pageWidth": 60_000}
_SYSTEMS = {
    **_BASE,
    "adjustPageWidth": False,
    "breaks": "line",
    "pageHeight": 60_000,
    "systemMaxPerPage": 1,
}


class EngravingError(Exception):
    """The engraver refused a document that we wrote: a bug of ours."""


class _Engravers(threading.local):
    """The engraver of each thread: what it has read of its fonts is known to one thread alone."""

    toolkit: Any = None


_ENGRAVERS = _Engravers()


def _toolkit() -> Any:
    if _ENGRAVERS.toolkit is None:
        verovio.enableLog(verovio.LOG_OFF)
        # Importing it says where its fonts are to the importing thread alone.
        verovio.setDefaultResourcePath(str(Path(verovio.__file__).parent / "data"))
        _ENGRAVERS.toolkit = verovio.toolkit()
    return _ENGRAVERS.toolkit


def draw_endless(document: bytes, *, score: bool = False, wide_names: bool = False) -> str:
    """Return a document drawn on one line of any length; ``score``: with several staves;
    ``wide_names``: with names in another script than Latin."""
    options = _ENDLESS | _SCORE if score else _ENDLESS
    return _draw(document, options | _WIDE_NAMES if wide_names else options)[0]


def draw_systems(
    document: bytes,
    strains: Sequence[Strain],
    width: int,
    least_justified: float,
    *,
    braced: bool = False,
    condensed: Sequence[DrawnStaves] = (),
    opening: bool = True,
    wide_names: bool = False,
    apart: int = 0,
) -> list[str]:
    """Return the systems of a document, one picture each, with the brackets of its strains.

    ``width``: of a system, in the engraver's units; ``least_justified``: the share of the width
    from which the last system is stretched to all of it; ``braced``: a brace stands left of it;
    ``condensed``: the staves of each system, where some are left out, of the first system too
    unless it is the ``opening`` of a score; ``wide_names``: with names in another script than
    Latin; ``apart``: the least halves of a staff space between staves, 0 for the usual.
    """
    options = {**_SYSTEMS, "minLastJustification": least_justified, "pageWidth": width}
    if len(strains) > 1:
        options |= _SCORE
    if wide_names:
        options |= _WIDE_NAMES
    if braced:
        options["pageMarginLeft"] = MARGIN + BRACE
    if apart:
        options |= {"spacingStaff": apart, "spacingBracketGroup": apart}
    if condensed:
        options |= {"condense": "encoded", "condenseFirstPage": not opening}
    return _draw(document, options, strains, condensed)


def _draw(
    document: bytes,
    options: dict[str, Any],
    strains: Sequence[Strain] = (),
    condensed: Sequence[DrawnStaves] = (),
) -> list[str]:
    try:
        return _drawn(_toolkit(), document, options, strains, condensed)
    except EngravingError:
        _ENGRAVERS.toolkit = None  # it may be broken now: the next drawing gets a new one
        raise


def _drawn(
    toolkit: Any,
    document: bytes,
    options: dict[str, Any],
    strains: Sequence[Strain],
    condensed: Sequence[DrawnStaves],
) -> list[str]:
    toolkit.resetOptions()
    toolkit.setOptions(options)
    toolkit.resetXmlIdSeed(1)
    if not toolkit.loadData(document.decode()):
        raise EngravingError("the engraver could not load the strain")
    if condensed and not toolkit.loadData(condense(toolkit.getMEI(), condensed)):
        raise EngravingError("the engraver could not load the strain without some staves")
    if any(map(needs_brackets, strains)) and not toolkit.loadData(
        add_brackets(toolkit.getMEI(), strains)
    ):
        raise EngravingError("the engraver could not load the strain with its brackets")
    return [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]
