"""Notes of a passage that are counted from another Sa than its own, and the brackets over notes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from cyclechart.arrange.part_notes import Written
from cyclechart.arrange.sheet.brackets import Span, spans_of
from cyclechart.arrange.sheet.model import Key
from cyclechart.arrange.timeline import Timeline
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Spelled, Tonic, spell

KeyOn = Callable[[Tonic, Mode], Key]
"""How a player reads a mode on a Sa."""


def borrowed_tones(
    notes: Sequence[Written], key: Key, read: KeyOn
) -> Iterator[tuple[int, Spelled]]:
    """The tones of another Sa as that has them written; those of the passage itself stay."""
    told: set[int] = set()
    foreign: list[tuple[int, Key, int]] = []
    for note in notes:
        own = key if note.sa is None else read(note.sa, key.mode)
        apart = own.tonic.midi + own.shift - key.tonic.midi - key.shift
        for tone in (note.pitch, *note.also, *note.grace):
            if isinstance(tone, int) and apart:
                foreign.append((tone, own, apart))
            elif isinstance(tone, int):
                told.add(tone)
    for tone, own, apart in foreign:
        if tone + apart not in told:
            told.add(tone + apart)
            yield tone + apart, spell(own.tonic, tone + own.shift)


def keyed(note: Written, key: Key, read: KeyOn) -> Written:
    """A note that is counted from another Sa than its passage's, counted from that."""
    if note.pitch is None or note.sa is None:
        return note
    own = read(note.sa, key.mode)
    apart = own.tonic.midi + own.shift - key.tonic.midi - key.shift
    if not apart:
        return note
    under = (note.pitch,) if note.under is None else note.under
    also = tuple(tone + apart if isinstance(tone, int) else tone for tone in note.also)
    grace = tuple(tone + apart if isinstance(tone, int) else tone for tone in note.grace)
    return replace(note, pitch=note.pitch + apart, under=under, also=also, grace=grace)


def brackets_over(notes: Sequence[Written], timeline: Timeline) -> Iterator[Span]:
    """The brackets of the lines that the notes are from, over those of their notes that stand."""
    places: dict[int, dict[int, int]] = {}
    for at, note in enumerate(notes):
        number, index = note.origin
        if number >= 0:
            places.setdefault(number, {}).setdefault(index, at)
    found = []
    for number, known in places.items():
        for span in spans_of(timeline.placed[number].line):
            held = [known[index] for index in range(span.first, span.last + 1) if index in known]
            if held and held == list(range(held[0], held[-1] + 1)):
                label = span.label if span.first in known else ""
                found.append(Span(span.kind, held[0], held[-1], label))
    yield from sorted(found, key=lambda span: (span.first, -span.last))
