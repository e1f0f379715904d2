"""The landing rules: does a line meet the first beat?

A line is judged in each cycle that the form plays it in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Literal, NamedTuple

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.line import Lands, Line
from cyclechart.piece.line_text_edits import (
    beats_at_end,
    beats_before_last,
)
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import line_key_edits, written_out_edits
from cyclechart.piece.written_line import written_out
from cyclechart.rules.piece.section_lines import stands
from cyclechart.rules.rule import Rule, in_each_cycle, place_of, rule
from cyclechart.text.edits import Edits
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.landing import Standing
from cyclechart.theory.tones import show_pitch


@rule("warning")
def early_landing(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The last stroke falls a beat or less before a first beat, and the line does not loop.

    Landing just before sam (the first beat) is called anagat. If you mean it, write it down. In the
    South the words are said of where a song begins, and the other way round: anagata after sam,
    atita before it. See the key `eduppu`.

    wrong:  (charukeshi, jhaptal)  sargam: S R | G m P | d - | n d -P -
    right:  (charukeshi, jhaptal)  {lands: anagat 1/2, sargam: "S R | G m P | d - | n d -P -"}
    """
    return _off_by_a_little(piece, this, "early", "anagat")


@rule("warning")
def late_landing(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The last stroke falls a beat or less after a first beat, and the line does not loop.

    Landing just after sam (the first beat) is called atit. If you mean it, write it down; if all
    lines come home so much after sam, that is their eduppu. In the South the words are said of
    where a song begins, and the other way round: atita before sam, anagata after it.

    wrong:  (charukeshi, keherwa)  sargam: S R G m | P d n d || -S' -
    right:  (charukeshi, keherwa)  {lands: atit 1/2, sargam: "S R G m | P d n d || -S' -"}
    """
    return _off_by_a_little(piece, this, "late", "atit")


def _off_by_a_little(piece: Piece, this: Rule, shape: str, how: str) -> Iterator[Finding]:
    """Yield the lines that land early or late, or that say so and land otherwise."""

    def find(line: Line, cycle: Cycle) -> Iterator[Finding]:
        if line.closes_with_cadence(cycle) or line.name in piece.lines_beneath:
            return
        standing = line.standing(cycle)
        says = line.lands.how if line.lands is not None else None
        if not line.notes or standing.shape == "misses" or _is_so(line, standing):
            return
        if says == how or (says is None and standing.shape == shape):
            yield _how_far_off(piece, this, line, cycle)

    return in_each_cycle(piece, find)


def _home(line: Line) -> str:
    """Return where a line comes home to, in words."""
    return f"the eduppu (beat {show_exact(line.eduppu + 1)})" if line.eduppu else "a first beat"


def _is_so(line: Line, standing: Standing) -> bool:
    if line.lands is None:
        return False
    off = standing.short if line.lands.how == "anagat" else standing.over
    return off == line.lands.by


def _how_far_off(piece: Piece, this: Rule, line: Line, cycle: Cycle) -> Finding:
    standing = line.standing(cycle)
    early = standing.short <= standing.over
    off = standing.short if early else standing.over
    side = "before" if early else "after"
    word: Literal["anagat", "atit"] = "anagat" if early else "atit"
    last = line.notes[-1]
    if line.lands is not None:
        where = f"{show_beats(off)} {side} {_home(line)}" if off else f"on {_home(line)}"
        message = (
            f"the line says it lands {line.lands.how} {show_exact(line.lands.by)}, "
            f"but its last stroke, {_name(last)}, falls {where}"
        )
    else:
        message = f"the last stroke, {_name(last)}, falls {show_beats(off)} {side} {_home(line)}"
    ways = _ways_to_land(piece, line, cycle)
    if 0 < off <= 4:
        meant = replace(line, lands=Lands(word, off))
        said = f"{word} {show_exact(off)}"
        everywhere = all(_is_so(meant, s) for s in _standings(piece, meant))
        edits = line_key_edits(piece, line.name, "lands", said)
        ways.append(_Remedy(f"lands: {said} (if you mean it)", meant, everywhere, edits))
    place = place_of(piece, line, last.start, cycle)
    return this.found(last.spot, message, *_offered(piece, ways, cycle), place=place)


@rule("error")
def misses_first_beat(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line neither ends on a first beat nor fills whole cycles, and is more than a beat off.

    A line is right when its last struck note is on a first beat, or when it fills whole cycles and
    strikes a note on the first beat that opens it. Where the piece or the line has an eduppu, that
    place stands for the first beat. `lands: free` exempts a line from this.

    wrong:  (charukeshi, jhaptal)  sargam: S R | G m P | d - | n -
    right:  (charukeshi, jhaptal)  sargam: S R | G m P | d - | n d P || S'
    """

    def find(line: Line, cycle: Cycle) -> Iterator[Finding]:
        if line.closes_with_cadence(cycle) or line.name in piece.lines_beneath:
            return
        standing = line.standing(cycle)
        if standing.shape == "empty":
            where = place_of(piece, line, Fraction(0), cycle)
            what = f"'{line.name}' has no struck note"
            free = Suggestion("lands: free", line_key_edits(piece, line.name, "lands", "free"))
            yield this.found(line.spot, what, free, place=where)
        if standing.shape != "misses" or _is_so(line, standing):
            return
        last = line.notes[-1]
        place = place_of(piece, line, last.start, cycle)
        message = (
            f"'{line.name}' does not end on {_home(line)}: its last stroke, {_name(last)}, falls "
            f"on beat {show_exact(place.beat)}, {show_beats(standing.short)} short of the next "
            f"{'eduppu' if line.eduppu else 'first beat'} and {show_beats(standing.over)} past the "
            "one before"
        )
        ways = _ways_to_land(piece, line, cycle)
        yield this.found(last.spot, message, *_offered(piece, ways, cycle), place=place)

    return in_each_cycle(piece, find)


def _name(note: Note) -> str:
    if note.chord is not None:
        return note.symbol
    return show_pitch(note.pitch) if note.pitch is not None else note.syllable


class _Remedy(NamedTuple):
    """A suggestion: its words, the line that it makes, whether it holds in every cycle, and its
    edits."""

    words: str
    line: Line
    everywhere: bool
    edits: Edits = ()


def _offered(piece: Piece, ways: list[_Remedy], cycle: Cycle) -> list[str | Suggestion]:
    """Return the remedies that hold in every cycle of the line; else those that hold in one.

    Such a way would break the line where it stands right: it needs a line of its own.
    """
    ways = [_as_written_out(piece, way) for way in ways]
    held = [Suggestion(way.words, way.edits) for way in ways if way.everywhere]
    if held or not ways:
        return [*held]
    return [f"{way.words} (in a separate line for {piece.called(cycle)})" for way in ways]


def _as_written_out(piece: Piece, way: _Remedy) -> _Remedy:
    """Return a remedy for a line that comes from another: all of its text, where that changes."""
    line = piece.lines[way.line.name]
    if line.derivation is None or way.line.phrase == line.phrase:
        return way
    text = written_out(piece, line, way.line)
    edits = written_out_edits(piece, line.name, text)
    return way._replace(words=text, edits=edits) if text else way


def _ways_to_land(piece: Piece, line: Line, cycle: Cycle) -> list[_Remedy]:
    """Return the remedies that make the line land or loop; each has been tried on the line.

    A new beginning moves the whole line against the cycle, so that its section lines have to move
    too: where it has any that stand right, the other ways come first.
    """
    ways: list[_Remedy] = []
    standing = line.standing(cycle)
    last = line.notes[-1]
    stays = [bar for bar in line.section_lines if stands(cycle, line, bar)]

    def tried(words: str, changed: Line, edits: Edits, at: int | None = None) -> None:
        if _sound(changed.standing(cycle)):
            everywhere = all(
                _sound(other) or _is_so(changed, other) for other in _standings(piece, changed)
            )
            way = _Remedy(words, changed, everywhere, edits)
            ways.insert(len(ways) if at is None else at, way)

    nearer, further = sorted((standing.short, -standing.over), key=abs)
    for shift in (nearer, further) if standing.shape == "misses" else (nearer,):
        if not shift:
            continue
        moved = _with_last_moved(line, shift)
        if moved is not None and _as_legal(piece, line, moved):
            words = f"{'add' if shift > 0 else 'cut'} {show_beats(abs(shift))}"
            edits = beats_before_last(piece, line, shift, stays)
            tried(f"{words} before the last note, {_name(last)}", moved, edits)
    tail = _to_fill(standing, line, cycle)
    if tail:
        longer = replace(line, phrase=replace(line.phrase, length=line.length + tail))
        edits = beats_at_end(piece, line, tail)
        tried(f"add {show_beats(tail)} at the end, so that it loops", longer, edits)
    begins = (standing.eduppu - last.start) % cycle.beats + 1
    if begins != line.begins:
        begun = replace(line, begins=begins)
        words = f"begins: {show_exact(begins)}"
        edits = line_key_edits(piece, line.name, "begins", show_exact(begins))
        if _astray(piece, begun) > _astray(piece, line):
            tried(f"{words} (its section lines then move too)", begun, edits)
        else:
            tried(words, begun, edits, 0)
    return ways


def _standings(piece: Piece, line: Line) -> Iterator[Standing]:
    """Yield its standing in each of its cycles; beginning beyond a cycle's end it misses."""
    for cycle in piece.cycles_of(line.name):
        standing = line.standing(cycle)
        yield standing if line.begins < cycle.beats + 1 else replace(standing, shape="misses")


def _sound(standing: Standing) -> bool:
    return standing.shape in ("lands", "loops")


def _astray(piece: Piece, line: Line) -> int:
    """Return the number of its section lines that stand where a cycle has none."""
    cycles = piece.cycles_of(line.name)
    return sum(not stands(cycle, line, bar) for cycle in cycles for bar in line.section_lines)


def _as_legal(piece: Piece, old: Line, new: Line) -> bool:
    """Return whether a changed line breaks the mode nowhere that it did not before."""

    def faults(line: Line) -> int:
        pitches = ([note.pitch for note in breath] for breath in line.breaths)
        known = ([p for p in breath if p is not None] for breath in pitches)
        return sum(len(list(judge_breath(piece.mode, breath))) for breath in known)

    return new.kind == "strokes" or faults(new) <= faults(old)


def _to_fill(standing: Standing, line: Line, cycle: Cycle) -> Fraction:
    """Return the beats that fill up the body, or the whole line, to whole cycles: the fewer."""
    beats = cycle.beats
    body = standing.end - standing.home
    rooms = [(-line.length) % beats, (-body) % beats]
    return min((room for room in rooms if 0 < room < beats / 2), default=Fraction(0))


def _with_last_moved(line: Line, shift: Fraction) -> Line | None:
    """The line with beats put in before its last note, or with those before it cut out."""
    last = line.notes[-1]
    start = last.start + shift
    if start < 0:
        return None
    before = [note for note in line.notes[:-1] if note.start < start]
    moved = replace(last, start=start)
    notes, length = (*before, moved), line.length + shift
    return replace(line, phrase=replace(line.phrase, notes=notes, length=length))


@rule("warning")
def first_beat_held(piece: Piece, this: Rule) -> Iterator[Finding]:
    """In a loop, a note is held over a later first beat, so the band does not hear that beat.

    wrong:  (charukeshi, keherwa)  sargam: S R G m P - - - || - - d P m G R S
    right:  (charukeshi, keherwa)  sargam: S R G m P - - - || P - d P m G R S
    """

    def find(line: Line, cycle: Cycle) -> Iterator[Finding]:
        for beat, held in _unstruck(piece, line, cycle):
            if held is not None:
                message = f"{_name(held)} is held over {_home(line)}"
                place = place_of(piece, line, beat, cycle)
                yield this.found(held.spot, message, "strike it again there", place=place)

    return in_each_cycle(piece, find)


@rule("warning")
def first_beat_silent(piece: Piece, this: Rule) -> Iterator[Finding]:
    """In a loop, a later first beat falls on a rest, so the band does not hear that beat.

    wrong:  (charukeshi, keherwa)  sargam: S R G m P - - - || z z d P m G R S
    right:  (charukeshi, keherwa)  sargam: S R G m P - - - || S z d P m G R S
    """

    def find(line: Line, cycle: Cycle) -> Iterator[Finding]:
        for beat, held in _unstruck(piece, line, cycle):
            if held is None:
                before = [note for note in line.notes if note.start < beat][-1]
                message = f"{_home(line)} falls on a rest after {_name(before)}"
                place = place_of(piece, line, beat, cycle)
                yield this.found(before.spot, message, "strike a note there", place=place)

    return in_each_cycle(piece, find)


def _unstruck(piece: Piece, line: Line, cycle: Cycle) -> Iterator[tuple[Fraction, Note | None]]:
    """Later first beats of a loop that no note strikes: (offset, the note held there); chords may
    go on over them, and what is beneath other music, or is the rhythm of hits."""
    if line.kind == "chords" or line.name in piece.lines_beneath:
        return
    standing = line.standing(cycle)
    if standing.shape != "loops" or line.closes_with_cadence(cycle):
        return
    struck = {note.start for note in line.notes}
    offset = standing.home + cycle.beats - standing.begin
    while offset < line.length:
        if offset not in struck:
            held = [note for note in line.notes if note.start < offset < note.end]
            yield offset, held[0] if held else None
        offset += cycle.beats
