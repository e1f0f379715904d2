"""What the leader says over one step: words, octaves, the band's hits, a fermata."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding, Findings
from cyclechart.piece.line import Line
from cyclechart.piece.player import Player
from cyclechart.piece.shape import StepShape
from cyclechart.piece.steps import Directions, Hits, Hold, Play, Solo, Step
from cyclechart.piece.yes_or_no import yes_or_no
from cyclechart.text import reading_rules
from cyclechart.text.nodes import Mapping as MappingNode
from cyclechart.text.nodes import Node, Scalar, Sequence
from cyclechart.theory.exact import parse_exact, show_exact

LONGEST_NOTE = 80
"""Letters of a note on a step: it stands over one line of a chart."""
MOST_OCTAVES = 3
ACCENTS = "accents"
FERMATA = Fraction(5)
"""The usual length of a hold in seconds (our choice)."""
LONGEST_FERMATA = 60


def directions_from(
    shape: StepShape,
    node: MappingNode,
    step: Step,
    lines: Mapping[str, Line | None],
    band: Mapping[str, Player],
) -> tuple[Directions, list[Finding]]:
    """Return the directions of a step, and what is wrong with them."""
    reader = _Directions(step, lines, band)
    return Directions(
        notes=reader.notes(node.get("note")),
        octaves=reader.octaves(node.get("octave")),
        hits=reader.hits(node.get("hits")),
        fermata=reader.fermata(node.get("fermata")),
    ), reader.findings


def hold_after(step: Step) -> tuple[Hold, ...]:
    """Return the hold after a step with a fermata, in what is in force at its end; () for none."""
    seconds = step.directions.fermata
    if seconds is None:
        return ()
    state = step.state
    state = replace(state, tempo=state.to_tempo or state.tempo, to_tempo=None, break_before="")
    return (Hold(spot=step.spot, times=1, state=state, seconds=seconds),)


class _Directions:
    """Reads the directions of one step and collects the findings."""

    def __init__(
        self, step: Step, lines: Mapping[str, Line | None], band: Mapping[str, Player]
    ) -> None:
        self.step, self.lines, self.band = step, lines, band
        self.findings = Findings()

    def wrong(self, node: Node, what: str, *tries: str) -> None:
        self.findings.append(reading_rules.wrong_value(node.spot, what, list(tries)))

    def is_player(self, node: Node, name: str) -> bool:
        """Return whether there is a player of a name; with a finding where there is none."""
        if name not in self.band:
            self.findings.append(reading_rules.unknown_name(node.spot, "player", name, self.band))
        return name in self.band

    def notes(self, node: Node | None) -> tuple[tuple[str, str], ...]:
        """``note: brushes`` for all, ``note: {trumpet: harmon mute}`` for one."""
        if node is None:
            return ()
        if isinstance(node, MappingNode):
            pairs = [
                (name, value)
                for name, (key, value) in node.pairs.items()
                if self.is_player(key, name)
            ]
        else:
            pairs = [("", node)]
        read = [(name, self.note(value)) for name, value in pairs]
        return tuple((name, text) for name, text in read if text)

    def note(self, node: Node) -> str:
        text = " ".join(node.text.split()) if isinstance(node, Scalar) else ""
        if not text:
            self.wrong(node, "a note needs words for all, or words for each player",
                       "note: brushes", "note: {trumpet: harmon mute}")  # fmt: skip
        elif len(text) > LONGEST_NOTE:
            what = f"a note has at most {LONGEST_NOTE} letters, not {len(text)}"
            self.findings.append(reading_rules.too_long(node.spot, what))
            return ""
        return text

    def octaves(self, node: Node | None) -> tuple[tuple[str, int], ...]:
        """``octave: {alto-sax: 1}``."""
        if node is None:
            return ()
        if not isinstance(node, MappingNode):
            self.wrong(node, "'octave' on a step says who plays how many octaves higher",
                       "octave: {alto-sax: 1}", "octave: {alto-sax: -1}")  # fmt: skip
            return ()
        found = []
        for name, (key, value) in node.pairs.items():
            octave = self.octave(value)
            if self.is_player(key, name) and octave:
                found.append((name, octave))
        return tuple(found)

    def octave(self, node: Node) -> int:
        text = node.text.strip() if isinstance(node, Scalar) else ""
        digits = text.lstrip("+-")
        signs = len(text) - len(digits)
        if signs <= 1 and digits.isascii() and digits.isdigit() and int(digits[:3]) <= MOST_OCTAVES:
            return -int(digits) if text.startswith("-") else int(digits)
        what = f"an octave must be a whole number from -{MOST_OCTAVES} to {MOST_OCTAVES}"
        self.wrong(node, what, "octave: {alto-sax: 1}")
        return 0

    def hits(self, node: Node | None) -> Hits | None:
        """``hits: stabs``, ``hits: accents``, ``hits: {line: stabs, by: [bass], stop: true}``."""
        if node is None:
            return None
        by: tuple[str, ...] = ()
        stops = False
        which: Node | None = node
        if isinstance(node, MappingNode):
            for key in node.pairs:
                if key not in ("line", "by", "stop"):
                    at = node.key(key).spot
                    self.findings.append(
                        reading_rules.unknown_key(at, key, ("line", "by", "stop"), "hits")
                    )
            which = node.get("line")
            by = tuple(self.hitters(node.get("by")))
            stop = node.get("stop")
            stops = stop is not None and self.says_yes(stop)
        name = which.text.strip() if isinstance(which, Scalar) else ""
        if not name:
            self.wrong(which or node, "'hits' needs the line whose rhythm is struck, or accents",
                       "hits: accents", "hits: {line: stabs, by: [drum-kit]}")  # fmt: skip
            return None
        if name == ACCENTS and ACCENTS not in self.lines:
            return self.accents(node, by, stops)
        if name not in self.lines:
            assert which is not None
            names = [*self.lines, ACCENTS]
            self.findings.append(reading_rules.unknown_line(which.spot, name, names))
            return None
        line = self.lines[name]
        return Hits(name, by, stops, node.spot) if line is not None else None

    def accents(self, node: Node, by: tuple[str, ...], stops: bool) -> Hits | None:
        """The accented notes of the step's own lines; a finding where there are none."""
        lines = [self.lines.get(name) for name in self.step.uses]
        if not isinstance(self.step, Play | Solo) or not any(
            "accent" in note.marks for line in lines if line is not None for note in line.notes
        ):
            what = "the lines of this step have no accents to hit"
            rhythms = [f"hits: {name}" for name in self.step.uses[:1]]
            self.wrong(node, what, "write !accent! before a note", *rhythms)
            return None
        return Hits("", by, stops, node.spot)

    def hitters(self, node: Node | None) -> Iterable[str]:
        """Yield the players who hit: those of the rhythm section."""
        if node is None:
            return
        for item in node.items if isinstance(node, Sequence) else (node,):
            name = item.text.strip() if isinstance(item, Scalar) else ""
            if not self.is_player(item, name):
                continue
            role = self.band[name].role
            if role.waits_for_lines or role.is_drone:
                what = f"{name} plays {role.name}: hits are for those who keep the time going"
                self.wrong(item, what, f"give {name} the line itself")
            else:
                yield name

    def says_yes(self, node: Node) -> bool:
        answer = yes_or_no(node.text) if isinstance(node, Scalar) else None
        if answer is None:
            self.wrong(node, "'stop' must be true or false", "stop: true")
        return bool(answer)

    def fermata(self, node: Node | None) -> Fraction | None:
        """``fermata: true``, or the seconds that it lasts."""
        if node is None:
            return None
        text = node.text.strip() if isinstance(node, Scalar) else ""
        answer = None if text == "1" else yes_or_no(text)
        if answer is not None:
            return FERMATA if answer else None
        try:
            seconds = parse_exact(text)
        except ValueError:
            seconds = Fraction(0)
        if 0 < seconds <= LONGEST_FERMATA:
            return seconds
        said = f", not {show_exact(seconds)}" if seconds else ""
        what = f"fermata must be true, or the seconds that it lasts, up to {LONGEST_FERMATA}{said}"
        self.wrong(node, what, "fermata: true", "fermata: 6")
        return None
