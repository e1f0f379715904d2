"""Rules over the signs of a line that say how it is played: hairpins and slurs."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.finding import Finding
from cyclechart.piece.hairpins_and_slurs import hairpins_of, slurs_of
from cyclechart.piece.model import Piece
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.line_tree import CUT
from cyclechart.theory.tones import show_pitch


@rule("advice")
def hairpin_without_goal(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A cresc. or dim. stands on the last note of a line: no note after it grows louder or softer.

    wrong:  (kafi, keherwa)  sargam: S R g m | P m g R || !cresc!S
    right:  (kafi, keherwa)  sargam: S R g m | !cresc!P m g R || S
    """
    for line in piece.standing_lines:
        if not line.whole:
            continue
        last = len(line.notes) - 1
        for hairpin in hairpins_of(line.notes):
            if hairpin.first != last:
                continue
            note = line.notes[last]
            message = f"!{hairpin.kind}! stands on the last note of '{line.name}': nothing follows"
            place = place_of(piece, line, note.start)
            yield this.found(note.spot, message, "put it some notes earlier", place=place)


@rule("advice")
def slur_over_silence(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A slur goes over a rest or a cut-off, where a player breathes or lifts the bow.

    wrong:  (charukeshi, keherwa)  sargam: S (G m P | z m G) R || S
    right:  (charukeshi, keherwa)  sargam: S (G m P) | z (m G) R || S
    """
    for line in piece.standing_lines:
        if not line.whole:
            continue
        for first, last in slurs_of(line.notes):
            for at in range(first, last):
                note, after = line.notes[at], line.notes[at + 1]
                if note.end == after.start and CUT not in note.marks:
                    continue
                name = show_pitch(note.pitch) if note.pitch is not None else note.syllable
                what = "a cut-off" if CUT in note.marks else "a rest"
                message = f"the slur goes over {what} after {name}, which ends it"
                place = place_of(piece, line, note.start)
                yield this.found(note.spot, message, f"close it after {name}: )", place=place)
                break
