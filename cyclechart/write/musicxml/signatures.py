"""Key and time signatures as MusicXML, and the measure that has the engraver announce them."""

from __future__ import annotations

from lxml import etree

from cyclechart.arrange.sheet.courtesies import Courtesy
from cyclechart.arrange.sheet.model import StaffKey
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.measure_contents import silent_content
from cyclechart.write.musicxml.notes import add_rests
from cyclechart.write.musicxml.staff import Meter, meter_of


def add_key(attributes: Element, key: StaffKey, before: StaffKey | None = None) -> None:
    """Add a standard key signature, or the accidentals of the mode one by one.

    ``before``: the one that it follows, which a signature without signs cancels.
    """
    element = _sub(attributes, "key")
    if key.signs is None:
        if before is not None and not key.fifths:
            _sub(element, "cancel").text = str(before.fifths)
        _sub(element, "fifths").text = str(key.fifths)
        return
    for letter, alter in key.signs:
        _sub(element, "key-step").text = letter
        _sub(element, "key-alter").text = str(alter)


def add_time(attributes: Element, meter: Meter | None, *, hidden: bool = False) -> None:
    """Add a time signature; None for no meter, which is never printed."""
    time = _sub(attributes, "time")
    if hidden or meter is None:
        time.set("print-object", "no")
    if meter is None:
        _sub(time, "senza-misura")
        return
    for beats, kind in meter:
        _sub(time, "beats").text = beats
        _sub(time, "beat-type").text = kind


def courtesy_measure(courtesy: Courtesy, key: StaffKey, beat: int) -> Element:
    """Return a measure on a system of its own, before which the engraver draws a courtesy.

    The system itself is not used. ``key``: the one in force before it; ``beat``: ticks a beat.
    """
    element = etree.Element("measure", number="courtesy", implicit="yes")
    _sub(element, "print", {"new-system": "yes"})
    attributes = _sub(element, "attributes")
    if courtesy.key is not None:
        add_key(attributes, courtesy.key, key)
    if courtesy.cycle is not None:
        add_time(attributes, meter_of(courtesy.cycle))
    add_rests(element, silent_content(beat, 1), beat, "values")
    return element
