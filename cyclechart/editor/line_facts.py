"""What is known of a line and of its notes, in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.arrange.clock import clock_of
from cyclechart.arrange.unroller import unroll
from cyclechart.editor.notes_at import NoteAt
from cyclechart.finding import Place
from cyclechart.piece.line import Line
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.piece.note import Note
from cyclechart.rules.rule import place_of
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.spelling import spell
from cyclechart.theory.tones import show_pitch

_SHAPES = {
    "lands": "lands on the first beat",
    "loops": "loops: it fills whole cycles",
    "early": "ends early (anagat)",
    "late": "ends late (atit)",
    "misses": "misses the first beat",
    "empty": "has no notes",
}


def place_words(place: Place) -> str:
    """Return a place in the music without its line: ``cycle 2, beat 3 1/2``."""
    beat = f"beat {show_exact(place.beat)}"
    return f"{place.cycle_name}, {beat}" if place.cycle_name else beat


def note_facts(piece: Piece, at: NoteAt) -> Iterator[str]:
    """Yield what a note is, where it comes and when it is heard."""
    line, note = at
    if note.pitch is not None:
        octave = note.pitch // 12
        cents = piece.tuning.above_sa(note.pitch)
        yield (
            f"{show_pitch(note.pitch)} is {spell(piece.tonic, note.pitch)} with Sa on "
            f"{piece.tonic}, {cents:.1f} cents from Sa ({piece.tuning.name} tuning)"
            + (f", octave {octave:+d}" if octave else "")
        )
    elif note.chord is not None:
        yield f"the chord {note.symbol}"
    else:
        yield " + ".join(note.drums) or note.syllable
    yield f"{line.name}, {place_words(place_of(piece, line, note.start))}; {_lasting(note)}"
    start, length = (_seconds(beats * 60 / piece.tempo) for beats in (note.start, note.length))
    yield f"{start} from the line's beginning, for {length}"
    heard = first_heard(piece, line, note)
    if heard is not None:
        minutes, seconds = divmod(heard, 60)
        yield f"first heard {int(minutes)}:{float(seconds):04.1f} into the piece"
    if note.word:
        yield f"sung on “{note.word}”"


def _lasting(note: Note) -> str:
    return f"{show_beats(note.length)} long"


def _seconds(seconds: Fraction) -> str:
    return f"{float(seconds):.2f} s"


def first_heard(piece: Piece, line: Line, note: Note) -> Fraction | None:
    """Return the seconds from the beginning to where a note is first heard, or None."""
    if ANY_CYCLE in (piece.cycle, *(step.cycle for step in piece.steps)):
        return None
    timeline = unroll(piece)
    clock = clock_of(timeline)
    for placed in timeline.placed_lines:
        if placed.line.name == line.name:
            number = line.notes.index(note)
            for index, _, start, _ in placed.sounding_notes():
                if index == number:
                    return clock.seconds(start)
    return None


def line_facts(piece: Piece, line: Line) -> Iterator[str]:
    """Yield what a line is and where it lands, in each cycle that it is played in."""
    kind = "melody" if line.kind == "melody" else f"line of {line.kind}"
    yield f"{line.name}: a {kind} of {show_beats(line.length)}, {len(line.notes)} notes"
    if line.free:
        yield "free: not measured against the cycle"
        return
    yield f"begins on beat {show_exact(line.begins)}"
    for cycle in piece.cycles_of(line.name):
        if cycle is not ANY_CYCLE:
            yield f"in {piece.called(cycle)}: {landing(piece, line, cycle)}"


def landing(piece: Piece, line: Line, cycle: Cycle) -> str:
    """Return how a line ends in a cycle, and where."""
    here = piece.line_in(line.name, cycle)
    shape = _SHAPES[here.standing(cycle).shape]
    if not here.notes:
        return shape
    last = here.notes[-1]
    return f"{shape}; its last note is on {place_words(place_of(piece, here, last.start, cycle))}"
