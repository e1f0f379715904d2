"""Builds the lead sheet: the lines cut into measures, a measure for each section of the cycle.

A strain is one line in one cycle; a line that is played in two cycles has two strains. Times inside
a strain are exact beats from the first beat of the line's body; a pickup lies before 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.chord_slashes import line_slashes
from cyclechart.arrange.leader_texts import swing_text
from cyclechart.arrange.part_notes import struck_together
from cyclechart.arrange.sheet.brackets import Bracket, line_brackets
from cyclechart.arrange.sheet.chords_over import chords_over
from cyclechart.arrange.sheet.measures import free_measures, measures_of
from cyclechart.arrange.sheet.model import LINE_STRAINS, Sheet, StaffKey, Strain
from cyclechart.arrange.sheet.road_map import (
    AFTER_COUNT_IN,
    SA,
    FormBox,
    LinePlace,
    form_letter,
    in_reader_letters,
    line_letters,
    line_places,
    road_map_of,
)
from cyclechart.arrange.sheet.tempo_marks import TempoChange, change_word, new_tempos
from cyclechart.arrange.sheet.time_signatures import with_time_signatures
from cyclechart.arrange.stroke_lengths import stroke_length
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.hairpins_and_slurs import with_hairpin_ends
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.steps import Free, Solo, Step
from cyclechart.theory.cadence import Answer
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.printed_accidentals import signature_remark, written_signature
from cyclechart.theory.spelling import (
    Tonic,
    nearest_signature,
    readable_tonic,
    written_tonic,
)
from cyclechart.theory.tones import dotted


def sheet_of(piece: Piece, road: Sequence[FormBox] | None = None) -> Sheet:
    """Return the lead sheet of a piece: its lines in the order of the form, each once a cycle.

    ``road``: the road map of the piece, if already computed.
    """
    used = {note.pitch % 12 for line in piece.lines.values() for note in line.notes
            if note.pitch is not None}  # fmt: skip
    tones = piece.mode.up | piece.mode.down
    tonic = readable_tonic(piece.tonic, tones | used)
    road = road_map_of(piece, unroll(piece)) if road is None else road

    def key_in(sa: Tonic, mode: Mode) -> StaffKey:
        written = tonic if sa == piece.tonic else readable_tonic(sa, tones | used)
        written = written_tonic(written, tones | used, mode.up | mode.down)
        return StaffKey(written, mode, nearest_signature(written, mode.up | mode.down))

    strains = []
    further = further_modes(piece)
    for (name, cycle, sa), mark in line_letters(piece).items():
        line = piece.line_in(name, cycle)
        key = key_in(sa, _mode_of(piece, name, cycle, sa))
        differences = _differences_from_heading(
            piece, None if line.free else cycle, sa, key.tonic, key.mode
        )
        first = _first_step(piece, (name, cycle, sa))
        counted = [AFTER_COUNT_IN] if first is not None and road[first].counted_in else []
        meter = _meter_remark(piece, line) if line.free else ""
        remark = ", ".join(filter(None, [meter, *differences, *counted]))
        strain = _strain(line, mark, cycle, key=key, context=remark, eduppu=piece.eduppu)
        strain = replace(
            strain,
            tones=further.get((name, cycle, sa), ""),
            symbols=chords_over(piece, (name, cycle, sa), strain.measures[-1].end),
        )
        strains.append(_with_tempo(piece, strain, (name, cycle, sa)))
    strains = list(_with_signatures(strains))
    drawn = [not strain.silent for strain in strains]
    fifths = next(
        (s.key.fifths for s in strains if (s.key.tonic, s.key.mode) == (tonic, piece.mode)),
        nearest_signature(tonic, tones),
    )
    return Sheet(
        title=piece.title,
        composer=piece.composer,
        edition=piece.edition,
        tonic=tonic,
        mode=piece.mode,
        cycles=piece.cycles,
        tempo=piece.tempo,
        eduppu=piece.eduppu,
        swing=swing_text(piece.swing) if piece.swing != 1 else "",
        tuning=piece.tuning.name,
        fifths=fifths,
        signature=signature_remark(tonic, tones, fifths),
        strains=tuple(with_time_signatures(strains, drawn)),
        road=in_reader_letters(road, lambda sa: readable_tonic(sa, tones | used)),
        liberties=tuple(liberty_text(piece, number) for number in range(len(piece.liberties))),
        keys=tuple(dict.fromkeys(key_in(s.state.tonic, s.state.mode) for s in piece.steps)),
    )


def _with_signatures(strains: Sequence[Strain]) -> Iterator[Strain]:
    """Yield the strains, each with the signature of all that are in its mode on its Sa."""
    measures: dict[tuple[Tonic, Mode], list[list[int]]] = {}
    for strain in strains:
        known = measures.setdefault((strain.key.tonic, strain.key.mode), [])
        known += (
            [
                note.pitch
                for note in strain.notes
                if note.pitch is not None and measure.start <= note.start < measure.end
            ]
            for measure in strain.measures
        )
    signatures = {
        (tonic, mode): written_signature(tonic, mode.up | mode.down, known)
        for (tonic, mode), known in measures.items()
    }
    for strain in strains:
        key = strain.key
        yield replace(strain, key=replace(key, fifths=signatures[key.tonic, key.mode]))


def further_modes(piece: Piece) -> dict[LinePlace, str]:
    """Return, for each line under which modes are first used, those modes with their paths as text.

    The piece's own mode stands in the heading. A mode of a step without a line is listed under the
    line before it.
    """
    texts: dict[LinePlace, list[str]] = {}
    place: LinePlace | None = next(iter(line_letters(piece)), None)
    listed = {piece.mode.name}
    for number, step in enumerate(piece.steps):
        place = next(iter(line_places(piece, step)), place)
        mode = step.state.mode
        if mode.name in listed or place is None:
            continue
        listed.add(mode.name)
        up, down = (" ".join(map(dotted, path)) for path in (mode.ascent, mode.descent))
        texts.setdefault(place, []).append(
            f"from {form_letter(number)} in {mode.name}: up {up}, down {down}"
        )
    return {place: "; ".join(lines) for place, lines in texts.items()}


def _mode_of(piece: Piece, name: str, cycle: Cycle, tonic: Tonic) -> Mode:
    """Return the mode in which the form first plays a line in a cycle and on a Sa."""
    number = _first_step(piece, (name, cycle, tonic))
    return piece.mode if number is None else piece.steps[number].state.mode


def _first_step(piece: Piece, place: LinePlace) -> int | None:
    """Return the index of the first step that plays a line in a cycle and on a Sa; None for a line
    that the form leaves out."""
    steps = enumerate(piece.steps)
    return next((number for number, step in steps if place in line_places(piece, step)), None)


def _with_tempo(piece: Piece, strain: Strain, place: LinePlace) -> Strain:
    """Return a strain with the tempo and the steady change of the step that first plays it."""
    number = _first_step(piece, place)
    if number is None or strain.free:
        return strain
    step = piece.steps[number]
    word = change_word(step.state.tempo, step.state.to_tempo)
    change = TempoChange(word) if word else None
    if change is not None and _plays_again(step, strain):
        change = change.through_repeats()
    return replace(strain, tempo=new_tempos(piece)[number], tempo_change=change)


def _plays_again(step: Step, strain: Strain) -> bool:
    """Return whether a step plays a metered line more than once."""
    cycles = -(-strain.measures[-1].end // strain.cycle.beats)
    return step.times > 1 or (isinstance(step, Solo) and step.cycles > cycles)


def _differences_from_heading(
    piece: Piece, cycle: Cycle | None, tonic: Tonic, written: Tonic, mode: Mode
) -> Iterator[str]:
    """Yield the cycle, Sa and mode of a strain where they differ from the page's heading."""
    if len(piece.cycles) > 1 and cycle is not None:
        yield f"in {piece.called(cycle)}"
    if tonic != piece.tonic:
        yield f"{SA}{written}"
    if mode != piece.mode:
        yield mode.name


