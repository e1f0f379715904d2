"""A rule over the form: notes that something else covers every time their line is played."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.steps import Free, Groove, Play, Solo, Step, Trade
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.excerpts import clip
from cyclechart.theory.cycle import Cycle

MOST_TURNS = 3
"""So many turns of a step that is repeated say all: the first, one after another, and the last."""


@rule("warning")
def unheard_notes(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The last notes of a line are never heard: each time, the next line begins over them.

    A player who has both lines leaves the old one when the new one's first note comes. A tail that
    is covered in one time of several is fine; this one is covered in all of them, and so are the
    words on it. An arrival on the beat on which the next line begins is no loss.

    wrong:  head: {begins: 7, sargam: P d || S R G m P m G R || S - - - - - m G}, played twice
    right:  the same with - groove: 1 after it
    """
    walk = _FormWalk(piece)
    for step in piece.steps:
        walk.step(step)
    parts = {part for line in piece.lines.values() for part in line.parts}
    heard: dict[str, int] = {}
    covers: dict[str, dict[str, None]] = {}
    for entries in walk.entries.values():
        for entry, until, by in _with_ends(entries):
            notes = entry.line.notes
            count = bisect_left(notes, until - entry.start, key=lambda note: note.start)
            if count < len(notes) and _is_arrival(notes[count:], entry, until):
                count = len(notes)
            name = entry.line.name
            heard[name] = max(heard.get(name, 0), count)
            if by is not None:
                covers.setdefault(name, {})[by.name] = None
    for name, count in heard.items():
        line = piece.lines[name]
        lost = line.notes[count:]
        # A line that others are made of is heard in them too.
        if not lost or name in parts or name not in covers:
            continue
        sung = _sung(lost)
        said = f", with the words '{clip(sung)}'," if sung else ""
        notes_lost = f"the last {len(lost)} notes" if len(lost) > 1 else "the last note"
        never, them = ("never sound", "them") if len(lost) > 1 else ("never sounds", "it")
        others = " or ".join(f"'{other}'" for other in covers[name])
        message = f"{notes_lost} of '{name}'{said} {never}: each time, {others} begins over {them}"
        tries = (
            f"let the line that follows begin after {them}",
            f"leave a cycle free behind '{name}' once: - groove: 1",
        )
        yield this.found(lost[0].spot, message, *tries, place=place_of(piece, line, lost[0].start))


def _sung(notes: Iterable[Note]) -> str:
    """Return the words on some notes, their syllables joined."""
    text = " ".join(note.word for note in notes if note.word.strip("_*-"))
    return text.replace("- ", "")


class _Entry(NamedTuple):
    """A line where a player begins it, in beats from the beginning of the form.

    ``lands``: its last note is an arrival on a first beat. ``until``: where it is cut off whatever
    follows, or None.
    """

    line: Line
    start: Fraction
    lands: bool
    until: Fraction | None = None

    @property
    def sounds_from(self) -> Fraction:
        """The beat of its first note."""
        return self.start + (self.line.notes[0].start if self.line.notes else 0)


def _is_arrival(lost: tuple[Note, ...], entry: _Entry, until: Fraction) -> bool:
    """Return True for an arrival without a word on the very beat of the next line's first note."""
    (note, *more) = lost
    return entry.lands and not more and not note.word and entry.start + note.start == until


def _with_ends(entries: list[_Entry]) -> Iterator[tuple[_Entry, Fraction, Line | None]]:
    """Yield the entries of a player, each with the beat from which it is not heard, and the line
    that begins there."""
    later: Fraction | None = None
    covering: Line | None = None
    ends: list[tuple[_Entry, Fraction, Line | None]] = []
    for entry in reversed(entries):
        end = entry.start + entry.line.length + 1
        until, by = (end, None) if later is None or later >= end else (later, covering)
        if entry.until is not None and entry.until < until:
            until, by = entry.until, entry.line
        ends.append((entry, until, by))
        if entry.line.notes and (later is None or entry.sounds_from <= later):
            later, covering = entry.sounds_from, entry.line
    yield from reversed(ends)


