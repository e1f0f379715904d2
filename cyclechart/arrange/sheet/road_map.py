"""The road map: the form as lettered boxes with their changes and lengths.

Every step of the form has one letter, the same in the lead sheet, the score and every part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from string import digits
from typing import TypeAlias

from cyclechart.arrange.bars import Passage, passages_of
from cyclechart.arrange.clock import Clock, clock_of
from cyclechart.arrange.leader_texts import leader_text, swing_text
from cyclechart.arrange.sheet.tempo_marks import change_word, new_tempos
from cyclechart.arrange.timeline import Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Free, Groove, Hold, Play, Solo, Step, StepState, Trade
from cyclechart.text.display import player_title
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_cycles, show_exact
from cyclechart.theory.spelling import Tonic

LinePlace: TypeAlias = tuple[str, Cycle, Tonic]
"""A line by name, in a cycle, on a Sa; each appears once on the lead sheet."""


PLAIN = "mf"
"""The dynamics restored after a step with dynamics of its own."""
AFTER_COUNT_IN = "after a count-in"
"""The text of a step that is counted in within the piece, after a passage without meter."""
SA = "Sa = "
"""The text before the new tonic where Sa moves."""


@dataclass(frozen=True)
class FormBox:
    """One box of the form: its letter, its name, and its repeats or length as text (``detail``).

    ``changes``: the cycle, mode, Sa, tempo and dynamics that change here, as texts. ``cycles``: its
    number of cycles, 0 for a passage without meter; ``seconds``: its length, without the count-in,
    which is ``count_in_seconds``. ``sa``: the new Sa, or None where it stays. ``players``: names of
    those who have lines or a solo in it.
    """

    letter: str
    name: str
    detail: str
    changes: tuple[str, ...] = ()
    cycles: Fraction = Fraction(0)
    seconds: Fraction = Fraction(0)
    count_in_seconds: Fraction = Fraction(0)
    sa: Tonic | None = None
    players: tuple[str, ...] = ()
    counted_in: bool = False
    """True where a count-in leads into it within the piece: one at its beginning goes unsaid."""
    in_parts: tuple[str, str] = ("", "")
    """Its name and detail in parts and scores."""
    note: str = ""
    """The words over it that are for all."""
    for_leader: str = ""
    """What some of the band are told here, for charts of all: notes, hits, lines beneath."""

    @property
    def changes_text(self) -> str:
        """The changes as one text for print."""
        return ", ".join(self.changes)


def form_letter(number: int) -> str:
    """Return the letter of a step by its index: A to Z, then AA, AB …"""
    head, tail = divmod(number, 26)
    return (form_letter(head - 1) if head else "") + chr(ord("A") + tail)


def line_places(piece: Piece, step: Step) -> list[LinePlace]:
    """Return the lines of a step, with the cycle and the Sa under which the lead sheet has them."""
    metered = piece.is_metered(step)
    return [
        (name, step.cycle if metered else first_cycle(piece, name), step.state.tonic)
        for name in step.uses
        if name in piece.lines
    ]


def places_beneath(piece: Piece, step: Step) -> list[LinePlace]:
    """Return the lines that are played beneath a step and are not its own."""
    return [
        (name, step.cycle, step.state.tonic)
        for name in step.all_lines
        if name in piece.lines and name not in step.uses
    ]


def first_cycle(piece: Piece, name: str) -> Cycle:
    """Return the cycle of a line's first strain; for a free line the piece's own."""
    return next(iter(piece.cycles_of(name)), piece.cycle)


def line_letters(piece: Piece) -> dict[LinePlace, str]:
    """Return the letter of each line: that of the first step that plays it, with a number where the
    step has several new lines, those beneath it after its own. Lines that the form leaves out come
    last."""
    letters: dict[LinePlace, str] = {}
    for number, step in enumerate(piece.steps):
        new = [place for place in dict.fromkeys(line_places(piece, step)) if place not in letters]
        for count, place in enumerate(new, start=1):
            letters[place] = form_letter(number) + (str(count) if len(new) > 1 else "")
        below = dict.fromkeys(places_beneath(piece, step))
        later = [place for place in below if place not in letters]
        for count, place in enumerate(later, start=len(new) + 1):
            alone = not new and len(later) == 1
            letters[place] = form_letter(number) + ("" if alone else str(count))
    unused = [line.name for line in piece.standing_lines if line.name not in piece.used_lines]
    for count, name in enumerate(unused):
        place = (name, first_cycle(piece, name), piece.tonic)
        letters[place] = form_letter(len(piece.steps) + count)
    return letters


def road_map_of(piece: Piece, timeline: Timeline) -> tuple[FormBox, ...]:
    """Return the boxes of the form, one for each step."""
    letters = line_letters(piece)
    clock = clock_of(timeline)
    passages = {passage.step: passage for passage in passages_of(timeline)}
    cycle_before: Cycle | None = None
    state = piece.state
    boxes = []
    for number, (step, tempo) in enumerate(zip(piece.steps, new_tempos(piece), strict=True)):
        letter = form_letter(number)
        of_lines = [letters[place] for place in line_places(piece, step)]
        box = _form_box(step, letter, of_lines)
        of_steps = [_step_letter(line_letter, letter) for line_letter in of_lines]
        in_parts = _form_box(step, letter, of_steps)
        changes = list(_changes(state, step.state, tempo))
        if piece.is_metered(step):
            if cycle_before not in (None, step.cycle):
                changes.insert(0, cycle_title(step.cycle, " "))
            cycle_before = step.cycle
        passage = passages.get(number)
        if passage is not None:
            count_in_seconds, seconds = _passage_seconds(passage, clock)
            box = replace(
                box, cycles=_cycles_in(passage), seconds=seconds, count_in_seconds=count_in_seconds
            )
            if number and count_in_seconds:
                box, in_parts = _counted_in(box), _counted_in(in_parts)
        if step.state.tonic != state.tonic:
            box = replace(box, sa=step.state.tonic)
        players = tuple(_box_players(piece, step))
        state = step.state
        boxes.append(
            replace(
                box,
                changes=tuple(changes),
                players=players,
                note=step.directions.note_for(""),
                for_leader=leader_text(piece.steps, number),
                in_parts=(in_parts.name, in_parts.detail),
            )
        )
    return tuple(boxes)


def _step_letter(line_letter: str, own: str) -> str:
    """Return the letter of the step that first plays a line, or "" where that is its own."""
    letter = line_letter.rstrip(digits)
    return "" if letter == own else letter


def _counted_in(box: FormBox) -> FormBox:
    detail = ", ".join(filter(None, [box.detail, AFTER_COUNT_IN]))
    return replace(box, detail=detail, counted_in=True)


def in_step_letters(road: Sequence[FormBox]) -> tuple[FormBox, ...]:
    """Return the road map of a part or a score, where steps have letters and lines have none: each
    box names its lines by the step that plays them first."""
    return tuple(replace(box, name=box.in_parts[0], detail=box.in_parts[1]) for box in road)


def _cycles_in(passage: Passage) -> Fraction:
    return sum(
        (bar.length / bar.stretch.cycle.beats for bar in passage.bars if bar.number), Fraction(0)
    )


def _passage_seconds(passage: Passage, clock: Clock) -> tuple[Fraction, Fraction]:
    """Return the seconds of a passage's count-in, and those of the rest of the passage."""
    count_in = [bar for bar in passage.bars if bar.stretch.kind == "count-in"]
    start = clock.seconds(passage.bars[0].start)
    begins = clock.seconds(count_in[-1].end) if count_in else start
    return begins - start, clock.seconds(passage.bars[-1].end) - begins


