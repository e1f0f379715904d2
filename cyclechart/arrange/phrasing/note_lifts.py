"""How much louder or softer than written each note of a placed line is played.

A note is moved within the room that its dynamics leave: where a dynamic or a hairpin is written, by
less than half a step of the dynamics, so that a ``p`` stays one. A hairpin goes its way evenly, and
an accent stays above its neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.arrange.phrasing.metre import metre_weights
from cyclechart.arrange.phrasing.phrases import phrase_places
from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.piece.hairpins_and_slurs import Hairpin, hairpins_of
from cyclechart.piece.note import Note
from cyclechart.text.line_tree import DYNAMICS, HAIRPINS

ROOM, MARKED_ROOM = 14, 6
"""The most velocity that a note is moved by: where nothing is written about loudness, and where
something is (dynamics are 14 apart)."""
ARCH, METRE, HEIGHT = 0.6, 0.45, 0.2
"""The shares of the room that the phrase, the metre and high notes have; together at most the
whole room."""
AGAIN = -0.15
"""Added to a line, and to a phrase, that is played again at once (a share of the room)."""
STATEMENTS = 0.25
"""A line with a cadence grows over its statements, from minus this to this."""
ACCENT_MARGIN = 6
"""The velocity by which the lift of an accented note may lie below that of its neighbours."""


def note_lifts(
    timeline: Timeline, placed: PlacedLine, *, again: bool = False, metre: bool = True
) -> list[int]:
    """Return the velocity that is added to each note of a placed line.

    ``again``: the line was just played. ``metre``: False for notes that have the weight of their
    place in the cycle already.
    """
    notes = placed.line.notes
    weights = tuple(metre_weights(timeline, [placed.start_of(note) for note in notes]))
    places = phrase_places(placed.line, weights)
    repeats = _repeats(placed, [place.phrase for place in places])
    hairpins = list(hairpins_of(notes))
    room = MARKED_ROOM if is_marked(placed) else ROOM
    lifts = []
    for place, weight, repeated in zip(places, weights, repeats, strict=True):
        moved = ARCH * place.arch + HEIGHT * place.height + repeated
        moved += (METRE * weight if metre else 0) + (AGAIN if again else 0)
        lifts.append(room * max(-1.0, min(1.0, moved)))
    for hairpin in hairpins:
        _even_out(lifts, notes, hairpin)
    return _with_accents([round(lift) for lift in lifts], notes)


def is_marked(placed: PlacedLine) -> bool:
    """Return whether a dynamic or a hairpin is written over a placed line or in it."""
    written = (mark for note in placed.line.notes for mark in note.marks)
    return bool(placed.state.level) or any(mark in DYNAMICS or mark in HAIRPINS for mark in written)


def _repeats(placed: PlacedLine, phrases: Sequence[int]) -> list[float]:
    """Return what is added to each note for the phrases that come again."""
    notes = placed.line.notes
    if placed.line.cadences:
        # Statements that come again build up to the landing.
        first, lasts = notes[0].start, notes[-1].start - notes[0].start
        return [
            STATEMENTS * (2 * float((note.start - first) / lasts) - 1) if lasts else 0.0
            for note in notes
        ]
    shapes: dict[int, list[object]] = {}
    begins: dict[int, Note] = {}
    for note, phrase in zip(notes, phrases, strict=True):
        begin = begins.setdefault(phrase, note)
        played = (note.pitch, note.syllable, note.drums)
        shapes.setdefault(phrase, []).append((note.start - begin.start, played))
    return [AGAIN if phrase and shapes[phrase] == shapes[phrase - 1] else 0.0 for phrase in phrases]


def _even_out(lifts: list[float], notes: Sequence[Note], hairpin: Hairpin) -> None:
    """Let the lifts under a hairpin go evenly from its first note to the one that it leads to."""
    reached = min(hairpin.last + 1, len(notes) - 1)
    begin, lasts = notes[hairpin.first].start, notes[reached].start - notes[hairpin.first].start
    low, high = lifts[hairpin.first], lifts[reached]
    for at in range(hairpin.first, hairpin.last + 1):
        done = float((notes[at].start - begin) / lasts) if lasts else 0.0
        lifts[at] = low + (high - low) * done


def _with_accents(lifts: list[int], notes: Sequence[Note]) -> list[int]:
    """Return the lifts, those of accented notes near those of their neighbours at least."""
    found = list(lifts)
    for at, note in enumerate(notes):
        if "accent" in note.marks:
            around = lifts[max(0, at - 1) : at + 2]
            found[at] = max(lifts[at], max(around) - ACCENT_MARGIN)
    return found
