"""The landing rules: does a line meet the first beat, and its section lines the sections?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.model import Line, Note, Piece, SectionLine
from cyclechart.rules.rule import Rule, measured_lines, place_of, rule
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.landing import Standing
from cyclechart.theory.tones import show_pitch


@rule("warning")
def early_landing(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line neither lands nor loops: its last stroke falls a beat or less before a first beat.

    A landing just before sam is called anagat. If it is meant, say so.

    wrong:  (charukeshi, jhaptal)  sargam: S R | G m P | d - | n d -P -
    right:  (charukeshi, jhaptal)  {lands: anagat 1/2, sargam: "S R | G m P | d - | n d -P -"}
    """
    for line, standing in _missing(piece, "early", "anagat"):
        yield _off_by_a_little(piece, this, line, standing)


@rule("warning")
def late_landing(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line neither lands nor loops: its last stroke falls a beat or less after a first beat.

    A landing just after sam is called atit. If it is meant, say so.

    wrong:  (charukeshi, keherwa)  sargam: S R G m | P d n d || -S' -
    right:  (charukeshi, keherwa)  {lands: atit 1/2, sargam: "S R G m | P d n d || -S' -"}
    """
    for line, standing in _missing(piece, "late", "atit"):
        yield _off_by_a_little(piece, this, line, standing)


def _missing(piece: Piece, shape: str, how: str) -> Iterator[tuple[Line, Standing]]:
    """Lines that stand so, or say that they do and stand otherwise (but for a real miss)."""
    for line in measured_lines(piece):
        standing = line.standing(piece.cycle)
        says = line.lands.how if line.lands is not None else None
        if not line.notes or standing.shape == "misses" or _is_so(line, standing):
            continue
        if says == how or (says is None and standing.shape == shape):
            yield line, standing


def _is_so(line: Line, standing: Standing) -> bool:
    if line.lands is None:
        return False
    off = standing.short if line.lands.how == "anagat" else standing.over
    return off == line.lands.by


def _off_by_a_little(piece: Piece, this: Rule, line: Line, standing: Standing) -> Finding:
    early = standing.short <= standing.over
    off = standing.short if early else standing.over
    side = "before" if early else "after"
    word = "anagat" if early else "atit"
    last = line.notes[-1]
    if line.lands is not None:
        where = f"{show_beats(off)} {side} a first beat" if off else "on a first beat"
        message = (
            f"the line says it lands {line.lands.how} {show_exact(line.lands.by)}, "
            f"but its last stroke, {_name(last)}, falls {where}"
        )
    else:
        message = f"the last stroke, {_name(last)}, falls {show_beats(off)} {side} a first beat"
    tries = [] if not off or off > 4 else [f"lands: {word} {show_exact(off)} (if it is meant so)"]
    return this.found(
        last.spot,
        message,
        *_ways_to_land(piece, line, standing),
        *tries,
        place=place_of(piece, line, last.start),
    )


@rule("error")
def misses_first_beat(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line neither lands on a first beat nor loops whole cycles, and is off by over a beat.

    A line is sound when its last struck note is on a first beat, or when it fills whole cycles and
    strikes the first beat that opens its body. `lands: free` takes a line out of this.

    wrong:  (charukeshi, jhaptal)  sargam: S R | G m P | d - | n -
    right:  (charukeshi, jhaptal)  sargam: S R | G m P | d - | n d P || S'
    """
    for line in measured_lines(piece):
        standing = line.standing(piece.cycle)
        if standing.shape == "empty":
            where = place_of(piece, line, Fraction(0))
            what = f"'{line.name}' strikes no note at all"
            yield this.found(line.spot, what, "lands: free", place=where)
        if standing.shape != "misses" or _is_so(line, standing):
            continue
        last = line.notes[-1]
        place = place_of(piece, line, last.start)
        message = (
            f"'{line.name}' does not meet the first beat: its last stroke, {_name(last)}, falls "
            f"on beat {show_exact(place.beat)}, {show_beats(standing.short)} short of one first "
            f"beat and {show_beats(standing.over)} over the one before"
        )
        yield this.found(last.spot, message, *_ways_to_land(piece, line, standing), place=place)


def _name(note: Note) -> str:
    return show_pitch(note.pitch) if note.pitch is not None else note.syllable


def _ways_to_land(piece: Piece, line: Line, standing: Standing) -> list[str]:
    """What makes the line land or loop: each way is tried on the line before it is offered.

    A new beginning moves the whole line against the cycle, so that its section lines have to move
    too: where it has any that stand right, the other ways come first.
    """
    ways: list[str] = []
    last = line.notes[-1]
    nearer, further = sorted((standing.short, -standing.over), key=abs)
    for shift in (nearer, further) if standing.shape == "misses" else (nearer,):
        if not shift:
            continue
        moved = _with_last_moved(line, shift)
        if moved is not None and _sound(piece, moved) and _as_legal(piece, line, moved):
            verb = "add" if shift > 0 else "cut"
            ways.append(f"{verb} {show_beats(abs(shift))} before the last note, {_name(last)}")
    tail = _to_fill(piece, line, standing)
    if tail and _sound(piece, replace(line, length=line.length + tail)):
        ways.append(f"add {show_beats(tail)} at the end, so that it loops")
    begins = (-last.start) % piece.cycle.beats + 1
    begun = replace(line, begins=begins)
    if begins != line.begins and _sound(piece, begun):
        if _astray(piece, begun) > _astray(piece, line):
            ways.append(f"begins: {show_exact(begins)} (its section lines then move too)")
        else:
            ways.insert(0, f"begins: {show_exact(begins)}")
    return ways


def _astray(piece: Piece, line: Line) -> int:
    """How many of its section lines stand where the cycle has none."""
    return sum(not _stands(piece, line, bar) for bar in line.section_lines)


def _as_legal(piece: Piece, old: Line, new: Line) -> bool:
    """Whether a changed line breaks the mode nowhere that it did not before."""

    def faults(line: Line) -> int:
        pitches = ([note.pitch for note in breath] for breath in line.breaths)
        known = ([p for p in breath if p is not None] for breath in pitches)
        return sum(len(list(judge_breath(piece.mode, breath))) for breath in known)

    return new.kind == "strokes" or faults(new) <= faults(old)


def _to_fill(piece: Piece, line: Line, standing: Standing) -> Fraction:
    """Beats that make the body, or the whole line, whole cycles long: the fewer of the two."""
    beats = piece.cycle.beats
    body = standing.end - standing.first
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
    return replace(line, notes=(*before, moved), length=line.length + shift)


def _sound(piece: Piece, line: Line) -> bool:
    return line.standing(piece.cycle).shape in ("lands", "loops")


@rule("warning")
def first_beat_held(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A loop lets a later first beat pass under a held note: the band will not hear it come.

    wrong:  (charukeshi, keherwa)  sargam: S R G m P - - - || - - d P m G R S
    right:  (charukeshi, keherwa)  sargam: S R G m P - - - || P - d P m G R S
    """
    for line, beat, held in _unstruck(piece):
        if held is not None:
            message = f"a first beat passes under a held {_name(held)}"
            yield this.found(
                held.spot, message, "strike it again there", place=place_of(piece, line, beat)
            )


@rule("warning")
def first_beat_silent(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A loop lets a later first beat pass under a rest: the band will not hear it come.

    wrong:  (charukeshi, keherwa)  sargam: S R G m P - - - || z z d P m G R S
    right:  (charukeshi, keherwa)  sargam: S R G m P - - - || S z d P m G R S
    """
    for line, beat, held in _unstruck(piece):
        if held is None:
            before = [note for note in line.notes if note.start < beat]
            message = f"a first beat passes in silence after {_name(before[-1])}"
            yield this.found(
                before[-1].spot, message, "strike a note there", place=place_of(piece, line, beat)
            )


def _unstruck(piece: Piece) -> Iterator[tuple[Line, Fraction, Note | None]]:
    """Later first beats of loops that no note strikes: (line, offset, the note held there)."""
    beats = piece.cycle.beats
    for line in measured_lines(piece):
        standing = line.standing(piece.cycle)
        if standing.shape != "loops":
            continue
        struck = {note.start for note in line.notes}
        offset = standing.first + beats - standing.begin
        while offset < line.length:
            if offset not in struck:
                held = [note for note in line.notes if note.start < offset < note.end]
                yield line, offset, held[0] if held else None
            offset += beats


@rule("error")
def section_line_astray(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A | stands where the cycle begins no section, or a || where no first beat falls.

    Of several that are off by the same amount the first is reported: the beat is lost before it.

    wrong:  (charukeshi, jhaptal)  sargam: S R G | m P | d n S' | n d
    right:  (charukeshi, jhaptal)  sargam: S R | G m P | d n | S' n d
    """
    cycle = piece.cycle
    for line in measured_lines(piece):
        told: Fraction | None = None
        for bar in line.section_lines:
            if _stands(piece, line, bar):
                continue
            position = line.begins - 1 + bar.offset
            nearest = cycle.nearest_start(position, bar.double)
            off = nearest - position
            if off == told:
                continue
            told = off
            place = place_of(piece, line, bar.offset)
            beat = show_exact(cycle.place(position)[1])
            there = show_exact(cycle.place(nearest)[1])
            sign, what = ("||", "cycle") if bar.double else ("|", "section")
            side = "later" if off > 0 else "earlier"
            message = (
                f"'{sign}' stands before beat {beat}, where no {what} begins; "
                f"the nearest that does is before beat {there}"
            )
            hint = (
                f"move it {show_beats(abs(off))} {side}, or find the beat lost or added before it"
            )
            yield this.found(bar.spot, message, hint, place=place)


def _stands(piece: Piece, line: Line, bar: SectionLine) -> bool:
    """Whether a section line stands where a section (or for ``||`` the cycle) begins."""
    position = (line.begins - 1 + bar.offset) % piece.cycle.beats
    return position in ((0,) if bar.double else piece.cycle.starts)
