"""Rules over the tones that a mode leans on: rests, vadi and samvadi, phrases.

Mode grammars differ by teacher and lineage. These rules only advise; a player's own teacher comes
first.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.steps import Play
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.exact import show_exact
from cyclechart.theory.leaning import (
    LONG,
    chief_tones,
    even_share,
    phrases_used,
    share,
    tones_to_end_on,
)
from cyclechart.theory.tones import SARGAM, show_path, tone

FAINT = Fraction(3, 4)
"""The part of an even share below which the chief tones are faint."""
FEWEST_NOTES = 24
"""The notes from which on a piece is asked where it leans."""


@rule("advice")
def weak_rest(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A breath ends, or a note is held two beats or more, on a tone that the mode does not rest on.

    Every mode may rest on Sa and on its vadi and samvadi. A mode that lists neither rests nor weak
    tones is not checked; of one that lists only weak tones, those are. A tone that shakes of itself
    (andolan) may be held, though not ended on.

    wrong:  (bhimpalasi, keherwa)  sargam: n, S m - | g - - S
    right:  (bhimpalasi, keherwa)  sargam: n, S m - | m g R S
    """
    mode = piece.mode
    resting = tones_to_end_on(mode)
    if not resting:
        return
    shaken = {semitone for semitone, _ in mode.andolan}
    rests = " ".join(SARGAM[semitone] for semitone in sorted({*mode.rests}))
    for line, notes in _breaths(piece):
        for note in notes:
            assert note.pitch is not None
            ends = note is notes[-1]
            here = note.pitch % 12
            # A tone that is not in the mode is reported by foreign-tone.
            if here in resting or here not in mode.tones or not (ends or _is_long(note)):
                continue
            if here in shaken and not ends:
                continue
            held = f"{tone(note.pitch)} is held {show_exact(note.length)} beats"
            done = held if _is_long(note) else f"a breath ends on {tone(note.pitch)}"
            because = (
                f"it is weak in {mode.name}"
                if here in mode.weak
                else f"{mode.name} rests on {rests}"
            )
            place = place_of(piece, line, note.start)
            yield this.found(
                note.spot, f"{done}, and {because}", place=place, tone=tone(note.pitch)
            )


@rule("advice")
def vadi_faint(piece: Piece, this: Rule) -> Iterator[Finding]:
    """In the whole piece, vadi and samvadi sound for much less than an even share of the time.

    Vadi and samvadi are the tones that the mode leans on most and second most. Each line counts as
    often as the form plays it. An even share of two tones in a mode of seven is two sevenths; less
    than three quarters of it is little. A mode without a vadi is not checked, nor a piece of fewer
    than 24 notes.

    wrong:  (bhimpalasi, keherwa)  sargam: (n, S P n | P n P P)*3
    right:  (bhimpalasi, keherwa)  sargam: (n, S m - | m g R S)*4
    """
    mode = piece.mode
    if mode.vadi is None or not _all_read(piece):
        return
    had, even = share(mode, _sounding(piece)), even_share(mode)
    notes = sum(len(line.notes) for line in piece.standing_lines if line.kind == "melody")
    if had is None or had >= FAINT * even or notes < FEWEST_NOTES:
        return
    chief = chief_tones(mode)
    names = " and ".join(SARGAM[semitone] for semitone in chief)
    which = "vadi and samvadi" if len(chief) > 1 else "vadi"
    sound = "sound" if len(chief) > 1 else "sounds"
    message = (
        f"{names}, {which} of {mode.name}, {sound} for {_percent(had)} of the melody's time; "
        f"an even share is {_percent(even)}"
    )
    yield this.found(piece.spot, message)


@rule("advice")
def own_phrase_missing(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The mode has phrases of its own, and no line of the piece uses one.

    A phrase counts if all of it is in one breath, in any octave; repeated notes are ignored.

    wrong:  (bhimpalasi, keherwa)  sargam: S g m P | m g R S
    right:  (bhimpalasi, keherwa)  sargam: n, S m - | m g R S
    """
    breaths = [
        [note.pitch for note in notes if note.pitch is not None] for _, notes in _breaths(piece)
    ]
    if not breaths or not piece.mode.phrases or not _all_read(piece):
        return
    if phrases_used(piece.mode, breaths):
        return
    own = ", ".join(show_path(phrase) for phrase in piece.mode.phrases)
    message = f"no line uses a phrase of {piece.mode.name}'s own ({own})"
    yield this.found(piece.spot, message, f"work in {show_path(piece.mode.phrases[0])}")


def _all_read(piece: Piece) -> bool:
    """Return whether every melody could be read completely; only then is the piece judged."""
    return all(line.whole for line in piece.lines.values() if line.kind == "melody")


def _is_long(note: Note) -> bool:
    return note.length >= LONG


def _percent(part: Fraction) -> str:
    """A part of the whole in tenths of a percent, rounded down."""
    tenths = int(part * 1000)
    return f"{tenths // 10}.{tenths % 10}%"


def _breaths(piece: Piece) -> Iterator[tuple[Line, tuple[Note, ...]]]:
    """Yield the breaths of the melodies that stand by themselves, not of those others are made of.

    Where a line could not be read completely, the ends of its breaths are unknown.
    """
    for line in piece.standing_lines:
        # A riff under other music turns round; it does not come to rest.
        if line.kind == "melody" and line.whole and line.name not in piece.lines_beneath:
            for notes in line.breaths:
                yield line, notes


def _sounding(piece: Piece) -> dict[int, Fraction]:
    """Return the beats of each tone over all lines, each line as often as the form plays it."""
    weights: dict[int, Fraction] = {}
    for step in piece.steps:
        times = step.times if isinstance(step, Play) else 1
        for name in step.uses:
            if name not in piece.lines or piece.lines[name].kind != "melody":
                continue
            for note in piece.line_in(name, step.cycle).notes:
                assert note.pitch is not None
                here = note.pitch % 12
                weights[here] = weights.get(here, Fraction(0)) + note.length * times
    return weights
