"""Rules over lines of chords: tones that the mode has not, and chords that take Sa's place.

Over a drone every chord is heard against Sa: the drone decides what is home, and the leader's own
ear goes before these rules. They are advice. Mode grammars differ by teacher and lineage; a
player's own teacher comes first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import cell_edits, written_out_edits
from cyclechart.piece.written_line import written_out
from cyclechart.rules.piece.repair import derived_line_of
from cyclechart.rules.rule import Rule, in_each_cycle, place_of, rule
from cyclechart.text.edits import Edits
from cyclechart.text.passage_edits import edits_of
from cyclechart.theory.chord_symbols import (
    DEGREE_ROOTS,
    ChordSymbol,
    letter_roots,
    nearest_in,
    write_symbol,
)
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tones import SARGAM, tone

FEWEST_CYCLES = 2
"""The cycles in a row that a bass is away from the drone before the ear takes it for home."""


@rule("advice")
def chord_outside_mode(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A chord has a tone that the mode has not.

    Each chord of a line is reported once. What is tried is the nearest chord on the same root that
    has tones of the mode alone. The leader's ear goes first: a borrowed tone may be the point.

    wrong:  mode: charukeshi     chords: S - P7 -         (P7 has N; the mode has n)
    right:  mode: charukeshi     chords: S - Pm7 -
    """
    for line in _chord_lines(piece):
        seen: set[ChordSymbol] = set()
        for note, chord in _chords(line):
            foreign = sorted(chord.pitch_classes - piece.mode.tones)
            if not foreign or chord in seen:
                continue
            seen.add(chord)
            names = _listed([_tone_name(chord, one, piece.tonic) for one in foreign])
            held = " ".join(SARGAM[semitone] for semitone in sorted(piece.mode.tones))
            written = note.symbol
            message = f"{written} has {names}, which {piece.mode.name} has not ({held})"
            near = nearest_in(chord, piece.mode.tones)
            alike = [one for one, other in _chords(line) if other == chord]
            tries = [_write(piece, note, chord, near, alike)] if near else []
            place = place_of(piece, line, note.start)
            yield this.found(note.spot, message, *tries, place=place, tone=tone(foreign[0]))


@rule("advice")
def chord_pulls_from_sa(piece: Piece, this: Rule) -> Iterator[Finding]:
    """Chords lead the ear to another home than Sa.

    Two things are reported. A dominant seventh (a major third and a minor seventh) is followed by a
    chord a fifth lower that is neither on Sa nor has Sa in the bass; in a row of such sevenths the
    last one counts. Or two cycles or more in a row have no chord over Sa or the drone's second tone
    in the bass. The drone decides, for it sounds through all of this; the leader's ear goes first.

    wrong:  chords: S - - - | S7 - m -        (S7 resolves to m)
    right:  chords: S - - - | P7 - S -
    """
    for line in _chord_lines(piece):
        yield from _resolutions(piece, this, line)

    def find(line: Line, cycle: Cycle) -> Iterator[Finding]:
        return _basses_astray(piece, this, line, cycle) if line.kind == "chords" else iter(())

    yield from in_each_cycle(piece, find)


def _resolutions(piece: Piece, this: Rule, line: Line) -> Iterator[Finding]:
    """Yield the dominant sevenths that resolve to another root than Sa, each pair once."""
    seen: set[tuple[ChordSymbol, ChordSymbol]] = set()
    by_chord = [next(run) for _, run in groupby(_chords(line), key=lambda pair: pair[1])]
    for (note, chord), (note_after, after) in pairwise(by_chord):
        resolves = _is_dominant(chord) and after.root == (chord.root + 5) % 12
        if (
            not resolves
            or 0 in (after.root, after.lowest)
            or _is_dominant(after)
            or (chord, after) in seen
        ):
            continue
        seen.add((chord, after))
        written, home = note.symbol, note_after.symbol
        message = (
            f"{written} resolves to {home}: for the ear {tone(after.root)} becomes home, "
            "while the drone holds Sa"
        )
        plain = ChordSymbol(chord.root, (0, 5, 7, 10), "7sus4", root_step=chord.root_step)
        tries = [
            _write(piece, note, chord, plain),
            _write(piece, note_after, after, replace(after, bass=0, bass_step=0)),
        ]
        place = place_of(piece, line, note.start)
        yield this.found(note.spot, message, *tries, place=place, tone=tone(after.root))


