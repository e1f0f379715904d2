"""Rules over the turns of a mode: those that its paths make, and those that a line makes itself.

Mode grammars differ by teacher and lineage. These rules compare a line with the mode as it is
written in the piece, the band's folder or the catalogue; a player's own teacher comes first.
"""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.rules.piece.breath_faults import turns_of
from cyclechart.rules.piece.printed_paths import printed_path, printed_rows
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.tones import show_path, show_pitch, tone
from cyclechart.theory.turns import ModeTurn, ways_between

MOST_WAYS = 2
"""The most ways that are suggested for one skipped turn."""


@rule("warning")
def turn_skipped(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line goes straight from one tone to another where the mode's path makes a turn.

    A move that one of the mode's paths or phrases makes in the same surroundings is allowed.

    wrong:  (marwa, keherwa)  sargam: M G r - | D N - - || S'
    right:  (marwa, keherwa)  sargam: M G r - | D N D - || S'
    """
    for line, notes, turn in _turns(piece, "turn-skipped"):
        here = notes[turn.index]
        after = next(note for note in notes[turn.index :] if note.pitch != here.pitch)
        assert here.pitch is not None and after.pitch is not None
        which, does = printed_path(piece.mode, turn.going, "does not do", "do not do")
        message = (
            f"going {turn.going} from {show_pitch(here.pitch)} straight to "
            f"{show_pitch(after.pitch)}, which the {which}, as printed here, {does} "
            f"({printed_rows(piece.mode, turn.going)})"
        )
        pitches = [note.pitch for note in notes if note.pitch is not None]
        ways = list(ways_between(piece.mode, pitches, turn.index))
        shortest = [way for way in ways if len(way) == len(ways[0])][:MOST_WAYS]
        tries = [f"go {show_path(way)}" for way in shortest]
        place = place_of(piece, line, here.start)
        yield this.found(here.spot, message, *tries, place=place, tone=tone(here.pitch))


@rule("advice")
def turns_on_left_out(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line turns back on a tone that the mode leaves out in that direction.

    It is the top of a rise and not in the ascent, or the bottom of a fall and not in the descent;
    after it the line turns back or ends.

    wrong:  (bhimpalasi, keherwa)  sargam: n, S m P | D P m g || S
    right:  (bhimpalasi, keherwa)  sargam: n, S m P | n P m g || S
    """
    for line, notes, turn in _turns(piece, "turns-on-left-out"):
        here = notes[turn.index]
        assert here.pitch is not None
        end = "top" if turn.going == "up" else "bottom"
        which, leaves = printed_path(piece.mode, turn.going, "leaves", "leave")
        message = (
            f"{show_pitch(here.pitch)} is the {end} of a move {turn.going}, and the {which}, as "
            f"printed here, {leaves} it out"
        )
        place = place_of(piece, line, here.start)
        yield this.found(here.spot, message, place=place, tone=tone(here.pitch))


def _turns(piece: Piece, what: str) -> Iterator[tuple[Line, tuple[Note, ...], ModeTurn]]:
    """Yield every turn of one kind with its line and the notes of its breath."""
    for line in piece.lines.values():
        if line.kind != "melody":
            continue
        for notes in line.breaths:
            pitches = tuple(note.pitch for note in notes if note.pitch is not None)
            for turn in turns_of(piece.mode, pitches):
                if turn.what == what:
                    yield line, notes, turn
