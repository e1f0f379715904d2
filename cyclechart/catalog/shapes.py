"""The shapes of a mode and a cycle as they are written, in a piece, a band's folder or here."""

from __future__ import annotations

from cyclechart.text.shapes import ANYTHING, NUMBER, TEXT, ListOf, Shape, optional, required


class ModeShape(Shape):
    """A mode written out. Paths are sargam; phrases are a list of them.

    ``jati`` is the printed count of tones up and down: ``5-7``, or ``6-7 or 7-7``.
    """

    where = "a mode"
    name = optional(TEXT, "")
    ascent = required(TEXT, "ascent: S R G m P d n S'")
    descent = required(TEXT, "descent: S' n d P m G R S")
    vadi = optional(TEXT)
    samvadi = optional(TEXT)
    jati = optional(TEXT, "")
    rests = optional(ListOf(TEXT), [])
    phrases = optional(ListOf(TEXT), [])
    hour = optional(TEXT, "")
    aka = optional(ListOf(TEXT), [])
    family = optional(TEXT, "")
    tuning = optional(ANYTHING)
    source = optional(TEXT, "")
    note = optional(TEXT, "")


class CycleShape(Shape):
    """A cycle written out. Without ``sections`` it is one section, without ``stressed`` sam is.

    ``gati`` is the pulses of a beat, ``spoken`` a spoken count that stands in for strokes,
    ``limbs`` the southern limb of each section (I O U).
    """

    where = "a cycle"
    name = optional(TEXT, "")
    beats = required(NUMBER, "beats: 10")
    sections = optional(ListOf(NUMBER), [])
    stressed = optional(ListOf(NUMBER), [])
    open = optional(ListOf(NUMBER), [])
    strokes = optional(TEXT, "")
    spoken = optional(TEXT, "")
    gati = optional(NUMBER)
    limbs = optional(TEXT, "")
    aka = optional(ListOf(TEXT), [])
    source = optional(TEXT, "")
    note = optional(TEXT, "")
