"""The lead sheet as data: the lines cut into measures, one measure a section of the cycle.

A strain is one line in one cycle, as it stands on the page: a line that is played in two stands
there twice. Times inside a strain are exact beats from the first
first beat of the line (its body); a pickup lies before 0.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, TypeAlias

from cyclechart.arrange.measures import Measure, free_measures, measures_of
from cyclechart.arrange.spans import Span, spans_of
from cyclechart.piece.model import Line, Note, Piece
from cyclechart.piece.steps import Force, Free, Groove, Play, Solo, Step, Trade
from cyclechart.theory.cadence import Answer
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, nearest_signature, readable_tonic


@dataclass(frozen=True)
class Key:
    """What a strain is written on: its Sa, its mode, and the signs of its signature."""

    tonic: Tonic
    mode: Mode
    fifths: int


@dataclass(frozen=True)
class Strain:
    """A line on the page. The notes' ``start`` is within the strain; gaps are rests.

    ``cycle``: the one it stands in here. ``first``: the first that is metered, or after one that is
    in another cycle, so that it shows its time signature.
    """

    letter: str
    name: str
    kind: Literal["melody", "strokes"]
    cycle: Cycle
    key: Key
    first: bool
    notes: tuple[Note, ...]
    measures: tuple[Measure, ...]
    free: bool
    remark: str
    """What a player should know of its beginning or landing, or ""."""
    spans: tuple[Span, ...] = ()


@dataclass(frozen=True)
class RoadStep:
    """One box of the form: a letter and name, and how often or how long.

    ``turns_to``: the cycle that changes here, or "".
    """

    letter: str
    name: str
    detail: str
    turns_to: str = ""


@dataclass(frozen=True)
class Sheet:
    """A whole lead sheet. ``tonic`` is the one it is written in; ``fifths`` its key signature.

    ``cycles``: those in use, in the order of use.
    """

    title: str
    composer: str
    tonic: Tonic
    mode: Mode
    cycles: tuple[Cycle, ...]
    tempo: Fraction
    tuning: str
    fifths: int
    strains: tuple[Strain, ...]
    road: tuple[RoadStep, ...]
    liberties: tuple[str, ...]


def sheet_of(piece: Piece) -> Sheet:
    """Lay a piece's lines out for reading: in the order of the form, each once in each cycle."""
    used = {note.pitch % 12 for line in piece.lines.values() for note in line.notes
            if note.pitch is not None}  # fmt: skip
    tones = piece.mode.up | piece.mode.down
    tonic = readable_tonic(piece.tonic, tones | used)
    places = [place for step in piece.steps for place in _places(piece, step)]
    unused = [
        (line.name, _first_cycle(piece, line.name), piece.tonic)
        for line in piece.standing_lines
        if line.name not in piece.used_lines
    ]
    order = dict.fromkeys([*places, *unused])  # what the form leaves out last
    letters = {place: _letter(number) for number, place in enumerate(order)}
    strains = []
    before: Cycle | None = None
    for (name, cycle, sa), letter in letters.items():
        line = piece.line_in(name, cycle)
        written = tonic if sa == piece.tonic else readable_tonic(sa, tones | used)
        mode = _mode_of(piece, name, cycle, sa)
        key = Key(written, mode, nearest_signature(written, mode.up | mode.down))
        within = ", ".join(_where(piece, None if line.free else cycle, sa, mode))
        strains.append(_strain(line, letter, cycle, key, cycle != before, within))
        before = before if line.free else cycle
    return Sheet(
        piece.title,
        piece.composer,
        tonic,
        piece.mode,
        piece.cycles,
        piece.tempo,
        piece.tuning.name,
        nearest_signature(tonic, tones),
        tuple(strains),
        tuple(_road(piece, letters)),
        tuple(_liberty(piece, number) for number in range(len(piece.liberties))),
    )


_Place: TypeAlias = tuple[str, Cycle, Tonic]
"""A line by name, in a cycle, on a Sa."""


def _places(piece: Piece, step: Step) -> list[_Place]:
    """The lines that a step needs, in the cycle and on the Sa that they stand in on the page for
    it."""
    metered = piece.is_metered(step)
    return [
        (name, step.cycle if metered else _first_cycle(piece, name), step.force.tonic)
        for name in step.uses
        if name in piece.lines
    ]


def _first_cycle(piece: Piece, name: str) -> Cycle:
    """The cycle of a line's first strain; a free line has need of none."""
    return next(iter(piece.cycles_of(name)), piece.cycle)


def _mode_of(piece: Piece, name: str, cycle: Cycle, tonic: Tonic) -> Mode:
    """The mode in which the form first has a line in a cycle and on a Sa."""
    for step in piece.steps:
        if (name, cycle, tonic) in _places(piece, step):
            return step.force.mode
    return piece.mode


def _where(piece: Piece, cycle: Cycle | None, tonic: Tonic, mode: Mode) -> Iterator[str]:
    """What of a strain is not as the page's heading says."""
    if len(piece.cycles) > 1 and cycle is not None:
        yield f"in {piece.called(cycle)}"
    if tonic != piece.tonic:
        yield f"Sa = {tonic}"
    if mode != piece.mode:
        yield mode.name


