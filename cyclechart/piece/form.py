"""The form, step by step, and the liberties: what they name must be there."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.changes import MAX_STEPS, steps_of
from cyclechart.piece.model import (
    DRONE,
    HAND_DRUMS,
    MELODY,
    Free,
    Liberty,
    Line,
    Piece,
    Play,
    Solo,
    Step,
)
from cyclechart.piece.shape import VERBS, LibertyShape, StepShape
from cyclechart.text import faults
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.tones import SARGAM, SEMITONE

MAX_TIMES = 200
MAX_SOLO_CYCLES = 1000
MAX_SECONDS = 3600
MAX_FORM_BEATS = 100_000
MAX_FORM_NOTES = 200_000
"""A form longer than this (a night and a day) is a slip or an attack."""

_LATER = {
    "trade": "trading cycles ('trade')",
    "groove": "grooves ('groove')",
    "by": "choosing players ('by')",
    "tempo": "a tempo within the form",
    "mode": "a change of mode within the form",
    "tonic": "a change of tonic within the form",
    "dynamics": "dynamics of a step",
}
_TAKES = {
    "play": {"times", "cycle"},
    "free": {"seconds", "times", "cycle"},
    "solo": {"cycles", "over", "on-cue", "times", "cycle"},
}


def form_from(
    shapes: list[StepShape], node: Node | None, lines: dict[str, Line | None], force: list[Cycle]
) -> tuple[tuple[Step, ...], list[Finding]]:
    """The steps that can be made, and what is wrong with the others.

    ``force``: the cycle of each step, from ``changes.cycles_through``.
    """
    findings: list[Finding] = []
    steps: list[Step] = []
    if isinstance(node, Sequence) and len(node.items) > MAX_STEPS:
        what = f"a form has at most {MAX_STEPS} steps, not {len(node.items)}"
        findings.append(faults.too_long(node.spot, what))
    for shape, item, cycle in zip(shapes, steps_of(node), force, strict=False):
        if isinstance(item, Mapping):
            step = _Step(shape, item, lines, cycle, findings).made()
            if step is not None:
                steps.append(step)
    return tuple(steps), findings


class _Step:
    """One step being read."""

    def __init__(
        self,
        shape: StepShape,
        node: Mapping,
        lines: dict[str, Line | None],
        cycle: Cycle,
        findings: list[Finding],
    ) -> None:
        self.shape, self.node, self.lines, self.findings = shape, node, lines, findings
        self.cycle = cycle

    def made(self) -> Step | None:
        verbs = [verb for verb in VERBS if verb in self.node.pairs]
        if len(verbs) != 1:
            what = "a step has one verb" + (f", not {' and '.join(verbs)}" if verbs else "")
            self.findings.append(
                faults.wrong_value(self.node.spot, what, [f"one of: {', '.join(VERBS)}"])
            )
            return None
        verb = verbs[0]
        later = [key for key in self.node.pairs if key in _LATER]
        for key in later:
            self.findings.append(faults.not_yet(self.node.key(key).spot, _LATER[key]))
        if verb in later:
            return None
        for key in self.node.pairs:
            if key != verb and key not in _TAKES[verb] and key not in _LATER:
                what = f"'{key}' does not go with '{verb}'"
                keys = ", ".join(sorted(_TAKES[verb]))
                self.findings.append(
                    faults.wrong_value(self.node.key(key).spot, what, [f"with '{verb}': {keys}"])
                )
        return {"play": self.play, "free": self.free, "solo": self.solo}[verb]()

    def play(self) -> Step | None:
        value = self.node.pairs["play"][1]
        if not isinstance(value, Scalar):
            self.findings.append(faults.not_yet(value.spot, "several lines at once in one step"))
            return None
        if not self.known_line(value):
            return None
        return Play(spot=value.spot, times=self.times(), cycle=self.cycle, line=value.text.strip())

    def free(self) -> Step | None:
        value = self.node.pairs["free"][1]
        if not isinstance(value, Scalar):
            return None
        name = value.text.strip()
        seconds = self.shape.seconds
        if seconds is not None and not 0 < seconds <= MAX_SECONDS:
            spot = self.node.pairs["seconds"][1].spot
            what = f"a free stretch lasts up to {MAX_SECONDS} seconds, not {show_exact(seconds)}"
            self.findings.append(faults.wrong_value(spot, what))
            seconds = None
        if name in (MELODY, HAND_DRUMS, DRONE) and name not in self.lines:
            if seconds is None:
                self.findings.append(
                    faults.missing_key(self.node.spot, "seconds", "a free opening", "seconds: 40")
                )
                return None
            return self.free_step(value, False, seconds)
        if not self.known_line(value):
            return None
        line = self.lines[name]
        if line is not None and line.kind == "strokes":
            what = "a line of strokes keeps time; only a melody is stretched without meter"
            self.findings.append(faults.wrong_value(value.spot, what, [f"play: {name}"]))
            return None
        return self.free_step(value, True, seconds)

    def free_step(self, value: Scalar, is_line: bool, seconds: Fraction | None) -> Free:
        return Free(
            spot=value.spot,
            times=self.times(),
            cycle=self.cycle,
            what=value.text.strip(),
            is_line=is_line,
            seconds=seconds,
        )

    def solo(self) -> Step | None:
        value = self.node.pairs["solo"][1]
        if not isinstance(value, Scalar):
            return None
        name = value.text.strip()
        if name not in (MELODY, HAND_DRUMS, DRONE):
            self.findings.append(
                faults.unknown_name(value.spot, "player", name, (MELODY, HAND_DRUMS, DRONE))
            )
            return None
        if self.shape.cycles is None:
            self.findings.append(
                faults.missing_key(self.node.spot, "cycles", "a solo", "cycles: 8")
            )
        cycles = self.count("cycles", 1, MAX_SOLO_CYCLES)
        over = self.node.get("over")
        if isinstance(over, Scalar) and not self.known_line(over):
            over = None
        if isinstance(over, Scalar):
            self.refuse_own_line(name, over)
        return Solo(
            spot=value.spot,
            times=self.times(),
            cycle=self.cycle,
            player=name,
            cycles=cycles,
            over=over.text.strip() if isinstance(over, Scalar) else None,
            on_cue=self.on_cue(),
        )

    def can_keep(self, line: Line | None, player: str) -> bool:
        """Whether a line can keep time under a player's solo."""
        if line is None or line.free:
            return False
        return player != (HAND_DRUMS if line.kind == "strokes" else MELODY)

    def refuse_own_line(self, player: str, over: Scalar) -> None:
        """A free line keeps no time, and the soloist cannot also keep the line under the solo."""
        line = self.lines[over.text.strip()]
        if line is None or self.can_keep(line, player):
            return
        if line.free:
            what = f"'{line.name}' is free of the cycle (lands: free): it cannot keep time"
        else:
            what = f"{player} takes the solo, and cannot also play '{line.name}', which keeps time"
        others = [name for name, other in self.lines.items() if self.can_keep(other, player)]
        self.findings.append(
            faults.wrong_value(over.spot, what, [f"over: {name}" for name in others[:2]])
        )

    def known_line(self, value: Scalar) -> bool:
        name = value.text.strip()
        if name in self.lines:
            return self.lines[name] is not None
        self.findings.append(faults.unknown_line(value.spot, name, self.lines))
        return False

    def times(self) -> int:
        return self.count("times", 1, MAX_TIMES)

    def count(self, key: str, plain: int, most: int) -> int:
        value: Fraction | None = getattr(self.shape, key)
        if value is None:
            return plain
        if value.denominator != 1 or not 1 <= value <= most:
            spot = self.node.pairs[key][1].spot
            what = f"{key} is a whole number from 1 to {most}, not {show_exact(value)}"
            self.findings.append(faults.wrong_value(spot, what))
            return plain
        return int(value)

    def on_cue(self) -> bool:
        text = self.shape.on_cue
        if text is None:
            return False
        answer = yes_or_no(text)
        if answer is None:
            spot = self.node.pairs["on-cue"][1].spot
            what = f"on-cue is true or false, not '{faults.clip(text)}'"
            self.findings.append(faults.wrong_value(spot, what))
        return bool(answer)


