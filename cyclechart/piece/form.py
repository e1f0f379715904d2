"""The form, step by step: what it names must be there."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding, Findings
from cyclechart.piece.key_words import STEP_WORDS
from cyclechart.piece.line import Line
from cyclechart.piece.player import Player
from cyclechart.piece.player_of_line import cannot_play
from cyclechart.piece.shape import VERBS, StepShape
from cyclechart.piece.step_directions import directions_from, hold_after
from cyclechart.piece.step_state import MAX_STEPS, step_nodes
from cyclechart.piece.steps import Free, Groove, Play, Solo, Step, StepState, Trade, Under
from cyclechart.piece.under import beneath
from cyclechart.piece.yes_or_no import said_yes
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.key_words import meant_keys
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.theory.exact import show_cycles, show_exact

MAX_TIMES = 200
MAX_CYCLES = 1000
MAX_SECONDS = 3600
MAX_TRADERS = 32

_ALWAYS = {
    "times", "cycle", "mode", "tonic", "tempo", "dynamics", "break", "note", "swing", "under",
}  # fmt: skip
_METERED = {"hits", "fermata", "octave"}
_TAKES = {
    "play": {"by", *_METERED},
    "free": {"seconds", "by", "octave"},
    "solo": {"cycles", "over", "on-cue", "by", *_METERED},
    "trade": {"cycles", "halves", "over", "by", *_METERED},
    "groove": {"over", "by", *_METERED},
}


def form_from(
    shapes: list[StepShape],
    node: Node | None,
    lines: dict[str, Line | None],
    states: list[StepState],
    players: tuple[Player, ...],
    playable: Collection[Under] = (),
) -> tuple[tuple[Step, ...], list[Finding]]:
    """The steps that can be made, and what is wrong with the others.

    ``states``: what is in force at each step, from ``step_state.states_through``; ``playable``:
    what can be played of what they have beneath them.
    """
    findings = Findings()
    steps: list[Step] = []
    if isinstance(node, Sequence) and len(node.items) > MAX_STEPS:
        what = f"a form has at most {MAX_STEPS} steps, not {len(node.items)}"
        findings.append(reading_rules.too_long(node.spot, what))
    band = {player.name: player for player in players}
    for shape, item, state in zip(shapes, step_nodes(node), states, strict=False):
        if isinstance(item, Mapping):
            reader = _StepReader(shape, item, lines, state, band)
            step = reader.step()
            if step is not None:
                directions = reader.findings.take(directions_from(shape, item, step, lines, band))
                here = {one.player: one for one in beneath(step, playable)}
                if isinstance(step, Trade | Groove):
                    here |= {one.player: one for one in reader.over()}
                steps.append(replace(step, under=tuple(here.values()), directions=directions))
                steps += hold_after(steps[-1])
            findings += reader.findings
    return tuple(steps), findings


class _StepReader:
    """Reads one step and collects its findings."""

    def __init__(
        self,
        shape: StepShape,
        node: Mapping,
        lines: dict[str, Line | None],
        state: StepState,
        band: dict[str, Player],
    ) -> None:
        self.shape, self.node, self.lines = shape, node, lines
        self.state, self.band = state, band
        self.findings = Findings()
        self.meant = meant_keys(node, STEP_WORDS, StepShape.keys)

    def step(self) -> Step | None:
        """Return the step, or None where it has no music."""
        verbs = [verb for verb in VERBS if verb in self.node.pairs]
        if not verbs and self.meant & set(VERBS):
            return None  # the key that stands for a verb is reported
        if len(verbs) != 1:
            what = "a step needs exactly one verb" + (
                f", not {' and '.join(verbs)}" if verbs else ""
            )
            self.wrong(self.node, what, f"one of: {', '.join(VERBS)}")
            return None
        verb = verbs[0]
        takes = _ALWAYS | _TAKES[verb]
        for key in self.node.pairs:
            if key != verb and key not in takes and key in StepShape.keys:
                what = f"'{key}' does not go with '{verb}'"
                hint = f"with '{verb}': {', '.join(sorted(takes))}"
                self.findings.append(
                    reading_rules.wrong_value(self.node.key(key).spot, what, [hint])
                )
        read: dict[str, Callable[[Node], Step | None]] = {
            "play": self.play,
            "free": self.free,
            "solo": self.solo,
            "trade": self.trade,
            "groove": self.groove,
        }
        return read[verb](self.node.pairs[verb][1])

    def wrong(self, node: Node, what: str, *tries: str) -> None:
        self.findings.append(reading_rules.wrong_value(node.spot, what, list(tries)))

    # The verbs

    def play(self, value: Node) -> Step | None:
        """``play: head``, or ``play: {flute: head, alto-sax: answer}``."""
        if isinstance(value, Mapping):
            parts = self.each_plays(value)
        elif isinstance(value, Scalar) and self.known_line(value):
            name = value.text.strip()
            parts = [(name, self.by(self.lines[name]))]
        else:
            if not isinstance(value, Scalar):
                self.wrong(value, "'play' needs a line, or a line for each player", "play: head")
            return None
        if not parts:
            return None
        return Play(spot=value.spot, times=self.times(), state=self.state, parts=tuple(parts))

    def each_plays(self, value: Mapping) -> list[tuple[str, tuple[str, ...]]]:
        """Return each line with its players."""
        said: dict[str, list[str]] = {}
        if not value.pairs:
            self.wrong(value, "this step plays nothing", "play: head", "groove: 2")
        if "by" in self.node.pairs:
            spot = self.node.key("by").spot
            what = "this step already says who plays what, so 'by' has no use"
            self.findings.append(reading_rules.wrong_value(spot, what))
        for name, (key, below) in value.pairs.items():
            player = self.known_player(key, name)
            if not isinstance(below, Scalar):
                self.wrong(below, f"{clip(name)} needs one line to play", f"{name}: head")
                continue
            if not self.known_line(below) or player is None:
                continue
            line = self.lines[below.text.strip()]
            if line is not None and self.can_play(player, line, below, "{}: " + line.name):
                said.setdefault(line.name, []).append(player.name)
        free = [name for name in said if (line := self.lines[name]) is not None and line.free]
        if free and len(said) > 1:
            what = (
                f"'{free[0]}' is free of the cycle: it cannot be played together with another line"
            )
            self.wrong(value, what, f"free: {free[0]}")
            return []
        return [(line, tuple(players)) for line, players in said.items()]

    def free(self, value: Node) -> Step | None:
        """``free: opening`` (a line) or ``free: alto-sax`` (a player)."""
        if not isinstance(value, Scalar):
            return None
        name = value.text.strip()
        seconds = self.seconds()
        if name in self.band and name not in self.lines:
            if seconds is None:
                self.findings.append(
                    reading_rules.missing_key(
                        self.node.spot, "seconds", "a free opening", "seconds: 40"
                    )
                )
                return None
            return self.free_step(value, False, seconds, ())
        if not self.known_line(value):
            return None
        line = self.lines[name]
        if line is not None and line.kind != "melody":
            what = f"a line of {line.kind} keeps time: only a melody can be played free of meter"
            self.wrong(value, what, "leave 'lands: free' out" if line.free else f"play: {name}")
            return None
        return self.free_step(value, True, seconds, self.by(line))

    def seconds(self) -> Fraction | None:
        seconds = self.shape.seconds
        if seconds is None or 0 < seconds <= MAX_SECONDS:
            return seconds
        what = f"a free passage can last up to {MAX_SECONDS} seconds, not {show_exact(seconds)}"
        self.wrong(self.node.pairs["seconds"][1], what)
        return None

    def free_step(
        self, value: Scalar, is_line: bool, seconds: Fraction | None, by: tuple[str, ...]
    ) -> Free:
        return Free(
            spot=value.spot,
            times=self.times(),
            state=self.state,
            what=value.text.strip(),
            is_line=is_line,
            seconds=seconds,
            by=by,
        )

    def solo(self, value: Node) -> Step | None:
        if not isinstance(value, Scalar):
            return None
        soloist = self.known_player(value, value.text.strip())
        if soloist is None or not self.can_solo(soloist, value):
            return None
        if self.shape.cycles is None and "cycles" not in self.meant:
            self.findings.append(
                reading_rules.missing_key(self.node.spot, "cycles", "a solo", "cycles: 8")
            )
        over = self.node.get("over")
        line = None
        if isinstance(over, Scalar) and self.known_line(over):
            line = self.lines[over.text.strip()]
        by = self.by(line) if line is not None else ()
        if line is not None and isinstance(over, Scalar):
            line = self.under_solo(soloist, line, by, over)
        return Solo(
            spot=value.spot,
            times=self.times(),
            state=self.state,
            player=soloist.name,
            cycles=self.count("cycles", 1, MAX_CYCLES),
            over=line.name if line is not None else None,
            on_cue=self.yes("on-cue"),
            by=by,
        )

    def under_solo(
        self, soloist: Player, line: Line, by: tuple[str, ...], over: Scalar
    ) -> Line | None:
        """The line that keeps time under a solo; None, with a finding, where none of it can."""
        others = [
            f"over: {name}"
            for name, other in self.lines.items()
            if other is not None and not other.free and self.left_for(soloist, other, ())
        ][:2]
        if line.free:
            what = f"'{line.name}' is free of the cycle (lands: free): it cannot keep time"
            self.wrong(over, what, *others)
        elif self.left_for(soloist, line, by):
            return line
        elif soloist.takes(line.kind) or soloist.name in by:
            what = (
                f"{soloist.name} takes the solo, and cannot also play '{line.name}', "
                "which keeps time"
            )
            self.findings.append(
                reading_rules.overlap(over.spot, what, others or ["leave 'over' out"])
            )
        else:
            self.wrong(over, f"nobody is left to play '{line.name}'", "leave 'over' out")
        return None

    def over(self) -> Iterator[Under]:
        """Yield who plays the line that cycles of trading or of a groove are over."""
        over = self.node.get("over")
        if not isinstance(over, Scalar) or not self.known_line(over):
            return
        line = self.lines[over.text.strip()]
        if line is None:
            return
        who = self.by(line) or [one.name for one in self.band.values() if one.takes(line.kind)]
        if not who:
            self.wrong(over, f"nobody is left to play '{line.name}'", "leave 'over' out")
        for name in who:
            yield Under(name, (line.name,), over.spot)

    def left_for(self, soloist: Player, line: Line, by: tuple[str, ...]) -> list[str]:
        """Return the players left for a line while somebody takes a solo."""
        return [
            player.name
            for player in self.band.values()
            if player.name != soloist.name
            and (player.name in by if by else player.takes(line.kind))
        ]

    def trade(self, value: Node) -> Step | None:
        """``trade: [alto-sax, tabla]``, ``cycles: 2`` to each turn, ``times: 4``."""
        before = len(self.findings)
        named = list(self.players_in(value, "trade: [alto-sax, tabla]", several_times=True))
        able = {name for name in dict.fromkeys(named) if self.can_solo(self.band[name], value)}
        players = [name for name in named if name in able]
        if len(set(players)) < 2:
            if len(self.findings) == before:
                what = "trading needs two players or more"
                self.wrong(value, what, "trade: [alto-sax, tabla]")
            return None
        trade = Trade(
            spot=value.spot,
            times=self.times(),
            state=self.state,
            players=tuple(players),
            cycles=self.count("cycles", 1, MAX_CYCLES),
            halves=self.yes("halves"),
        )
        if trade.halves and len(trade.shares) < 2:
            what = (
                f"{show_cycles(trade.cycles)} each cannot be halved here: a half must be whole "
                "beats, and a round of it whole cycles"
            )
            node = self.node.get("cycles") or self.node.pairs["halves"][1]
            self.wrong(node, what, f"cycles: {trade.cycles * 2}")
        return trade

    def can_solo(self, player: Player, node: Node) -> bool:
        if not player.role.no_solo:
            return True
        others = [f"solo: {one.name}" for one in self.band.values() if not one.role.no_solo]
        self.wrong(node, f"{player.name} {player.role.no_solo}", *others[:2])
        return False

    def groove(self, value: Node) -> Step | None:
        """``groove: 2``: so many cycles."""
        text = value.text.strip() if isinstance(value, Scalar) else ""
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MAX_CYCLES):
            what = f"a groove needs a number of cycles, from 1 to {MAX_CYCLES}"
            self.wrong(value, what, "groove: 2")
            return None
        return Groove(spot=value.spot, times=self.times(), state=self.state, cycles=int(text))

    # Who

    def by(self, line: Line | None) -> tuple[str, ...]:
        """The players that ``by`` names, all of whom can play the line; () without it."""
        value = self.node.get("by")
        if value is None or line is None:
            return ()
        found = []
        for name in self.players_in(value, "by: [flute]"):
            if self.can_play(self.band[name], line, value):
                found.append(name)
        return tuple(found)

    def players_in(
        self, value: Node, example: str, *, several_times: bool = False
    ) -> Iterator[str]:
        """The players of a list, each once, or as often as they are named."""
        items = value.items if isinstance(value, Sequence) else (value,)
        if isinstance(value, Mapping) or not 0 < len(items) <= MAX_TRADERS:
            self.wrong(value, "this must be a list of players", example)
            return
        seen: set[str] = set()
        for item in items:
            if not isinstance(item, Scalar):
                self.wrong(item, "this must be a player's name", example)
                continue
            player = self.known_player(item, item.text.strip())
            if player is not None and (several_times or player.name not in seen):
                seen.add(player.name)
                yield player.name

    def known_player(self, node: Node, name: str) -> Player | None:
        if name not in self.band:
            self.findings.append(reading_rules.unknown_name(node.spot, "player", name, self.band))
        return self.band.get(name)

    def can_play(self, player: Player, line: Line, node: Node, example: str = "by: [{}]") -> bool:
        fault = cannot_play(player, line, self.band.values(), node.spot, example)
        self.findings += [fault] if fault is not None else []
        return fault is None

    def known_line(self, value: Scalar) -> bool:
        name = value.text.strip()
        if name in self.lines:
            return self.lines[name] is not None
        self.findings.append(reading_rules.unknown_line(value.spot, name, self.lines))
        return False

    # How often

    def times(self) -> int:
        return self.count("times", 1, MAX_TIMES)

    def count(self, key: str, plain: int, most: int) -> int:
        value: Fraction | None = getattr(self.shape, key)
        if value is None:
            return plain
        if value.denominator != 1 or not 1 <= value <= most:
            what = f"{key} must be a whole number from 1 to {most}, not {show_exact(value)}"
            self.wrong(self.node.pairs[key][1], what)
            return plain
        return int(value)

    def yes(self, key: str) -> bool:
        """Return whether a key says yes; without it, no."""
        text: str | None = getattr(self.shape, key.replace("-", "_"))
        if text is None:
            return False
        return self.findings.take(said_yes(text, key, self.node.pairs[key][1]))
