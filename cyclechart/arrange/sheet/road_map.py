"""The road map: the form as lettered boxes, what changes at each, how long each takes.

Every step of the form has one letter, the same in the lead sheet, the score and every part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeAlias

from cyclechart.arrange.bars import Passage, passages_of
from cyclechart.arrange.clock import Clock, clock_of
from cyclechart.arrange.timeline import Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Force, Free, Groove, Play, Solo, Step, Trade
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_cycles, show_exact
from cyclechart.theory.spelling import Tonic

Place: TypeAlias = tuple[str, Cycle, Tonic]
"""A line by name, in a cycle, on a Sa: what stands once on the lead sheet."""


PLAIN = "mf"
"""How loud it is again after a step with dynamics of its own."""
SA = "Sa = "
"""What stands before the letter where Sa moves."""


@dataclass(frozen=True)
class RoadStep:
    """One box of the form: its letter and name, and how often or how long.

    ``turns``: the cycle, mode, Sa, tempo and loudness that change here. ``cycles``: how many it is
    in all, 0 where it has no meter; ``seconds``: how long, ``counted``: the count-in before it,
    which is no part of that. ``sa``: where Sa moves to, if it does. ``players``: those who have
    lines or a solo in it.
    """

    letter: str
    name: str
    detail: str
    turns: tuple[str, ...] = ()
    cycles: Fraction = Fraction(0)
    seconds: Fraction = Fraction(0)
    counted: Fraction = Fraction(0)
    sa: Tonic | None = None
    players: tuple[str, ...] = ()

    @property
    def turns_to(self) -> str:
        """What changes, as it is printed."""
        return ", ".join(self.turns)


def letter(number: int) -> str:
    """A to Z, then AA, AB …"""
    head, tail = divmod(number, 26)
    return (letter(head - 1) if head else "") + chr(ord("A") + tail)


def places_of(piece: Piece, step: Step) -> list[Place]:
    """The lines that a step needs, in the cycle and on the Sa that they stand in on the page for
    it."""
    metered = piece.is_metered(step)
    return [
        (name, step.cycle if metered else first_cycle(piece, name), step.force.tonic)
        for name in step.uses
        if name in piece.lines
    ]


def first_cycle(piece: Piece, name: str) -> Cycle:
    """The cycle of a line's first strain; a free line has need of none."""
    return next(iter(piece.cycles_of(name)), piece.cycle)


def letters_of(piece: Piece) -> dict[Place, str]:
    """The letter under which each line is found: of the step that first has it, numbered where that
    has several; lines that the form leaves out come last."""
    letters: dict[Place, str] = {}
    for number, step in enumerate(piece.steps):
        new = [place for place in dict.fromkeys(places_of(piece, step)) if place not in letters]
        for count, place in enumerate(new, start=1):
            letters[place] = letter(number) + (str(count) if len(new) > 1 else "")
    unused = [line.name for line in piece.standing_lines if line.name not in piece.used_lines]
    for count, name in enumerate(unused):
        place = (name, first_cycle(piece, name), piece.tonic)
        letters[place] = letter(len(piece.steps) + count)
    return letters


def road_of(piece: Piece, timeline: Timeline) -> tuple[RoadStep, ...]:
    """The form step by step, with what changes named where it does."""
    letters = letters_of(piece)
    clock = clock_of(timeline)
    passages = {passage.step: passage for passage in passages_of(timeline)}
    before: Cycle | None = None
    force = piece.force
    boxes = []
    for number, step in enumerate(piece.steps):
        box = _box(piece, step, letter(number), letters)
        turns = list(_changes(force, step.force))
        if piece.is_metered(step):
            if before not in (None, step.cycle):
                turns.insert(0, titled(step.cycle, " "))
            before = step.cycle
        passage = passages.get(number)
        if passage is not None:
            counted, seconds = _seconds(passage, clock)
            box = replace(box, cycles=_cycles_in(passage), seconds=seconds, counted=counted)
        if step.force.tonic != force.tonic:
            box = replace(box, sa=step.force.tonic)
        players = tuple(_playing(piece, step))
        force = replace(step.force, tempo=step.force.to_tempo or step.force.tempo)
        boxes.append(replace(box, turns=tuple(turns), players=players))
    return tuple(boxes)


def _cycles_in(passage: Passage) -> Fraction:
    return sum(
        (bar.length / bar.stretch.cycle.beats for bar in passage.bars if bar.number), Fraction(0)
    )