def refuse_endless(piece: Piece, node: Node | None, has_form: bool = True) -> list[Finding]:
    """A finding at ``node`` where the piece, played out, has more than any concert."""
    beats, notes = Fraction(0), 0
    before = piece.cycle.beats
    for step in piece.steps:
        cycle, passes = step.cycle.beats, step.times
        line = piece.lines.get(step.uses) if step.uses is not None else None
        if isinstance(step, Solo):
            passes *= step.cycles
            beats += passes * cycle
        elif isinstance(step, Free):
            beats += passes * max(step.seconds or 0, line.length if line else 0)
        else:
            # A pickup may need a cycle before it, and a landing is held to the end of its own.
            beats += passes * ((line.length if line else 0) + 2 * cycle)
        if line is not None and line.begins > 1 and piece.is_metered(step):
            # A pickup that is long against the cycle before it waits for several of them.
            beats += cycle + before if before != cycle else 0
        before = cycle if piece.is_metered(step) else before
        notes += passes * len(line.notes) if line else 0
    if node is None or (beats <= MAX_FORM_BEATS and notes <= MAX_FORM_NOTES):
        return []
    played = "the form has" if has_form else "the lines, each once, have"
    what = f"played out, {played} {int(beats):,} beats and {notes:,} notes"
    hint = f"at most {MAX_FORM_BEATS:,} beats and {MAX_FORM_NOTES:,} notes"
    return [faults.too_long(node.spot, what, [hint])]


def yes_or_no(text: str) -> bool | None:
    """The words people write for yes and no, or None."""
    folded = text.strip().lower()
    if folded in ("true", "yes", "on", "1"):
        return True
    return False if folded in ("false", "no", "off", "0") else None


def liberties_from(
    shapes: list[LibertyShape],
    node: Node | None,
    lines: Iterable[str],
    rules: Iterable[str],
) -> tuple[tuple[Liberty, ...], list[Finding]]:
    """The liberties; each names a rule that there is, a line of the piece, a tone of the twelve."""
    findings: list[Finding] = []
    taken: list[Liberty] = []
    names, known = list(lines), list(rules)
    items = node.items if isinstance(node, Sequence) else ()
    for shape, item in zip(shapes, items, strict=False):
        if not isinstance(item, Mapping):
            continue
        before = len(findings)
        for key in ("rule", "why"):
            if key not in item.pairs:
                example = LibertyShape.examples[key]
                findings.append(faults.missing_key(item.spot, key, "a liberty", example))
        if shape.rule is not None and shape.rule not in known:
            spot = item.pairs["rule"][1].spot
            findings.append(faults.unknown_name(spot, "rule", shape.rule, known))
        if shape.line is not None and shape.line not in names:
            findings.append(faults.unknown_line(item.pairs["line"][1].spot, shape.line, names))
        if shape.tone is not None and shape.tone not in SEMITONE:
            what = f"'{faults.clip(shape.tone)}' is not one of the twelve tones"
            findings.append(
                faults.wrong_value(item.pairs["tone"][1].spot, what, [" ".join(SARGAM)])
            )
        if len(findings) == before and shape.rule is not None and shape.why is not None:
            taken.append(Liberty(shape.rule, shape.why, shape.line, shape.tone, item.spot))
    return tuple(taken), findings