def _meter_remark(piece: Piece, line: Line) -> str:
    """Return the remark on a line that is not measured against the cycle: without meter in a free
    step, in time across the cycle in any other."""
    if any(isinstance(step, Free) and line.name in step.uses for step in piece.steps):
        return "free"
    return f"{show_beats(line.length)}, across the cycle"


def liberty_text(piece: Piece, number: int) -> str:
    """Return a liberty of the piece, by its index, as text: ``rule tone in line: reason``."""
    liberty = piece.liberties[number]
    where = f" in {liberty.line}" if liberty.line else ""
    tone = f" {liberty.tone}" if liberty.tone else ""
    return f"{liberty.rule}{tone}{where}: {liberty.why}"


def _strain(
    line: Line,
    letter: str,
    cycle: Cycle,
    *,
    key: StaffKey,
    context: str,
    eduppu: Fraction,
) -> Strain:
    if line.free:
        measures = free_measures(line)
        return Strain(
            letter=letter,
            name=line.name,
            kind=LINE_STRAINS[line.kind],
            cycle=cycle,
            key=key,
            first=False,
            notes=(
                line_slashes(line, None) if line.kind == "chords" else with_hairpin_ends(line.notes)
            ),
            measures=measures,
            free=True,
            remark=context,
            brackets=_brackets_of(line),
        )
    standing = line.standing(cycle)
    shift = standing.offset
    notes: tuple[Note, ...] = tuple(
        replace(note, start=note.start + shift) for note in with_hairpin_ends(line.notes)
    )
    if line.kind in ("strokes", "kit"):
        notes = tuple(
            replace(note, length=stroke_length(note.length, note.start, cycle)) for note in notes
        )
    if line.kind == "chords":
        notes = line_slashes(line, cycle)
    if line.kind == "kit":
        notes = tuple(struck_together(note) for note in notes)
    end = shift + line.length
    body = end if end > 0 else Fraction(0)
    pads = shift > 0 or not (standing.shape == "loops" and (end % cycle.beats) != 0)
    # A line that begins after the first beat is written from there on, with a rest before it.
    measures = measures_of(cycle, min(shift, Fraction(0)), body if body > shift else end, pads)
    remark = ", ".join(filter(None, [context, *line_remarks(line, eduppu)]))
    return Strain(
        letter=letter,
        name=line.name,
        kind=LINE_STRAINS[line.kind],
        cycle=cycle,
        key=key,
        first=False,
        notes=notes,
        measures=measures,
        free=False,
        remark=remark,
        brackets=_brackets_of(line),
    )


