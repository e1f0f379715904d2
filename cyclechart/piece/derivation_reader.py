"""The reader of the operations by which a line comes from another."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding, Findings
from cyclechart.piece.derivation import Derivation
from cyclechart.piece.heading import mode_of
from cyclechart.piece.line import Line
from cyclechart.piece.line_modes import LineModes
from cyclechart.piece.shape import LineShape
from cyclechart.piece.yes_or_no import yes_or_no
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.line_tree import MAX_SPEED, SPEEDS
from cyclechart.text.nodes import Mapping
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.degrees import Degrees
from cyclechart.theory.exact import parse_exact, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, tone

OPERATIONS = ("part", "reversed", "turned", "move", "mode", "speed")
"""The keys beside ``from``, in the order in which they are done."""
MOST_STEPS = 21
"""Three octaves of seven tones."""
FINEST_SPEED = 1000

_PART = re.compile(r"(\d{1,6})(?:\s*[-–]\s*(\d{1,6}))?")


class DerivationReader:
    """Reads the operations of one line on its source; ``findings`` has what was wrong in them.

    ``mode`` is the mode of the source, ``cycle`` the cycle that its parts are counted in.
    """

    def __init__(
        self,
        shape: LineShape,
        node: Mapping,
        source: Line,
        mode: Mode,
        cycle: Cycle | None,
        modes: LineModes,
    ) -> None:
        self.shape, self.node, self.source = shape, node, source
        self.source_mode, self.cycle, self.modes = mode, cycle, modes
        self.findings = Findings()

    def read(self) -> Derivation:
        """Return the operations; one that cannot be read or done is left out, with a finding."""
        derivation = Derivation(
            source=self.source.name,
            part=self.part(),
            reversed=self.reversed(),
            turned=self.turned(),
            move=self.move(),
            mode=self.mode(),
            speed=self.speed(),
            beside=frozenset(self.node.pairs),
        )
        for key in ("turned", "move", "mode"):
            if key in self.node.pairs and self.source.kind not in ("melody", "chords"):
                what = f"'{key}' needs tones, and '{clip(self.source.name)}' is a line of "
                what += self.source.kind
                self.findings.append(
                    reading_rules.wrong_value(self.node.key(key).spot, what, [f"leave '{key}' out"])
                )
                derivation = replace(derivation, turned=None, move=0, mode=None)
        return derivation

    def wrong(self, key: str, what: str, *tries: str) -> None:
        self.findings.append(reading_rules.wrong_value(self.node.pairs[key][1].spot, what, tries))

    def part(self) -> tuple[int, int] | None:
        """Return the first and the last cycle of the part that is taken."""
        text = self.shape.part
        if text is None:
            return None
        match = _PART.fullmatch(text.strip())
        if match is None:
            self.wrong("part", f"'{clip(text)}' is not a part of a line", "part: 2", "part: 3-4")
            return None
        first, last = int(match[1]), int(match[2] or match[1])
        name = clip(self.source.name)
        if self.source.free or self.cycle is None:
            what = f"'{name}' is free of the cycle: it has no cycles to take a part of"
            self.wrong("part", what, "leave 'part' out")
            return None
        offset = body_offset(self.source, self.cycle)
        count = -((offset - self.source.length) // self.cycle.beats)
        least = 0 if offset else 1
        if not least <= first <= last <= count:
            held = f"cycles 1 to {count}" if count > 1 else "one cycle" if count else "no cycle"
            pickup = " and a pickup, 0" if offset else ""
            tries = [f"part: {count}" if count < 2 else f"part: 1-{count}"] if count else []
            self.wrong("part", f"'{name}' has {held}{pickup}, not {clip(text)}", *tries)
            return None
        return first, last

    def reversed(self) -> bool:
        text = self.shape.reversed_
        answer = False if text is None else yes_or_no(text)
        if text is not None and answer is None:
            what = f"reversed must be true or false, not '{clip(text)}'"
            self.wrong("reversed", what, "reversed: true")
        return bool(answer)

    def turned(self) -> int | None:
        """Return the pitch that the line is mirrored about."""
        text = self.shape.turned
        if text is None:
            return None
        written = text.strip()
        pitch = SARGAM_SCRIPT.read(written) if SARGAM_SCRIPT.tone.fullmatch(written) else None
        if not isinstance(pitch, int):
            what = f"'{clip(text)}' is not a tone to turn a line about"
            self.wrong("turned", what, "turned: S", "turned: P")
            return None
        degrees = Degrees(self.source_mode)
        if not degrees.has(pitch):
            tones = " ".join(SARGAM[one] for one in range(12) if degrees.has(one))
            what = (
                f"a line is turned about a tone of its mode; {self.source_mode.name} has no "
                f"{tone(pitch)} ({tones})"
            )
            self.wrong("turned", what, "turned: S")
            return None
        return pitch

    def move(self) -> int:
        steps = self.shape.move
        if steps is None:
            return 0
        if steps.denominator == 1 and abs(steps) <= MOST_STEPS:
            return int(steps)
        what = (
            f"a line is moved by whole steps of its mode, {MOST_STEPS} at most, not by "
            f"{show_exact(steps)}"
        )
        self.wrong("move", what, "move: -2")
        return 0

    def mode(self) -> Mode | None:
        below = self.node.get("mode")
        return None if below is None else self.findings.take(mode_of(below, self.modes.library))

    def speed(self) -> Fraction:
        text = self.shape.speed
        if text is None:
            return Fraction(1)
        word = text.strip().lower()
        if word in SPEEDS:
            return SPEEDS[word]
        tries = ("speed: 2", "speed: 3/2", "speed: dugun")
        try:
            speed = parse_exact(text)
        except ValueError:
            what = f"'{clip(text)}' is not a speed: a number, or one of {', '.join(SPEEDS)}"
            self.wrong("speed", what, *tries)
            return Fraction(1)
        finest = max(speed.denominator, abs(speed.numerator))
        if not Fraction(1, MAX_SPEED) <= speed <= MAX_SPEED or finest > FINEST_SPEED:
            what = f"a speed must be 1/{MAX_SPEED} to {MAX_SPEED}, not {show_exact(speed)}"
            self.wrong("speed", what, *tries)
            return Fraction(1)
        return speed


def body_offset(line: Line, cycle: Cycle) -> Fraction:
    """Return the beats from a line's beginning to its first first beat, where it comes home."""
    return (1 + line.eduppu - line.begins) % cycle.beats


def without_source(node: Mapping) -> list[Finding]:
    """Return the findings on operations of a line that comes from no other."""
    return [
        reading_rules.wrong_value(
            node.key(key).spot, f"'{key}' is done to another line: say which", ["from: head"]
        )
        for key in OPERATIONS
        if key in node.pairs
    ]
