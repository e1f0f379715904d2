"""Two layers of notes at once: hands over feet on a kit, right over left hand on a keyboard.

Drum set notation has the hands' stems up and the feet's down (N. Weinberg, Guide to Standardized
Drumset Notation, Percussive Arts Society; E. Gould, Behind Bars, on percussion; from memory). Both
layers have the rhythm of the whole; where one is silent it has a rest that is not drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from typing import Literal

from lxml import etree

from cyclechart.arrange.part_notes import PartNote
from cyclechart.piece.note import Note
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.notations import add_ratio, add_tuplet, add_value
from cyclechart.write.musicxml.note_look import NoteLook
from cyclechart.write.musicxml.note_marks import NO_MARKS
from cyclechart.write.musicxml.note_templates import NoteTemplates
from cyclechart.write.musicxml.note_values import FLAGS, beam_levels
from cyclechart.write.musicxml.rhythm import WrittenValue
from cyclechart.write.musicxml.staff import Accidental

LayerName = Literal["upper", "lower"]
Beams = tuple[str, ...]

FEET = frozenset(("kick", "foot"))
"""The strokes of a drummer's feet: stems down."""

LOWEST_RIGHT, HIGHEST_LEFT = 55, 65
"""The MIDI keys G3 and F4, each two ledger lines from its staff: the left hand has what is lower
than the first, and of a chord's tones the lowest, if that is not higher than the second."""


@dataclass(frozen=True)
class LayerPlan:
    """Which layer a tone or stroke belongs to, and on how many staves the layers stand."""

    staves: int
    layer_of: Callable[[int | str, bool], frozenset[LayerName]]
    """The layers of a tone or stroke; the second argument is True for the lowest of a chord."""


def _kit_layer(value: int | str, _: bool) -> frozenset[LayerName]:
    return frozenset(("lower",)) if value in FEET else frozenset(("upper",))


KIT_LAYERS = LayerPlan(1, _kit_layer)


def keyboard_layers(base: int) -> LayerPlan:
    """Return the layers of two staves for tones counted from the key ``base``; slashes stand on
    both."""

    def layer_of(value: int | str, lowest: bool) -> frozenset[LayerName]:
        if isinstance(value, str):
            return frozenset(("upper", "lower"))
        key = base + value
        left = key < LOWEST_RIGHT or (lowest and key <= HIGHEST_LEFT)
        return frozenset(("lower",)) if left else frozenset(("upper",))

    return LayerPlan(2, layer_of)