def _brackets_of(line: Line) -> tuple[Bracket, ...]:
    """Return the brackets of a line; chords have them where their text is their rhythm."""
    return line_brackets(line) if line.kind != "chords" or line.struck is line.notes else ()


def line_remarks(line: Line, eduppu: Fraction) -> Iterator[str]:
    """Yield remarks on the beginning, the cadences and the landing of a line; ``eduppu`` is the
    piece's, which its heading states."""
    if line.eduppu != eduppu:
        yield f"eduppu {show_exact(line.eduppu)}" if line.eduppu else "from sam to sam"
    if line.begins != 1 + line.eduppu:
        yield f"from beat {show_exact(line.begins)}"
    for cadence in line.cadences:
        if cadence.answer is not None:
            yield cadence.answer.name
            yield from _chakradar_spacing(cadence.answer)
    if line.lands is not None and line.lands.how != "free":
        side = "before" if line.lands.how == "anagat" else "after"
        home = "the eduppu" if line.eduppu else "the first beat"
        yield f"lands {line.lands.how}, {show_beats(line.lands.by)} {side} {home}"


def _chakradar_spacing(answer: Answer) -> Iterator[str]:
    """Yield the rounds and gaps of a chakradar; a tihai has its gap in the first bracket."""
    if answer.round_gap is None:
        return
    yield f"{answer.rounds} rounds of {len(answer.ends) // answer.rounds}"
    for gap, where in ((answer.gap, "statements"), (answer.round_gap, "rounds")):
        if gap:
            yield f"gap {show_exact(gap)} between {where}"
