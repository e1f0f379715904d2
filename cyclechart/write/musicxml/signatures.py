"""Clefs and signatures as MusicXML, and the measure by which the engraver announces the next."""

from __future__ import annotations

from lxml import etree

from cyclechart.arrange.sheet.courtesies import Courtesy
from cyclechart.arrange.sheet.model import Reader, StaffKey
from cyclechart.catalog.instruments import Clef
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.measure_contents import silent_content
from cyclechart.write.musicxml.notes import add_rests
from cyclechart.write.musicxml.staff import Meter, meter_of

CLEFS: dict[Clef, tuple[str, int, int]] = {
    "treble": ("G", 2, 0), "treble-8vb": ("G", 2, -1), "alto": ("C", 3, 0), "tenor": ("C", 4, 0),
    "bass": ("F", 4, 0), "percussion": ("percussion", 0, 0),
}  # fmt: skip
"""The sign, the line and the octave of each clef."""

GRAND_STAFF: tuple[Clef, Clef] = "treble", "bass"
"""The clefs of two staves."""

DIATONIC_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""The staff steps of an interval of 0 to 11 semitones, as transposing instruments count them."""


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


def add_clef(attributes: Element, reader: Reader | None, kind: str) -> None:
    """Add the clef, the number of staff lines and the transposition."""
    sign, line, octave = CLEFS[reader.clef] if reader is not None else CLEFS["treble"]
    if reader is not None and reader.staves > 1:
        for number, name in enumerate(GRAND_STAFF, start=1):
            clef = _sub(attributes, "clef", number=str(number))
            _sub(clef, "sign").text, line, _ = CLEFS[name]
            _sub(clef, "line").text = str(line)
        return
    clef = _sub(attributes, "clef")
    if kind != "melody":
        _sub(clef, "sign").text = "percussion"
        if kind == "strokes":
            _sub(_sub(attributes, "staff-details"), "staff-lines").text = "1"
        return
    _sub(clef, "sign").text = sign
    _sub(clef, "line").text = str(line)
    if octave:
        _sub(clef, "clef-octave-change").text = str(octave)
    if reader is not None and reader.transposes:
        _add_transpose(attributes, reader.transposes)


def _add_transpose(attributes: Element, semitones: int) -> None:
    octaves, rest = divmod(abs(semitones), 12)
    sign = -1 if semitones < 0 else 1
    transpose = _sub(attributes, "transpose")
    _sub(transpose, "diatonic").text = str(sign * DIATONIC_STEPS[rest])
    _sub(transpose, "chromatic").text = str(sign * rest)
    if octaves:
        _sub(transpose, "octave-change").text = str(sign * octaves)
