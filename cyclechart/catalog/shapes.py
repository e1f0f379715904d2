"""The shapes of a mode and a cycle as they are written, in a piece, a band's folder or here."""

from __future__ import annotations

from cyclechart.text.shapes import (
    ANYTHING,
    NUMBER,
    TEXT,
    ListOf,
    MappingOf,
    Shape,
    ShapeOf,
    optional,
    required,
)


class AlsoShape(Shape):
    """Another printed form of a mode's ascent, its descent or both."""

    where = "another form of a mode"
    ascent = optional(TEXT)
    descent = optional(TEXT)
    source = optional(TEXT, "")


class ModeShape(Shape):
    """A mode written out. Paths are sargam; phrases are a list of them.

    ``jati`` is the printed count of tones up and down: ``5-7``, or ``6-7 or 7-7``. ``also`` are
    other printed forms, ``drone`` the drone's second string, ``andolan`` the tones that shake,
    ``weak`` the tones not to dwell on, ``register`` where the mode lives.
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
    also = optional(ListOf(ShapeOf(AlsoShape)), [])
    drone = optional(TEXT)
    tuning = optional(ANYTHING)
    tuning_source = optional(TEXT, "")
    andolan = optional(MappingOf(TEXT, "{g: wide}"), {})
    weak = optional(ListOf(TEXT), [])
    register = optional(TEXT)
    source = optional(TEXT, "")
    note = optional(TEXT, "")


class CycleShape(Shape):
    """A cycle written out. Without ``sections`` it is one section, without ``stressed`` sam is.

    ``gati`` is the pulses of a beat, ``limbs`` the southern limb of each section (I O U),
    ``spoken`` the southern spoken count and ``sarvalaghu`` what a drummer there plays.
    """

    where = "a cycle"
    name = optional(TEXT, "")
    beats = required(NUMBER, "beats: 10")
    sections = optional(ListOf(NUMBER), [])
    stressed = optional(ListOf(NUMBER), [])
    open = optional(ListOf(NUMBER), [])
    strokes = optional(TEXT, "")
    spoken = optional(TEXT, "")
    sarvalaghu = optional(TEXT, "")
    sarvalaghu_source = optional(TEXT, "")
    gati = optional(NUMBER)
    limbs = optional(TEXT, "")
    aka = optional(ListOf(TEXT), [])
    source = optional(TEXT, "")
    note = optional(TEXT, "")
