"""The changes of the form as it goes on: cycle, mode, tonic, tempo and dynamics at each step.

A change holds from its step on, until there is another.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Findings
from cyclechart.piece.heading import cycle_of, mode_of, tempo_from, tonic_from
from cyclechart.piece.model import ANY_CYCLE
from cyclechart.piece.shape import LineShape, PieceShape
from cyclechart.piece.steps import BREAKS, LEVELS, StepState
from cyclechart.piece.swing import swing_from
from cyclechart.piece.under import read_under
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import parse_exact, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

MAX_STEPS = 500
MAX_CYCLES = 32
"""Different ones that a form names."""


def states_through(
    node: Node | None, first: StepState, library: Library
) -> tuple[list[StepState], list[Finding]]:
    """Return cycle, mode, tonic and tempo at each step: the piece's own until a step changes it.

    The cycle is ``ANY_CYCLE`` from where one cannot be read; what else cannot be read changes
    nothing.
    """
    reader = _Changes(first, library)
    steps = step_nodes(node)
    return [reader.at(item) for item in steps], reader.findings


class _Changes:
    """The changes of a form, step by step."""

    def __init__(self, first: StepState, library: Library) -> None:
        self.first, self.now, self.library = first, first, library
        self.findings = Findings()
        self.cycles: dict[str, Cycle] = {}
        self.modes: dict[str, Mode] = {}
        self.named: dict[Cycle | Mode, None] = {}
        self.lost = False

    def at(self, step: Node) -> StepState:
        """Return what is in force at a step, and keep it for the next."""
        if isinstance(step, Mapping):
            here = replace(self.now, to_tempo=None, level="", break_before="")
            if not self.lost and (below := step.get("cycle")) is not None:
                here = replace(here, cycle=self.cycle(below))
            if (below := step.get("mode")) is not None:
                here = replace(here, mode=self.mode(below) or here.mode)
            if (below := step.get("tonic")) is not None:
                here = replace(here, tonic=self.tonic(below) or here.tonic)
            here = self.tempo(step, here)
            if (below := step.get("dynamics")) is not None:
                here = replace(here, level=self.level(below))
            if (below := step.get("break")) is not None:
                here = replace(here, break_before=self.break_before(below))
            if (below := step.get("swing")) is not None:
                here = replace(here, swing=self.findings.take(swing_from(below)))
            if (below := step.get("under")) is not None:
                here = replace(here, under=self.findings.take(read_under(below, here.under)))
            self.now = replace(here, tempo=here.to_tempo or here.tempo, to_tempo=None)
            return here
        return self.now

    def cycle(self, below: Node) -> Cycle:
        name = below.text.strip() if isinstance(below, Scalar) else ""
        known = self.cycles.get(name)
        made = known or self.findings.take(cycle_of(below, self.library)) or ANY_CYCLE
        if name and made is not ANY_CYCLE:
            self.cycles[name] = made
        if isinstance(below, Mapping) and "name" not in below.pairs and made != self.first.cycle:
            made = replace(made, name=f"a cycle of {show_exact(made.beats)}")
        self.count(made, below, "cycles")
        return ANY_CYCLE if self.lost else made

    def mode(self, below: Node) -> Mode | None:
        name = below.text.strip() if isinstance(below, Scalar) else ""
        made = self.modes.get(name) or self.findings.take(mode_of(below, self.library))
        if name and made is not None:
            self.modes[name] = made
        if made is not None:
            self.count(made, below, "modes")
        return made

    def count(self, made: Cycle | Mode, below: Node, what: str) -> None:
        self.named[made] = None
        if sum(isinstance(one, type(made)) for one in self.named) > MAX_CYCLES:
            said = f"a form has at most {MAX_CYCLES} different {what}"
            self.findings.append(reading_rules.too_long(below.spot, said))
            self.lost = True

    def tonic(self, below: Node) -> Tonic | None:
        if isinstance(below, Scalar) and not below.text.strip():
            self.findings.append(
                reading_rules.wrong_value(below.spot, "'tonic' is empty", ["tonic: D"])
            )
            return None
        tonic, findings = tonic_from(below)
        self.findings += findings
        return None if findings else tonic

    def tempo(self, step: Mapping, here: StepState) -> StepState:
        """``tempo: 120`` from here on, ``tempo: {to: 120}`` gradually across the step."""
        below = step.get("tempo")
        if below is None:
            return here
        if isinstance(below, Mapping) and list(below.pairs) == ["to"]:
            value = self.beats(below.pairs["to"][1])
            if value is not None and "free" in step.pairs:
                what = "a free passage has no tempo, so the tempo cannot change gradually in it"
                self.findings.append(
                    reading_rules.wrong_value(below.spot, what, [f"tempo: {value}"])
                )
                return here
            return replace(here, to_tempo=value)
        if isinstance(below, Mapping):
            what = "a gradual change must be written as in tempo: {to: 120}"
            self.findings.append(reading_rules.wrong_value(below.spot, what, ["tempo: {to: 120}"]))
            return here
        value = self.beats(below)
        return here if value is None else replace(here, tempo=value)

    def beats(self, node: Node) -> Fraction | None:
        """A tempo, or None with a finding."""
        tries = ["tempo: 120", "tempo: {to: 120}"]
        if not isinstance(node, Scalar):
            self.findings.append(
                reading_rules.wrong_value(node.spot, "a tempo must be a number", tries)
            )
            return None
        try:
            value = parse_exact(node.text)
        except ValueError as error:
            self.findings.append(reading_rules.wrong_value(node.spot, str(error), tries))
            return None
        tempo, findings = tempo_from(value, node, tries)
        self.findings += findings
        return None if findings else tempo

    def level(self, below: Node) -> str:
        return self.one_of(
            LEVELS, below, f"dynamics must be one of {' '.join(LEVELS)}", "dynamics: p"
        )

    def break_before(self, below: Node) -> str:
        return self.one_of(BREAKS, below, f"break must be {' or '.join(BREAKS)}", "break: page")

    def one_of(self, words: tuple[str, ...], below: Node, what: str, example: str) -> str:
        """Return one of some words; "" with a finding for anything else."""
        text = below.text.strip() if isinstance(below, Scalar) else ""
        if text in words:
            return text
        what = f"{what}, not '{clip(text)}'"
        self.findings.append(reading_rules.wrong_value(below.spot, what, [example]))
        return ""


def cycles_played(node: Node | None, state: list[StepState]) -> dict[str, list[Cycle]]:
    """The cycles that the steps play each line in, by the line's name, as the form has it.

    For what has to be known before the lines are read.
    """
    played: dict[str, list[Cycle]] = {}
    for item, here in zip(step_nodes(node), state, strict=False):
        below = [] if isinstance(item, Mapping) and "free" in item.pairs else here.under
        looped = [line for one in below for line in one.lines]
        for name in (*lines_named(item), *looped):
            if here.cycle is not ANY_CYCLE:
                cycles = played.setdefault(name, [])
                cycles += () if here.cycle in cycles else (here.cycle,)
    return played


def lines_named(step: Node) -> Iterator[str]:
    """The lines that a step names, whether there are such or not."""
    for key in ("play", "over", "hits"):
        named = step.get(key) if isinstance(step, Mapping) else None
        below = [value for _, value in named.pairs.values()] if isinstance(named, Mapping) else []
        for one in [named, *below]:
            if isinstance(one, Scalar):
                yield one.text.strip()


def step_nodes(node: Node | None) -> tuple[Node, ...]:
    """The steps of a form as they stand in the file."""
    return tuple(node.items[:MAX_STEPS]) if isinstance(node, Sequence) else ()


def begins_within(
    shapes: dict[str, LineShape], node: Node | None, played: dict[str, list[Cycle]]
) -> list[Finding]:
    """Beginnings that lie beyond the end of a cycle that the line is played in.

    The first of a line's cycles is looked at where the line is read.
    """
    findings = []
    for name, (_, below) in node.pairs.items() if isinstance(node, Mapping) else ():
        begins = shapes[name].begins if name in shapes else None
        value = below.get("begins") if isinstance(below, Mapping) else None
        if begins is None or value is None:
            continue
        for cycle in played.get(name, [])[1:]:
            if begins >= cycle.beats + 1:
                what = (
                    f"'{clip(name)}' is also played in {cycle.name}, where a line must begin on "
                    f"a beat from 1 to {show_exact(cycle.beats)}, not on {show_exact(begins)}"
                )
                tries = [f"write a separate line for {cycle.name}"]
                findings.append(reading_rules.wrong_value(value.spot, what, tries))
    return findings


def eduppu_within(
    shape: PieceShape, root: Mapping, played: dict[str, list[Cycle]], cycle: Cycle | None
) -> list[Finding]:
    """Return the findings on an eduppu that lies beyond the end of a cycle that its line is played
    in, the piece's own where the form plays it in none."""
    findings: dict[Finding, None] = {}
    lines = root.get("lines")
    for name, (_, below) in lines.pairs.items() if isinstance(lines, Mapping) else ():
        own = shape.lines[name].eduppu if name in shape.lines else None
        eduppu = shape.eduppu if own is None else own
        value = (
            (root if own is None else below).get("eduppu") if isinstance(below, Mapping) else None
        )
        if eduppu is None or value is None:
            continue
        for here in played.get(name) or ([cycle] if cycle is not None else []):
            if eduppu >= here.beats:
                what = (
                    f"{here.name} has {show_exact(here.beats)} beats: a line in it cannot come "
                    f"home {show_exact(eduppu)} beats after its first beat"
                )
                left = eduppu % here.beats
                tries = [f"eduppu: {show_exact(left)}"] if len(played.get(name, [])) < 2 else []
                findings[reading_rules.wrong_value(value.spot, what, tries)] = None
    return list(findings)