class NoteLayers:
    """Writes the notes of a measure in two layers: the upper one in place, the lower one after."""

    def __init__(self, plan: LayerPlan, templates: NoteTemplates) -> None:
        self.plan = plan
        self.templates = templates
        self.lower: list[Element] = []
        self.lower_sounds = False
        self.beat = 0
        """The ticks of a beat in the measure that is written."""
        self.beams: dict[int, tuple[Beams, Beams]] = {}
        self.whole_beats: tuple[dict[int, bool], dict[int, bool]] = {}, {}
        """By layer the values of a beat on which one stroke is alone, by their starts: True for
        that stroke, which is written as long as the beat, False for what it covers."""

    def begin(
        self,
        values: Sequence[tuple[WrittenValue, int]],
        notes: Sequence[Note],
        lead: int,
        beat: int,
    ) -> None:
        """Begin a measure of these written values, each with the index of its note.

        ``lead``: the ticks before its first beat line; ``beat``: those of a beat.
        """
        self.lower, self.lower_sounds, self.beat = [], False, beat
        present = [
            frozenset[LayerName]() if index < 0 else self.layers_of(notes[index])
            for _, index in values
        ]
        in_upper = ["upper" in layers for layers in present]
        in_lower = ["lower" in layers for layers in present]
        upper, lower = _layer_beams(values, in_upper), _layer_beams(values, in_lower)
        self.beams = {
            value.start: beams
            for (value, _), beams in zip(values, zip(upper, lower, strict=True), strict=True)
        }
        if self.plan.staves == 1:
            self.whole_beats = (
                dict(_whole_beats(values, in_upper, lead, beat)),
                dict(_whole_beats(values, in_lower, lead, beat)),
            )

    def layers_of(self, note: Note) -> frozenset[LayerName]:
        """Return the layers that a note or one of its chord is in."""
        value = note.syllable if note.pitch is None else note.pitch
        also = note.also if isinstance(note, PartNote) else ()
        found = self.plan.layer_of(value, bool(also))
        return found.union(*(self.plan.layer_of(other, False) for other in also))

    def add(self, measure: Element, look: NoteLook, name: str, value: WrittenValue) -> None:
        """Add a note to the layers that it belongs to; ``name``: its id, on the upper one of it."""
        upper, lower = self._split(look, self.beams[value.start])
        for number, part in enumerate((upper, lower)):
            into = measure if number == 0 else self.lower
            whole = self.whole_beats[number].get(value.start)
            if whole is False:
                continue
            if whole and part is not None:
                part = _beat_long(part, self.beat)
            if part is None:
                into.append(self._silence(value, number, drawn=self._shows_rest(look)))
                continue
            element = self.templates.note(part)
            if number == 0 or upper is None:
                element.set("id", name)
            into.append(element)
            if part.also:
                into.extend(self.templates.chord(part))
        self.lower_sounds |= lower is not None

    def _shows_rest(self, look: NoteLook) -> bool:
        """Return whether a hand that has none of a chord's tones has a rest in print."""
        return self.plan.staves > 1 and isinstance(look.value, int)

    def add_rest(self, element: Element, value: WrittenValue) -> None:
        """Add the lower layer's rest where both are silent; ``element``: the upper layer's."""
        _place(element, "1", 1 if self.plan.staves > 1 else 0)
        if self.plan.staves == 1 and value.type:
            rest = element.find("rest")
            if rest is not None:
                _sub(rest, "display-step").text = "B"
                _sub(rest, "display-octave").text = "4"
        self.lower.append(self._silence(value, 1, drawn=self.plan.staves > 1))

    def end(self, measure: Element, length: int) -> None:
        """End a measure of ``length`` ticks: add the lower layer where it has anything to show.

        A lower staff that is silent throughout has one rest in the middle of its measure.
        """
        if self.plan.staves > 1 and not self.lower_sounds:
            self.lower = [_measure_rest(length)]
        if self.plan.staves > 1 or self.lower_sounds:
            _sub(_sub(measure, "backup"), "duration").text = str(length)
            measure.extend(self.lower)

    def _split(
        self, look: NoteLook, beams: tuple[Beams, Beams]
    ) -> tuple[NoteLook | None, NoteLook | None]:
        """Return the look of a note in the upper layer and in the lower one."""
        tones: list[tuple[int | str, Accidental | None]] = [
            (look.value, look.accidental),
            *look.also,
        ]
        upper, lower = (
            [
                tone
                for at, tone in enumerate(tones)
                if layer in self.plan.layer_of(tone[0], at == 0 and bool(look.also))
            ]
            for layer in ("upper", "lower")
        )
        staves = self.plan.staves
        above = below = None
        if upper:
            above = _with_tones(look, upper)._replace(
                beams=beams[0], voice="1", staff=1 if staves > 1 else 0
            )
        if lower:
            below = _with_tones(look, lower)._replace(
                beams=beams[1], voice="2", staff=2 if staves > 1 else 0,
                stem="down" if staves == 1 else "",
            )  # fmt: skip
        if above is not None and below is not None:
            below = below._replace(marks=NO_MARKS, graces="", quiet_tuplet=True)
            # Between two staves the names would stand in the barlines.
            if staves > 1:
                above = above._replace(under=())
            else:
                below = below._replace(under=())
        return above, below

    def _silence(self, value: WrittenValue, number: int, *, drawn: bool) -> Element:
        """Return a rest of a layer (0 for the upper one), drawn or only there to fill the time."""
        note = etree.Element("note")
        if not drawn:
            note.set("print-object", "no")
        rest = _sub(note, "rest")
        _sub(note, "duration").text = str(value.length)
        _sub(note, "voice").text = str(number + 1)
        if value.type:
            add_value(note, value.type, value.dots)
            add_ratio(note, value.type, value.tuplet)
        else:
            rest.set("measure", "yes")
        if self.plan.staves > 1:
            _sub(note, "staff").text = str(number + 1)
        if value.opens or value.closes:
            add_tuplet(
                _sub(note, "notations"), value.tuplet, value.opens, value.closes, quiet=number > 0
            )
        return note