def _seconds(passage: Passage, clock: Clock) -> tuple[Fraction, Fraction]:
    """How long the count-in of a passage is, and how long all that follows it."""
    counted = [bar for bar in passage.bars if bar.stretch.kind == "count-in"]
    start = clock.seconds(passage.bars[0].start)
    begins = clock.seconds(counted[-1].end) if counted else start
    return begins - start, clock.seconds(passage.bars[-1].end) - begins


def lettered(road: Sequence[RoadStep], read: Callable[[Tonic], Tonic]) -> tuple[RoadStep, ...]:
    """The road in a reader's letters: he reads a Sa as ``read`` says."""
    return tuple(box if box.sa is None else _lettered(box, box.sa, read(box.sa)) for box in road)


def _lettered(box: RoadStep, sa: Tonic, written: Tonic) -> RoadStep:
    said = f"{SA}{written}"
    if written.semitone != sa.semitone:
        said += f" (sounds {sa})"
    return replace(box, turns=tuple(said if t.startswith(SA) else t for t in box.turns))


def _playing(piece: Piece, step: Step) -> Iterator[str]:
    """Who has something of his own in a step."""
    named: dict[str, None] = {}
    if isinstance(step, Solo):
        named[step.player] = None
    elif isinstance(step, Trade):
        named |= dict.fromkeys(step.players)
    elif isinstance(step, Free) and not step.is_line:
        named[step.what] = None
    for line in step.uses:
        if line in piece.lines:
            named |= {player.name: None for player in piece.players_of(step, line)}
    yield from named


def _changes(before: Force, now: Force) -> Iterator[str]:
    """What a step changes, the cycle apart."""
    if now.mode != before.mode:
        yield now.mode.name
    if now.tonic != before.tonic:
        yield f"{SA}{now.tonic}"
    if now.tempo != before.tempo:
        yield f"{show_exact(now.tempo)} a minute"
    if now.to_tempo is not None:
        yield f"to {show_exact(now.to_tempo)} a minute"
    if now.level:
        yield now.level
    elif before.level not in ("", PLAIN):
        yield PLAIN


def _box(piece: Piece, step: Step, letter: str, letters: dict[Place, str]) -> RoadStep:
    times = f"×{step.times}" if step.times > 1 else ""
    found = [letters[place] for place in places_of(piece, step)]
    if isinstance(step, Solo):
        over = f" over {step.over} ({found[0]})" if found else ""
        cue = ", on cue" if step.on_cue else ""
        return RoadStep(
            letter, f"solo {step.player}", f"{show_cycles(step.cycles)}{over}{cue} {times}".strip()
        )
    if isinstance(step, Trade):
        each = f"{show_cycles(step.cycles)} each {times}".strip()
        return RoadStep(letter, f"trade {' / '.join(step.players)}", each)
    if isinstance(step, Groove):
        return RoadStep(letter, "groove", f"{show_cycles(step.cycles)} {times}".strip())
    again = "as " + ", ".join(found) if found and not found[0].startswith(letter) else ""
    if isinstance(step, Free):
        length = f"free, {show_exact(step.seconds)} s" if step.seconds else "free"
        return RoadStep(
            letter, step.what, ", ".join(filter(None, [f"{length} {times}".strip(), again]))
        )
    if isinstance(step, Play) and len(step.parts) > 1:
        return RoadStep(letter, " + ".join(_said(step, found, letter)), times)
    detail = " ".join(filter(None, [_who(step), times, again]))
    return RoadStep(letter, " + ".join(step.uses), detail)


def _said(step: Play, found: Sequence[str], letter: str) -> Iterator[str]:
    """Lines at once: each by name, under which letter it stands, who has it."""
    by_line = dict(zip(step.uses, found, strict=False))
    for name, who in step.parts:
        at = by_line.get(name, letter)
        known = [f"as {at}"] if not at.startswith(letter) else []
        inside = ", ".join([*who, *known])
        yield f"{name} ({inside})" if inside else name


def _who(step: Step) -> str:
    """The players that a step names, line by line."""
    if not isinstance(step, Play):
        return ""
    return " + ".join(", ".join(players) for _, players in step.parts if players)


def titled(cycle: Cycle, between: str) -> str:
    """A cycle by name and length; one without a name of its own is called by its length anyway."""
    length = show_exact(cycle.beats)
    return cycle.name if cycle.name.endswith(f" {length}") else f"{cycle.name}{between}{length}"