def in_reader_letters(
    road: Sequence[FormBox], written_tonic: Callable[[Tonic], Tonic]
) -> tuple[FormBox, ...]:
    """Return the road map for one reader; ``written_tonic`` gives the Sa that they read."""
    return tuple(
        box if box.sa is None else _with_written_tonic(box, box.sa, written_tonic(box.sa))
        for box in road
    )


def _with_written_tonic(box: FormBox, sa: Tonic, written: Tonic) -> FormBox:
    change = f"{SA}{written}"
    if written.semitone != sa.semitone:
        change += f" (sounds {sa})"
    return replace(box, changes=tuple(change if t.startswith(SA) else t for t in box.changes))


def _box_players(piece: Piece, step: Step) -> Iterator[str]:
    """Yield the names of the players who have a line or a solo in a step, each once."""
    names: dict[str, None] = {}
    if isinstance(step, Solo):
        names[step.player] = None
    elif isinstance(step, Trade):
        names |= dict.fromkeys(step.players)
    elif isinstance(step, Free) and not step.is_line:
        names[step.what] = None
    for line in step.uses:
        if line in piece.lines:
            names |= {player.name: None for player in piece.players_of(step, line)}
    yield from names


def tempo_text(tempo: Fraction) -> str:
    """Return a new tempo as text."""
    return f"{show_exact(tempo)} a minute"