def titled(cycle: Cycle, between: str) -> str:
    """A cycle by name and length; one without a name of its own is called by its length anyway."""
    length = show_exact(cycle.beats)
    return cycle.name if cycle.name.endswith(f" {length}") else f"{cycle.name}{between}{length}"


def _letter(number: int) -> str:
    """A to Z, then AA, AB …"""
    head, tail = divmod(number, 26)
    return (_letter(head - 1) if head else "") + chr(ord("A") + tail)


def _road(piece: Piece, letters: dict[_Place, str]) -> Iterator[RoadStep]:
    """The form step by step, with what changes named where it does."""
    before: Cycle | None = None
    force = piece.force
    for step in piece.steps:
        box = _road_step(piece, step, [letters[place] for place in _places(piece, step)])
        turns = list(_changes(force, step.force))
        if piece.is_metered(step):
            if before not in (None, step.cycle):
                turns.insert(0, titled(step.cycle, " "))
            before = step.cycle
        force = replace(step.force, tempo=step.force.to_tempo or step.force.tempo)
        yield replace(box, turns_to=", ".join(turns))


def _changes(before: Force, now: Force) -> Iterator[str]:
    """What a step changes, the cycle apart."""
    if now.mode != before.mode:
        yield now.mode.name
    if now.tonic != before.tonic:
        yield f"Sa = {now.tonic}"
    if now.tempo != before.tempo:
        yield f"{show_exact(now.tempo)} a minute"
    if now.to_tempo is not None:
        yield f"to {show_exact(now.to_tempo)} a minute"
    if now.level:
        yield now.level


def _road_step(piece: Piece, step: Step, letters: list[str]) -> RoadStep:
    times = f"×{step.times}" if step.times > 1 else ""
    letter = " ".join(letters)
    if isinstance(step, Solo):
        over = f" over {letter}" if letter else ""
        cue = ", on cue" if step.on_cue else ""
        detail = f"{_cycles(step.cycles)}{over}{cue} {times}".strip()
        return RoadStep("", f"solo {step.player}", detail)
    if isinstance(step, Trade):
        return RoadStep(
            "", f"trade {' / '.join(step.players)}", f"{_cycles(step.cycles)} each {times}".strip()
        )
    if isinstance(step, Groove):
        return RoadStep("", "groove", f"{_cycles(step.cycles)} {times}".strip())
    if isinstance(step, Free):
        length = f"free, {show_exact(step.seconds)} s" if step.seconds else "free"
        return RoadStep(letter, step.what, f"{length} {times}".strip())
    if isinstance(step, Play) and len(step.parts) > 1:
        by_line = dict(zip(step.uses, letters, strict=False))
        said = [f"{by_line.get(name, name)} {', '.join(who)}".strip() for name, who in step.parts]
        return RoadStep("", " + ".join(said), times)
    return RoadStep(letter, " + ".join(step.uses), " ".join(filter(None, [_who(step), times])))


def _cycles(count: int) -> str:
    return f"{count} cycle{'s' if count > 1 else ''}"


def _who(step: Step) -> str:
    """The players that a step names, line by line."""
    if not isinstance(step, Play):
        return ""
    return " + ".join(", ".join(players) for _, players in step.parts if players)


def _liberty(piece: Piece, number: int) -> str:
    liberty = piece.liberties[number]
    where = f" in {liberty.line}" if liberty.line else ""
    tone = f" {liberty.tone}" if liberty.tone else ""
    return f"{liberty.rule}{tone}{where}: {liberty.why}"


def _strain(line: Line, letter: str, cycle: Cycle, key: Key, first: bool, within: str) -> Strain:
    if line.free:
        measures = free_measures(line)
        return Strain(
            letter,
            line.name,
            line.kind,
            cycle,
            key,
            False,
            line.notes,
            measures,
            True,
            ", ".join(["free", *filter(None, [within])]),
            spans_of(line),
        )
    standing = line.standing(cycle)
    shift = -standing.pickup
    notes = tuple(replace(note, start=note.start + shift) for note in line.notes)
    end = shift + line.length
    body = end if end > 0 else Fraction(0)
    pads = not (standing.shape == "loops" and (end % cycle.beats) != 0)
    measures = measures_of(cycle, shift, body if body > shift else end, pads)
    remark = ", ".join([within, *_remarks(line)] if within else _remarks(line))
    return Strain(
        letter,
        line.name,
        line.kind,
        cycle,
        key,
        first,
        notes,
        measures,
        False,
        remark,
        spans_of(line),
    )


def _remarks(line: Line) -> Iterator[str]:
    if line.begins != 1:
        yield f"from beat {show_exact(line.begins)}"
    for cadence in line.cadences:
        if cadence.answer is not None:
            yield cadence.answer.name
            yield from _gaps(cadence.answer)
    if line.lands is not None and line.lands.how != "free":
        side = "before" if line.lands.how == "anagat" else "after"
        yield f"lands {line.lands.how}, {show_beats(line.lands.by)} {side} the first beat"


def _gaps(answer: Answer) -> Iterator[str]:
    """How a chakradar is spaced; over a tihai the first bracket says it."""
    if answer.round_gap is None:
        return
    yield f"{answer.rounds} rounds of {len(answer.ends) // answer.rounds}"
    for gap, where in ((answer.gap, "statements"), (answer.round_gap, "rounds")):
        if gap:
            yield f"gap {show_exact(gap)} between {where}"