def _basses_astray(piece: Piece, this: Rule, line: Line, cycle: Cycle) -> Iterator[Finding]:
    """Yield the runs of cycles in which no chord stands over a tone of the drone."""
    drone = _drone_tones(piece)
    shift = line.begins - 1
    by_cycle: dict[int, list[tuple[Note, ChordSymbol]]] = {}
    for note, chord in _chords(line):
        first = (shift + note.start) // cycle.beats
        last = -(-(shift + note.end) // cycle.beats)
        for number in range(int(first), int(last)):
            by_cycle.setdefault(number, []).append((note, chord))
    astray = [
        number
        for number, chords in sorted(by_cycle.items())
        if not any(chord.lowest in drone for _, chord in chords)
    ]
    for _, group in groupby(enumerate(astray), key=lambda pair: pair[1] - pair[0]):
        run = [number for _, number in group]
        if len(run) < FEWEST_CYCLES:
            continue
        note, chord = by_cycle[run[0]][0]
        start = max(note.start, run[0] * cycle.beats - shift, Fraction(0))
        tones = " and ".join(tone(one) for one in sorted(drone))
        written = note.symbol
        message = (
            f"for {len(run)} cycles no chord has a tone of the drone ({tones}) in the bass, "
            f"from {written} on"
        )
        tries = _write(piece, note, chord, replace(chord, bass=0, bass_step=0))
        place = place_of(piece, line, start, cycle)
        yield this.found(note.spot, message, tries, place=place, tone=tone(chord.lowest))


def _drone_tones(piece: Piece) -> frozenset[int]:
    """Return Sa and the second tones of the drone's players, or of the mode where nobody drones."""
    players = [player for player in piece.players if player.role.is_drone]
    seconds = [
        piece.mode.drone_second if player.drone is None else player.drone for player in players
    ]
    return frozenset({0, *(seconds or [piece.mode.drone_second])})


def _is_dominant(chord: ChordSymbol) -> bool:
    tones = {semitones % 12 for semitones in chord.tones}
    return {4, 10} <= tones


def _chord_lines(piece: Piece) -> Iterator[Line]:
    return (line for line in piece.lines.values() if line.kind == "chords")


def _chords(line: Line) -> Iterator[tuple[Note, ChordSymbol]]:
    return ((note, note.chord) for note in line.notes if note.chord is not None)


def _write(
    piece: Piece, note: Note, old: ChordSymbol, new: ChordSymbol, alike: Sequence[Note] = ()
) -> Suggestion:
    """Return what to try in place of a chord, and of all that are alike; the whole text for a line
    that comes from another."""
    line = derived_line_of(piece, note)
    if line is None:
        written = _written(new, piece.tonic)
        edits = edits_of(*(_chord_edits(piece, one, written) for one in alike or [note]))
        return Suggestion(f"write {written} for {note.symbol}", edits)

    def changed(notes: tuple[Note, ...]) -> tuple[Note, ...]:
        return tuple(replace(one, chord=new) if one.chord == old else one for one in notes)

    phrase = replace(line.phrase, notes=changed(line.notes))
    struck = None if line.struck is None else changed(line.struck)
    text = written_out(piece, line, replace(line, phrase=phrase, struck=struck))
    return Suggestion(text, written_out_edits(piece, line.name, text))


def _chord_edits(piece: Piece, note: Note, written: str) -> Edits:
    """Return the edits that write another symbol for a chord, its decorations kept."""
    start, end = note.within
    if not note.cell[start:end].endswith(note.symbol):
        return ()
    return cell_edits(piece, note, note.cell[: end - len(note.symbol)] + written + note.cell[end:])


def _written(chord: ChordSymbol, tonic: Tonic) -> str:
    """Return a chord as the piece has it, in letters or in sargam."""
    return write_symbol(chord, DEGREE_ROOTS if chord.root_step is None else letter_roots(tonic))


def _listed(names: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def _tone_name(chord: ChordSymbol, semitones: int, tonic: Tonic) -> str:
    """Return the name of a tone of a chord in sargam, with its letter where the chord is in
    letters."""
    if chord.root_step is None:
        return tone(semitones)
    return f"{tone(semitones)} ({letter_roots(tonic).write(semitones, None)})"