def _changes(before: StepState, now: StepState, tempo: Fraction | None) -> Iterator[str]:
    """Yield the changes of a step as texts, except that of the cycle; ``tempo``: a new one."""
    if now.mode != before.mode:
        yield now.mode.name
    if now.tonic != before.tonic:
        yield f"{SA}{now.tonic}"
    if tempo is not None:
        yield tempo_text(tempo)
    if word := change_word(now.tempo, now.to_tempo):
        yield f"{word} to {show_exact(now.to_tempo or now.tempo)} a minute"
    if now.swing != before.swing:
        yield swing_text(now.swing)
    if now.level:
        yield now.level
    elif before.level not in ("", PLAIN):
        yield PLAIN


def _form_box(step: Step, letter: str, line_letters: Sequence[str]) -> FormBox:
    """Return the box of a step; ``line_letters``: those of its lines, "" for one without."""
    times = f"×{step.times}" if step.times > 1 else ""
    if isinstance(step, Solo):
        over = f" over {step.over}" if line_letters else ""
        over += "".join(f" ({line_letter})" for line_letter in line_letters if line_letter)
        cue = ", on cue" if step.on_cue else ""
        length = f"{show_cycles(step.cycles)}{over}{cue} {times}".strip()
        return FormBox(letter, f"solo {player_title(step.player)}", length)
    if isinstance(step, Trade):
        each = f"{_shares(step)} {times}".strip()
        return FormBox(letter, f"trade {' / '.join(map(player_title, step.players))}", each)
    if isinstance(step, Hold):
        return FormBox(letter, "fermata", f"held, {show_exact(step.seconds)} s")
    if isinstance(step, Groove):
        return FormBox(letter, "groove", f"{show_cycles(step.cycles)} {times}".strip())
    references = [of for of in line_letters if of and not of.startswith(letter)]
    reference = "as " + ", ".join(references) if references else ""
    if isinstance(step, Free):
        length = f"free, {show_exact(step.seconds)} s" if step.seconds else "free"
        detail = ", ".join(filter(None, [f"{length} {times}".strip(), reference]))
        return FormBox(letter, free_title(step), detail)
    if isinstance(step, Play) and len(step.parts) > 1:
        return FormBox(letter, " + ".join(_simultaneous_lines(step, line_letters, letter)), times)
    detail = " ".join(filter(None, [_named_players(step), times, reference]))
    return FormBox(letter, " + ".join(step.uses), detail)


def free_title(step: Free) -> str:
    """Return the name of a passage without meter: its line, or whose it is."""
    return step.what if step.is_line else player_title(step.what)


def _shares(step: Trade) -> str:
    """Return ``2 cycles each``, or ``4, 2 and 1 cycles each, 1 together`` where it halves."""
    *before, last = [show_exact(share) for share in step.shares]
    if not before:
        return f"{show_cycles(step.cycles)} each"
    return f"{', '.join(before)} and {last} cycles each, 1 together"


def _simultaneous_lines(step: Play, line_letters: Sequence[str], letter: str) -> Iterator[str]:
    """Yield a text for each simultaneous line: its name, with its players and its letter."""
    by_line = dict(zip(step.uses, line_letters, strict=False))
    for name, who in step.parts:
        line_letter = by_line.get(name, letter)
        known = line_letter and not line_letter.startswith(letter)
        reference = [f"as {line_letter}"] if known else []
        inside = ", ".join([*map(player_title, who), *reference])
        yield f"{name} ({inside})" if inside else name


def _named_players(step: Step) -> str:
    """Return the players that a step names, line by line, as text."""
    if not isinstance(step, Play):
        return ""
    return " + ".join(", ".join(map(player_title, players)) for _, players in step.parts if players)


def cycle_title(cycle: Cycle, between: str) -> str:
    """Return the name and length of a cycle, joined by ``between``; a name that ends with the
    length stands alone."""
    length = show_exact(cycle.beats)
    return cycle.name if cycle.name.endswith(f" {length}") else f"{cycle.name}{between}{length}"
