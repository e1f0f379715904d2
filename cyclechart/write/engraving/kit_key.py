"""The key of a drum kit's part: each sound that is in it, on its line or space, with its name."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.part_notes import NO_SPOT, PartNote
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.catalog.kit import DRUM
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.engraver import draw_endless
from cyclechart.write.engraving.engraver_facts import VIEW_BOX
from cyclechart.write.engraving.system_fixes import fixed_drawings
from cyclechart.write.musicxml.document import strain_xml

AIR = "\u00a0"
"""Room on both sides of a name."""


@dataclass(frozen=True)
class KitKey:
    """The picture of a key: an SVG document, and its width in the engraver's units."""

    svg: str
    width: float


_KEYS: dict[tuple[str, ...], KitKey] = {}
"""The keys drawn so far: a key depends on its sounds alone."""


def kit_key(sheet: Sheet) -> KitKey | None:
    """Return the key of a kit's part; None for other parts, and for one without written strokes."""
    if sheet.reader is None or sheet.reader.staff != "kit" or not sheet.strains:
        return None
    sounds = sheet.drums
    if sounds and sounds not in _KEYS:
        _KEYS[sounds] = _draw_key(sounds, sheet)
    return _KEYS.get(sounds)


def _draw_key(sounds: tuple[str, ...], sheet: Sheet) -> KitKey:
    strain = _key_strain(sounds, sheet.strains[0])
    plain = strain_xml(sheet, strain, first=False)
    (drawing,) = fixed_drawings([draw_endless(plain)], strain)
    return KitKey(drawing.svg, _width(drawing))


def _key_strain(sounds: tuple[str, ...], like: Strain) -> Strain:
    """Return a strain without meter: each sound once, its name under it."""
    beat = Fraction(1)
    notes = tuple(
        PartNote(beat * at, beat, NO_SPOT, syllable=name, under=(f"{AIR}{DRUM[name].words}{AIR}",))
        for at, name in enumerate(sounds)
    )
    measure = Measure(
        start=Fraction(0), length=beat * len(notes), cycle=1, beat=beat, sign="", opens=True,
        closes=False, whole=True,
    )  # fmt: skip
    return replace(
        like, letter="key", kind="kit", notes=notes, measures=(measure,), free=True, brackets=(),
        drone=False, first=False,
    )  # fmt: skip


def _width(drawing: Drawing) -> float:
    view = VIEW_BOX.fullmatch(drawing.root.get("viewBox", ""))
    return float(view[1]) if view else 0.0
