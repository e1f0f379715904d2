"""The notes of a passage in its own key: tones counted from another Sa, and their brackets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.brackets import Bracket, line_brackets
from cyclechart.arrange.sheet.model import StaffKey
from cyclechart.arrange.timeline import Timeline
from cyclechart.theory.spelling import LETTERS, Spelled, Tonic, spell

KeyOf = Callable[[Tonic], StaffKey]
"""A player's key on a Sa in the passage's mode."""


def borrowed_tones(
    notes: Sequence[PartNote], key: StaffKey, key_of: KeyOf
) -> Iterator[tuple[int, Spelled]]:
    """Yield spellings for tones that belong to another Sa, unless the passage has them itself."""
    known: set[int] = set()
    foreign: list[tuple[int, StaffKey, int]] = []
    for note in notes:
        own = key if note.sa is None else key_of(note.sa)
        apart = own.tonic.midi + own.shift - key.tonic.midi - key.shift
        for tone in (note.pitch, *note.also, *note.grace):
            if isinstance(tone, int) and apart:
                foreign.append((tone, own, apart))
            elif isinstance(tone, int):
                known.add(tone)
    for tone, own, apart in foreign:
        if tone + apart not in known:
            known.add(tone + apart)
            yield tone + apart, spell(own.tonic, tone + own.shift)


def in_passage_key(note: PartNote, key: StaffKey, key_of: KeyOf) -> PartNote:
    """Return a note with its pitches counted from the passage's Sa."""
    if note.sa is None or (note.pitch is None and note.chord is None):
        return note
    own = key_of(note.sa)
    apart = own.tonic.midi + own.shift - key.tonic.midi - key.shift
    if note.chord is not None and own.tonic != key.tonic:
        steps = LETTERS.index(own.tonic.letter) - LETTERS.index(key.tonic.letter)
        note = replace(note, chord=note.chord.counted_from(apart, steps))
    if not apart or note.pitch is None:
        return note
    under = (note.pitch,) if note.under is None else note.under
    also = tuple(tone + apart if isinstance(tone, int) else tone for tone in note.also)
    grace = tuple(tone + apart if isinstance(tone, int) else tone for tone in note.grace)
    return replace(note, pitch=note.pitch + apart, under=under, also=also, grace=grace)


def note_brackets(notes: Sequence[PartNote], timeline: Timeline) -> Iterator[Bracket]:
    """Yield the brackets of the notes' lines, over those of their notes that are written."""
    places: dict[int, dict[int, int]] = {}
    for at, note in enumerate(notes):
        number, index = note.origin
        if number >= 0:
            places.setdefault(number, {}).setdefault(index, at)
    brackets = []
    for number, known in places.items():
        for bracket in line_brackets(timeline.placed_lines[number].line):
            written = [
                known[index] for index in range(bracket.first, bracket.last + 1) if index in known
            ]
            if written and _is_unbroken(notes, number, written):
                label = bracket.label if bracket.first in known else ""
                brackets.append(Bracket(bracket.kind, written[0], written[-1], label))
    yield from sorted(brackets, key=lambda bracket: (bracket.first, -bracket.last))


def _is_unbroken(notes: Sequence[PartNote], number: int, written: Sequence[int]) -> bool:
    """Return whether notes of a line (its number) follow one another on paper: between those of a
    drummer there may be strokes that belong to no line."""
    between = notes[written[0] : written[-1] + 1]
    return all(a < b for a, b in pairwise(written)) and all(
        note.origin[0] in (number, -1) for note in between
    )