@dataclass
class _FormWalk:
    """Walks through a form and notes where each player begins each line.

    The times are those of the timeline, but for what does not move a line against the one before
    it: a free passage is one long time here.
    """

    piece: Piece
    now: Fraction = Fraction(0)
    entries: dict[str, list[_Entry]] = field(default_factory=dict)
    begun: dict[str, Fraction] = field(default_factory=dict)
    """The first beat of the body of each player's current line."""
    room_from: Fraction = Fraction(0)
    """The earliest beat that a pickup may begin on."""
    last_cycle: Cycle | None = None
    """The cycle of the stretch before; None at the beginning and after a free passage."""
    counted_in: bool = False

    def step(self, step: Step) -> None:
        """Walk through a step."""
        for _ in range(min(step.times, MOST_TURNS)):
            if not self.piece.is_metered(step):
                self.free(step)
            elif isinstance(step, Play):
                self.play(step)
            elif isinstance(step, Solo):
                self.solo(step)
            elif isinstance(step, Trade):
                self.trade(step)
            elif isinstance(step, Groove):
                self.make_room({}, step.cycle)
                self.advance(step.cycles * step.cycle.beats, step.cycle)

    def free(self, step: Step) -> None:
        """A passage without meter: nothing reaches over it."""
        self.now += sum((line.length for line in self.piece.lines.values()), Fraction(1000))
        if isinstance(step, Free | Play):
            for name in step.uses:
                line = self.piece.lines.get(name)
                if line is not None:
                    self.place(line, None, self.now, self.players(step, name))
                    self.now += line.length
        self.room_from = self.now
        self.last_cycle = None
        self.begun.clear()

    def play(self, step: Play) -> None:
        """Lines at once; one that loops is repeated under a longer one."""
        lines = {name: self.piece.line_in(name, step.cycle) for name in step.uses
                 if name in self.piece.lines}  # fmt: skip
        if not lines:
            return
        who = {name: self.players(step, name) for name in lines}
        of_player = {one: lines[name] for name in lines for one in (*who[name], f"({name})")}
        self.make_room(of_player, step.cycle)
        start = self.now
        self.begun |= dict.fromkeys(of_player, start)
        ends = {}
        for name, line in lines.items():
            standing = line.standing(step.cycle)
            self.place(line, step.cycle, start + standing.offset, who[name])
            ends[name] = standing.hands_over - standing.first
        longest = max(ends.values())
        self.advance(longest, step.cycle)
        for name, line in lines.items():
            if line.standing(step.cycle).shape == "loops" and ends[name] < longest:
                self.repeat(line, step.cycle, (start + ends[name], start + longest), who[name])

    def solo(self, step: Solo) -> None:
        """A solo, over a line that is played round and round or over none."""
        length = step.cycles * step.cycle.beats
        if step.over is None or step.over not in self.piece.lines:
            self.make_room({}, step.cycle)
            self.begun[step.player] = self.now
            self.advance(length, step.cycle)
            return
        line = self.piece.line_in(step.over, step.cycle)
        who = self.players(step, line.name)
        self.make_room(dict.fromkeys((*who, f"({line.name})"), line), step.cycle)
        start = self.now
        self.advance(length, step.cycle)
        self.begun |= dict.fromkeys((step.player, *who), start)
        self.repeat(line, step.cycle, (start, start + length), who)

    def trade(self, step: Trade) -> None:
        """Cycles handed round."""
        self.make_room({}, step.cycle)
        for share in step.shares:
            each = share * step.cycle.beats
            if share.denominator == 1:
                for player in step.players:
                    self.begun[player] = self.now
                    self.advance(each, step.cycle)
            else:
                self.begun |= dict.fromkeys(step.players, self.now)
                self.advance(each * len(step.players), step.cycle)
        if step.halves:
            self.begun |= dict.fromkeys(step.players, self.now)
            self.advance(step.cycle.beats, step.cycle)

    def players(self, step: Step, line: str) -> tuple[str, ...]:
        """The names of who plays a line in a step."""
        return tuple(player.name for player in self.piece.own_players_of(step, line))

    def advance(self, length: Fraction, cycle: Cycle) -> None:
        """Go on by so many beats."""
        if length:
            self.room_from = self.now
            self.last_cycle = cycle
        self.now += length

    def make_room(self, lines: Mapping[str, Line], cycle: Cycle) -> None:
        """Wait whole cycles until every pickup has room, as the players do."""
        pickups = {player: line.standing(cycle).pickup for player, line in lines.items()}
        needed = any(pickups.values())
        if not self.counted_in:
            self.counted_in = True
            if self.piece.counts_in:
                self.advance(cycle.beats, cycle)
        if needed and self.last_cycle is None:
            self.advance(cycle.beats, cycle)
        waits = (self.last_cycle or cycle).beats
        room_from = self.room_from
        while any(
            pickup
            and (
                self.now - pickup < room_from
                or (player in self.begun and self.now - pickup <= self.begun[player])
            )
            for player, pickup in pickups.items()
        ):
            self.advance(waits, self.last_cycle or cycle)

    def repeat(
        self, line: Line, cycle: Cycle, span: tuple[Fraction, Fraction], who: Iterable[str]
    ) -> None:
        """Place a line again and again over a span of beats: the first two rounds and the last
        two, which are all that differ."""
        standing = line.standing(cycle)
        advance = line.round_in(cycle)
        start, end = span
        rounds = -((start - end) // advance)
        for number in {0, 1, rounds - 2, rounds - 1} & set(range(rounds)):
            at = start + number * advance + standing.offset
            self.place(line, cycle, at, who, end + standing.eduppu)

    def place(
        self,
        line: Line,
        cycle: Cycle | None,
        start: Fraction,
        who: Iterable[str],
        until: Fraction | None = None,
    ) -> None:
        """Note that players begin a line, in a cycle or without one."""
        lands = cycle is not None and line.standing(cycle).shape == "lands"
        for player in who:
            self.entries.setdefault(player, []).append(_Entry(line, start, lands, until))