def add_lower_rests(measure: Element, plan: LayerPlan | None) -> None:
    """Add the rests of a silent measure to the lower one of two staves, as the upper one has them.

    Nothing is added to a single staff.
    """
    if plan is None or plan.staves == 1:
        return
    rests = list(measure.iterfind("note"))
    length = sum(int(rest.findtext("duration", "0")) for rest in rests)
    _sub(_sub(measure, "backup"), "duration").text = str(length)
    for rest in rests:
        lower = copy(rest)
        _place(rest, "1", 1)
        _place(lower, "2", 2)
        measure.append(lower)


def _measure_rest(length: int) -> Element:
    """Return the rest of a silent measure of the lower of two staves."""
    note = etree.Element("note")
    _sub(note, "rest", measure="yes")
    _sub(note, "duration").text = str(length)
    _sub(note, "voice").text = "2"
    _sub(note, "staff").text = "2"
    return note


def _with_tones(look: NoteLook, tones: Sequence[tuple[int | str, Accidental | None]]) -> NoteLook:
    """Return the look of a chord with only some of its tones; what stands under it stays."""
    (value, accidental), *also = tones
    return look._replace(value=value, accidental=accidental, also=tuple(also))


def _place(element: Element, voice: str, staff: int) -> None:
    """Put a rest that is written already into a voice, and on a staff if there are two."""
    duration = element.find("duration")
    assert duration is not None
    added = etree.Element("voice")
    added.text = voice
    duration.addnext(added)
    if staff:
        before = [child for child in element if child.tag not in ("beam", "notations", "lyric")][-1]
        on = etree.Element("staff")
        on.text = str(staff)
        before.addnext(on)


def _beat_long(look: NoteLook, beat: int) -> NoteLook:
    """Return the look of a stroke that is written as long as its beat."""
    return look._replace(
        length=beat, type="quarter", dots=0, tuplet=None, opens=False, closes=False, beams=(),
    )  # fmt: skip


def _whole_beats(
    values: Sequence[tuple[WrittenValue, int]], present: Sequence[bool], lead: int, beat: int
) -> Iterator[tuple[int, bool]]:
    """Yield the starts of the values of each beat that a layer has only the first of: True for that
    one, False for the others. Where both layers rest, the rest stays."""
    at = 0
    while at < len(values):
        end, length = at, 0
        while end < len(values) and length < beat:
            length += values[end][0].length
            end += 1
        first = values[at][0]
        alone = present[at] and not any(present[at + 1 : end]) and end > at + 1
        struck = all(index >= 0 for _, index in values[at:end])
        plain = (not first.tuplet or first.opens) and (
            not values[end - 1][0].tuplet or values[end - 1][0].closes
        )
        tied = any(value.from_tie or value.to_tie for value, _ in values[at:end])
        on_beat = (first.start - lead) % beat == 0
        if on_beat and length == beat and alone and struck and plain and not tied:
            yield first.start, True
            yield from ((value.start, False) for value, _ in values[at + 1 : end])
            at = end
        else:
            at += 1


def _layer_beams(
    values: Sequence[tuple[WrittenValue, int]], present: Sequence[bool]
) -> Iterator[Beams]:
    """Yield the beams of each value in a layer that has only the ``present`` ones."""
    beams: list[Beams] = [()] * len(values)
    group: list[int] = []
    for at, (value, _) in enumerate(values):
        if not value.beams:
            continue
        if present[at]:
            group.append(at)
        if value.beams[0] == "end":
            if len(group) > 1:
                words = beam_levels(tuple(FLAGS[values[i][0].type] for i in group))
                for i, word in zip(group, words, strict=True):
                    beams[i] = word
            group = []
    yield from beams
