"""Unrolls the form of a piece: turns its steps into a timeline."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil

from cyclechart.arrange.lines_beneath import with_lines_beneath
from cyclechart.arrange.timeline import FERMATA, Kind, PlacedLine, Stretch, Timeline
from cyclechart.arrange.written_hits import hits_and_stops
from cyclechart.piece.heading import SLOWEST
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Free, Groove, Hold, Play, Solo, Step, StepState, Trade
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_cycles

FREE_TEMPO = Fraction(60)
"""Beats a minute of a free stretch without a line, which is counted in seconds: a beat each."""


def unroll(piece: Piece) -> Timeline:
    """Return the timeline of a piece."""
    return _Unroller(piece).run()


class _Unroller:
    def __init__(self, piece: Piece) -> None:
        self.piece = piece
        self.state = piece.state
        self.now = Fraction(0)
        self.end = Fraction(0)
        self.closing: Fraction | None = None
        self.counted_in = not piece.counts_in
        self.stretches: list[Stretch] = []
        self.placed_lines: list[PlacedLine] = []
        self.body_starts: dict[str, Fraction] = {}
        """The first beat of the body of each player's current line."""
        self.room_from = Fraction(0)
        """The earliest beat a pickup may begin on: the start of the step before, or of the meter
        after a free passage."""
        self.longest_pickup = Fraction(0)
        self.holds: list[Fraction] = []
        """Where fermatas begin."""
        self.octaves: tuple[tuple[str, int], ...] = ()
        self.before = piece.state
        """The state of the step before."""

    @property
    def cycle(self) -> Cycle:
        return self.state.cycle

    def run(self) -> Timeline:
        steps = self.piece.steps
        last = len(steps) - (len(steps) > 1 and isinstance(steps[-1], Hold))
        for number, step in enumerate(steps, start=1):
            self.before, self.state = self.state, step.state
            self.octaves = step.directions.octaves
            first_of_step = len(self.stretches)
            for turn in range(1, step.times + 1):
                first_of_turn = len(self.stretches)
                self.step(step, final=number == last and turn == step.times)
                self.stretches[first_of_turn:] = [
                    replace(stretch, step=number - 1, turn=turn) if stretch.step < 0 else stretch
                    for stretch in self.stretches[first_of_turn:]
                ]
            self.change_gradually(first_of_step)
        end = max(self.now, self.end)
        self.extend_to(end)
        placed = with_lines_beneath(self.piece, self.stretches, self.placed_lines)
        hits, stops = hits_and_stops(self.piece, self.stretches, self.placed_lines)
        return Timeline(
            tuple(self.stretches), tuple(placed), end, self.closing,
            tuple(self.holds), hits, stops,
        )  # fmt: skip

    def step(self, step: Step, *, final: bool) -> None:
        if isinstance(step, Play):
            self.play(step, final)
        elif isinstance(step, Free):
            self.free(step)
        elif isinstance(step, Hold):
            self.hold(step)
        elif isinstance(step, Solo):
            self.solo(step)
        elif isinstance(step, Trade):
            self.trade(step)
        elif isinstance(step, Groove):
            self.make_room({})
            self.leave_open(step.cycles, step.label or f"groove, {show_cycles(step.cycles)}")

    def trade(self, step: Trade) -> None:
        """Hand cycles round; shares of parts of a cycle stand in one stretch of whole ones."""
        self.make_room({})
        every = " / ".join(step.players)
        for share in step.shares:
            cycles = show_cycles(share)
            if share.denominator == 1:
                for player in step.players:
                    self.leave_open(int(share), f"trade {player}, {cycles}", player)
            else:
                label = f"trade {every}, {cycles} each"
                self.share(int(share * len(step.players)), label, step.players, split=True)
        if step.halves:
            together = tuple(dict.fromkeys(step.players))
            self.share(1, f"{' / '.join(together)} together", together, split=False)

    def share(self, cycles: int, label: str, players: tuple[str, ...], *, split: bool) -> None:
        """Leave cycles open to several players, one after the other or all together."""
        first = len(self.stretches)
        self.leave_open(cycles, label)
        self.stretches[first:] = [
            replace(
                stretch,
                sharing=players,
                split=split,
                clapped=any(player in self.piece.timekeepers for player in players),
            )
            for stretch in self.stretches[first:]
        ]
        for player in players:
            self.body_starts[player] = self.stretches[first].start

    def add(
        self,
        kind: Kind,
        length: Fraction,
        label: str,
        soloist: str = "",
        *,
        clapped: bool = False,
        state: StepState | None = None,
    ) -> None:
        end = self.now + length
        here = state or self.state
        self.stretches.append(_stretch(kind, self.now, end, here, label, soloist, clapped=clapped))
        if length:
            self.room_from = self.now
        self.now += length
        self.end = max(self.end, self.now)

    def change_gradually(self, first: int) -> None:
        """Spread a step's change of tempo over its metered stretches."""
        to = self.state.to_tempo
        while first < len(self.stretches) and self.stretches[first].kind != "metered":
            first += 1
        own_stretches = self.stretches[first:]
        if to is None:
            return
        if not own_stretches or own_stretches[-1].end == own_stretches[0].start:
            self.change_over_pickup(to)
            return
        begin, tempo = own_stretches[0].start, self.state.tempo
        slope = (to - tempo) / (own_stretches[-1].end - begin)
        self.stretches[first:] = [
            replace(
                stretch,
                tempo=tempo + (stretch.start - begin) * slope,
                to_tempo=tempo + (stretch.end - begin) * slope,
            )
            for stretch in own_stretches
        ]
        self.state = replace(self.state, tempo=to, to_tempo=None)

    def change_over_pickup(self, to: Fraction) -> None:
        """Change the tempo over the end of the step before, for a step that is only a pickup."""
        begin = self.now - self.longest_pickup
        for number in range(len(self.stretches) - 1, -1, -1):
            stretch = self.stretches[number]
            if stretch.start == stretch.end:
                continue
            if stretch.end == self.now and stretch.to_tempo is None and stretch.kind != "free":
                since = max(begin, stretch.start)
                if since < stretch.end:
                    self.stretches[number] = replace(stretch, to_tempo=to, since=since)
            break
        self.state = replace(self.state, tempo=to, to_tempo=None)
        self.stretches = [
            replace(stretch, tempo=to) if stretch.start == stretch.end == self.now else stretch
            for stretch in self.stretches
        ]

    def make_room(self, lines: dict[str, Line]) -> None:
        """Add a count-in before the first metered step, and cycles until every pickup has room.

        A pickup sounds in the cycle of the step before; the step's own cycle begins with the body
        of its lines. ``lines``: the line of each player.
        """
        pickups = {player: line.standing(self.cycle).pickup for player, line in lines.items()}
        longest = self.longest_pickup = max(pickups.values(), default=Fraction(0))
        if not self.counted_in:
            self.counted_in = True
            self.add("count-in", self.cycle.beats, "count-in", clapped=True)
        elif longest and (not self.stretches or self.stretches[-1].kind == "free"):
            self.add("lead-in", self.cycle.beats, "drone")
        room_from = self.room_from
        while longest and self.lacks_room(pickups, room_from):
            last = self.stretches[-1]
            previous = self.before if last.cycle == self.before.cycle else self.state
            waiting = replace(previous, cycle=last.cycle, to_tempo=None)
            self.add("metered", last.cycle.beats, "", state=waiting)
            self.stretches[-1] = replace(self.stretches[-1], step=last.step, turn=last.turn)

    def lacks_room(self, pickups: dict[str, Fraction], room_from: Fraction) -> bool:
        """Return True for a pickup that would begin before the step before it, or would cut off
        everything its player has just begun."""
        for player, pickup in pickups.items():
            begins = self.now - pickup
            begun = self.body_starts.get(player)
            if pickup and (begins < room_from or (begun is not None and begins <= begun)):
                return True
        return False

    def play(self, step: Play, final: bool) -> None:
        """Place the lines of a step; in the final one they close on their landing and last to their
        written end."""
        lines = {name: self.piece.line_in(name, step.cycle) for name in step.uses}
        only = next(iter(lines.values())) if len(lines) == 1 else None
        who = {name: self.own_players(step, name) for name in lines}
        if only is not None and only.free:
            self.free_line(only, None, who[only.name])
            return
        # A line that nobody plays still takes its time.
        of_player = {player: lines[name] for name in lines for player in (*who[name], f"({name})")}
        self.make_room(of_player)
        start = self.now
        self.body_starts |= dict.fromkeys(of_player, start)
        ends = []
        closings = []
        for name, line in lines.items():
            standing = line.standing(self.cycle)
            closes = standing.shape == "lands" and standing.end - standing.last < self.cycle.beats
            home = standing.last - standing.eduppu
            ends.append((home if closes and final else standing.hands_over) - standing.first)
            at = start + standing.offset
            self.placed_lines.append(
                PlacedLine(
                    line,
                    at,
                    self.state,
                    players=who[name],
                    free_from=start + ends[-1],
                    octaves=self.octaves,
                )
            )
            closings.append((closes, standing.eduppu))
        longest = max(ends)
        self.add("metered", longest, " + ".join(lines))
        for (name, line), end in zip(lines.items(), ends, strict=True):
            offset = line.standing(self.cycle).offset
            if line.standing(self.cycle).shape == "loops" and end < longest:
                self.repeat_line(line, start + end, start + longest, who[name])
            self.end = max(self.end, start + offset + lines[name].length)
        last = [closing for closing, end in zip(closings, ends, strict=True) if end == longest]
        closed = final and all(closes for closes, _ in last)
        self.closing = self.now + max(eduppu for _, eduppu in last) if closed else None

    def own_players(self, step: Step, line: str) -> tuple[str, ...]:
        """Return the names of the players of a step's own line."""
        return tuple(player.name for player in self.piece.own_players_of(step, line))

    def free(self, step: Free) -> None:
        if step.is_line:
            line = self.piece.lines[step.what]
            who = self.own_players(step, line.name)
            self.free_line(line, step.seconds, who)
            return
        seconds = step.seconds or Fraction(1)
        beats = Fraction(-(-seconds // 1))
        self.add_free(beats, FREE_TEMPO * beats / seconds, f"free: {step.what}", step.what)

    def free_line(self, line: Line, seconds: Fraction | None, who: tuple[str, ...]) -> None:
        """Place a free line, with a tempo of its own that makes it last so many seconds.

        Where that tempo would be too slow to write, each beat of the line takes several beats.
        """
        tempo = 60 * line.length / seconds if seconds else self.state.tempo
        stretch = max(1, ceil(SLOWEST / tempo))
        beats = line.length * stretch
        self.placed_lines.append(
            PlacedLine(
                line, self.now, self.state, self.now + beats, stretch, who, octaves=self.octaves
            )
        )
        self.add_free(beats, tempo * stretch, line.name, "")

    def hold(self, step: Hold) -> None:
        """Hold what was struck last for so many seconds, over the drone."""
        closing, start = self.closing, self.now
        beats = Fraction(-(-step.seconds // 1))
        self.add_free(beats, FREE_TEMPO * beats / step.seconds, FERMATA, "")
        self.closing = closing
        self.holds.append(start)
        self.placed_lines = [
            replace(placed, held_to=self.now) if placed.rings_at(start) else placed
            for placed in self.placed_lines
        ]

    def add_free(self, beats: Fraction, tempo: Fraction, label: str, soloist: str) -> None:
        end = self.now + beats
        state = replace(self.state, tempo=tempo)
        self.stretches.append(_stretch("free", self.now, end, state, label, soloist))
        self.now = self.room_from = end
        self.end = max(self.end, self.now)
        self.closing = None
        self.body_starts.clear()

    def solo(self, step: Solo) -> None:
        over = self.piece.line_in(step.over, step.cycle) if step.over else None
        who: tuple[str, ...] = ()
        if over is not None:
            who = self.own_players(step, over.name)
        self.make_room(dict.fromkeys((*who, f"({over.name})"), over) if over is not None else {})
        start = self.now
        label = f"solo {step.player}, {show_cycles(step.cycles)}"
        self.leave_open(step.cycles, label, step.player, over)
        if over is not None:
            self.body_starts |= dict.fromkeys(who, start)
            self.repeat_line(over, start, self.now, who)

    def leave_open(
        self, cycles: int, label: str, soloist: str = "", over: Line | None = None
    ) -> None:
        """Add cycles without a line of their own, left to a soloist or to the rhythm section."""
        # A drummer's solo without a line under it has nothing else to mark the cycle.
        clapped = soloist in self.piece.timekeepers and over is None
        start = self.now
        self.add("metered", self.cycle.beats * cycles, label, soloist, clapped=clapped)
        self.closing = None
        if soloist:
            self.body_starts[soloist] = start

    def repeat_line(self, line: Line, start: Fraction, end: Fraction, who: tuple[str, ...]) -> None:
        """Place a line again and again from ``start``, cut off at ``end``."""
        standing = line.standing(self.cycle)
        advance = line.round_in(self.cycle)
        until = end + standing.eduppu  # it comes home so much after the first beat
        while start < end:
            at = start + standing.offset
            free_from = min(start + advance, end)
            self.placed_lines.append(
                PlacedLine(
                    line,
                    at,
                    self.state,
                    until,
                    players=who,
                    free_from=free_from,
                    octaves=self.octaves,
                )
            )
            self.end = max(self.end, min(at + line.length, until))
            start += advance

    def extend_to(self, end: Fraction) -> None:
        """Extend the last step to a beat, where its lines last beyond it."""
        if end > self.now:
            last = self.stretches[-1] if self.stretches else None
            tempo = (last.to_tempo or last.tempo) if last else self.state.tempo
            state = replace(self.state, tempo=tempo)
            rest = _stretch("metered", self.now, end, state, "")
            if last:
                rest = replace(rest, step=last.step, turn=last.turn)
            self.stretches.append(rest)
            self.now = end


def _stretch(
    kind: Kind,
    start: Fraction,
    end: Fraction,
    state: StepState,
    label: str,
    soloist: str = "",
    *,
    clapped: bool = False,
) -> Stretch:
    """Return a stretch with the tempo, cycle, mode, tonic and level of a state."""
    return Stretch(
        kind=kind,
        start=start,
        end=end,
        tempo=state.tempo,
        cycle=state.cycle,
        label=label,
        mode=state.mode,
        tonic=state.tonic,
        soloist=soloist,
        clapped=clapped,
        level=state.level,
        swing=state.swing,
    )
