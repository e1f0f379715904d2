"""The fixes of an engraved strain: what the engraver draws, made fit for the page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.engraving.bracket_labels import label_brackets
from cyclechart.write.engraving.caesuras import fix_caesuras
from cyclechart.write.engraving.collisions import (
    fix_collisions,
    fix_score_collisions,
    has_movable,
)
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.ghost_notes import fix_ghost_notes
from cyclechart.write.engraving.hairpin_ends import fix_hairpins
from cyclechart.write.engraving.repeat_counts import add_repeat_counts
from cyclechart.write.engraving.syllable_spacing import space_syllables
from cyclechart.write.engraving.text_margins import keep_texts_inside
from cyclechart.write.engraving.text_outlines import outline_texts
from cyclechart.write.engraving.text_signs import fix_text_signs
from cyclechart.write.engraving.time_signatures import fix_time_signatures
from cyclechart.write.engraving.tuplet_numbers import fix_tuplet_numbers


def fixed_drawings(pages: Iterable[str], strain: Strain) -> list[Drawing]:
    """Return the systems of a strain, fixed, from the pages that the engraver draws."""
    drawings = _labelled_drawings(pages, {0: strain})
    words = _has_words([strain])
    for drawing in drawings:
        fix_collisions(drawing, words=words)
        outline_texts(drawing)
    return drawings


def fixed_score_drawings(
    pages: Iterable[str], strains: Sequence[Strain]
) -> tuple[list[Drawing], float]:
    """Return the systems of a strain of several parts, as ``fixed_drawings``, and the room
    between staves that they would need (0 where they have it)."""
    drawings = _labelled_drawings(pages, dict(enumerate(strains, start=1)))
    words = _has_words(strains)
    needed = 0.0
    for drawing in drawings:
        if words or has_movable(drawing):
            needed = max(needed, fix_score_collisions(drawing))
        outline_texts(drawing)
    return drawings, needed


def _has_words(strains: Iterable[Strain]) -> bool:
    """Return whether there are words or chord symbols over notes of some strains."""
    return any(
        strain.symbols or any(note.text or note.chord is not None for note in strain.notes)
        for strain in strains
    )


def _labelled_drawings(pages: Iterable[str], strains: Mapping[int, Strain]) -> list[Drawing]:
    """The systems with their texts, tuplets and signatures fixed, and their brackets labelled."""
    drawings = [Drawing(page) for page in pages]
    for drawing in drawings:
        fix_text_signs(drawing)
        keep_texts_inside(drawing)
        space_syllables(drawing)
        fix_tuplet_numbers(drawing)
        fix_time_signatures(drawing)
        fix_hairpins(drawing)
        fix_caesuras(drawing)
        if any(strain.kind == "kit" for strain in strains.values()):
            fix_ghost_notes(drawing)
    for part, strain in strains.items():
        label_brackets(drawings, strain, part)
    add_repeat_counts(drawings, next(iter(strains.values())).measures)
    return drawings
