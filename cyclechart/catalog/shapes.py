"""The shapes of a mode and a cycle as they are written, in a piece, a band's folder or here."""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import Field

from cyclechart.text.shape_fitting import Closed, Exact, Text


class ModeShape(Closed):
    """A mode written out. Paths are sargam; phrases are a list of them.

    ``jati`` is the printed count of tones up and down: ``5-7``, or ``6-7 or 7-7``.
    """

    where: ClassVar[str] = "a mode"
    examples: ClassVar[dict[str, str]] = {
        "ascent": "ascent: S R G m P d n S'",
        "descent": "descent: S' n d P m G R S",
    }
    name: Text = ""
    ascent: Text
    descent: Text
    vadi: Text | None = None
    samvadi: Text | None = None
    jati: Text = ""
    rests: list[Text] = Field(default_factory=list)
    phrases: list[Text] = Field(default_factory=list)
    hour: Text = ""
    aka: list[Text] = Field(default_factory=list)
    family: Text = ""
    tuning: Any = None
    source: Text = ""
    note: Text = ""


class CycleShape(Closed):
    """A cycle written out. Without ``sections`` it is one section, without ``stressed`` sam is.

    ``gati`` is the pulses of a beat, ``spoken`` a spoken count that stands in for strokes,
    ``limbs`` the southern limb of each section (I O U).
    """

    where: ClassVar[str] = "a cycle"
    examples: ClassVar[dict[str, str]] = {"beats": "beats: 10"}
    name: Text = ""
    beats: Exact
    sections: list[Exact] = Field(default_factory=list)
    stressed: list[Exact] = Field(default_factory=list)
    open: list[Exact] = Field(default_factory=list)
    strokes: Text = ""
    spoken: Text = ""
    gati: Exact | None = None
    limbs: Text = ""
    aka: list[Text] = Field(default_factory=list)
    source: Text = ""
    note: Text = ""
