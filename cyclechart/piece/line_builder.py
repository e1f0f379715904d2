"""All lines of a piece: those with a text of their own, cadences, chains of other lines, and lines
that come from another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding, Findings
from cyclechart.piece.cadence_beginning import cadence_lands, with_beginning
from cyclechart.piece.cadence_reader import CadenceReader
from cyclechart.piece.cadences import MOST_STEPS, Recipe, work_out
from cyclechart.piece.chain_links import astray, other_kind, wrong_number
from cyclechart.piece.chord_rhythm import (
    OWN,
    WRITTEN,
    rhythm_of,
    struck_end_to_end,
    struck_in_rhythm,
)
from cyclechart.piece.derivation_reader import without_source
from cyclechart.piece.derived_lines import derived_from, in_place_of
from cyclechart.piece.heading import eduppu_from
from cyclechart.piece.line import Cadence, Lands, Line
from cyclechart.piece.line_limits import (
    MAX_NOTES,
    MOST_DEEP,
    MOST_STEPS_OF_ALL,
    too_deep,
    too_many_derived,
    too_many_notes,
)
from cyclechart.piece.line_modes import LineModes
from cyclechart.piece.line_text import (
    Landing,
    begins_of,
    early_of,
    key_of_text,
    lands_of,
    line_from,
    unfit_name,
    with_words,
)
from cyclechart.piece.note import Phrase
from cyclechart.piece.phrase_edits import joined
from cyclechart.piece.shape import LineShape
from cyclechart.piece.words import verses_in
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Scalar, Sequence
from cyclechart.text.timing import MAX_BEATS
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic


class _Full(Exception):
    """The lines have more notes than any piece."""


class LineBuilder:
    """Builds the lines, those first that others are built from."""

    def __init__(
        self,
        shapes: dict[str, LineShape],
        node: Mapping,
        tonic: Tonic,
        cycle_of: Callable[[str], Cycle | None],
        eduppu: Fraction,
        modes: LineModes,
    ) -> None:
        self.shapes, self.node, self.tonic = shapes, node, tonic
        self.cycle_of, self.usual_eduppu, self.modes = cycle_of, eduppu, modes
        self.findings = Findings()
        self.built: dict[str, Line | None] = {}
        self.recipes: dict[str, Recipe] = {}
        self.links: dict[str, list[Scalar]] = {}
        """The links of each chain."""
        self.words: dict[str, list[Scalar]] = {}
        """The sung text of each chain."""
        self.elsewhere: dict[Cycle, LineBuilder] = {}
        """The lines in a cycle that a line which comes from them is played in."""
        self.busy: list[str] = []
        """The lines that are being built, each for the one before it."""
        self.notes = self.derived_notes = 0
        self.steps = MOST_STEPS_OF_ALL

    def lines(self) -> dict[str, Line | None]:
        """Return every line by name; None for one without music, or past what a piece may hold."""
        try:
            for name, (key, _) in self.node.pairs.items():
                unfit = unfit_name(key)
                if unfit is not None:
                    self.findings.append(unfit)
                    self.built[name] = None
                else:
                    self.line(name)
        except _Full:
            pass
        return {name: self.built.get(name) for name in self.node.pairs}

    def line(self, name: str) -> Line | None:
        """Return a line by name; it is built when it is first asked for."""
        if name not in self.built:
            key, below = self.node.pairs[name]
            shape = self.shapes.get(name)
            self.built[name] = None
            if shape is not None and isinstance(below, Mapping):
                self.busy.append(name)
                self.built[name] = self.build(key, shape, below)
                self.busy.pop()
        return self.built[name]

    def build(self, named: Scalar, shape: LineShape, node: Mapping) -> Line | None:
        """Return a line from its node: its text, its cadence or its chain."""
        line = self.unstruck(named, shape, node)
        return self.in_rhythm(line, shape, node)

    def in_rhythm(self, line: Line | None, shape: LineShape, node: Mapping) -> Line | None:
        """Return a line as its chords are struck, where it says so."""
        value = node.get("rhythm")
        if line is None or shape.rhythm is None or not isinstance(value, Scalar):
            return line
        name, findings = rhythm_of(line, value, self.node.pairs)
        self.findings += findings
        if name in (OWN, WRITTEN):
            return replace(line, struck=line.notes if name == WRITTEN else None)
        rhythm = self.other(value)
        if rhythm is None:
            return line
        cycle = self.cycle_of(line.name)
        struck = struck_in_rhythm(line, rhythm, cycle, MAX_NOTES - self.notes)
        self.count(MAX_NOTES + 1 if struck is None else len(struck), value)
        parts = tuple(dict.fromkeys((*line.parts, rhythm.name)))
        return replace(line, struck=struck, parts=parts)

    def unstruck(self, named: Scalar, shape: LineShape, node: Mapping) -> Line | None:
        """Return a line from its node, before its chords are struck in a rhythm."""
        key = self.findings.take(key_of_text(named, node))
        if not key:
            return None
        cycle = self.cycle_of(named.text)
        if key == "from":
            return self.derived(named, shape, node, cycle)
        self.findings += without_source(node)
        if key == "cadence":
            return self.cadence(named, shape, node, cycle)
        if key == "chain":
            return self.chain(named, shape, node, cycle)
        line = self.findings.take(
            line_from(
                named,
                shape,
                node,
                key,
                tonic=self.tonic,
                beats=cycle.beats if cycle else None,
                eduppu=self.eduppu(shape, node),
                mode=self.modes.of_line(named.text),
            )
        )
        self.count(len(line.notes) if line else 0, named)
        return line

    def eduppu(self, shape: LineShape, node: Mapping) -> Fraction:
        """Return where a line comes home to: its own eduppu before the piece's."""
        return self.findings.take(eduppu_from(shape.eduppu, node.get("eduppu"), self.usual_eduppu))

    def count(self, more: int, named: Scalar) -> None:
        """Stop before the lines have more notes than a piece has."""
        self.notes += more
        self.stop_at(too_many_notes(named.spot, self.notes))

    def stop_at(self, limit: Finding | None) -> None:
        """Stop at a limit of all lines together, where there is one."""
        if limit is not None:
            self.findings.append(limit)
            raise _Full

    def cadence(
        self, named: Scalar, shape: LineShape, node: Mapping, cycle: Cycle | None
    ) -> Line | None:
        """Return a line that is a cadence, worked out in its cycle."""
        below = node.get("cadence")
        lands = self.findings.take(cadence_lands(shape, node))
        if shape.cadence is None or not isinstance(below, Mapping):
            return None
        eduppu = self.eduppu(shape, node)
        reader = CadenceReader(self.tonic, self.modes.of_line(named.text), self.reference)
        try:
            recipe = reader.read(
                shape.cadence, below, node.key("cadence").spot, early_of(lands), eduppu
            )
        finally:  # a line that it names may be more than a piece may hold
            self.findings += reader.findings
        if recipe is None:
            return None
        recipe = self.findings.take(with_beginning(recipe, shape, node, cycle))
        words = self.findings.take(verses_in(node.get("words")))
        if words:
            recipe = self.findings.take(recipe.with_words(words))
        self.recipes[named.text] = recipe
        self.count(recipe.notes, named)
        phrase, begins, cadence = self.work_out(recipe, cycle)
        return Line(
            name=named.text,
            phrase=phrase,
            begins=begins,
            spot=named.spot,
            lands=lands if cycle else Lands("free"),
            cadences=(cadence,),
            parts=recipe.parts,
            eduppu=eduppu,
        )

    def work_out(
        self, recipe: Recipe, cycle: Cycle | None, begins: Fraction | None = None
    ) -> tuple[Phrase, Fraction, Cadence]:
        """Return a recipe worked out; all searches of a piece share one limit of candidates."""
        worked = work_out(recipe, cycle, begins, min(self.steps, MOST_STEPS))
        self.steps = max(0, self.steps - worked[2].solved.looked_at)
        return worked

    def derived(
        self, named: Scalar, shape: LineShape, node: Mapping, cycle: Cycle | None
    ) -> Line | None:
        """Return a line that comes from another."""
        name = node.get("from")
        if shape.from_ is None or not isinstance(name, Scalar):
            return None
        source = self.other(name)
        if source is None:
            return None
        source_cycle = self.cycle_of(source.name)
        if source.cadences and cycle is not None and source_cycle != cycle:
            source, source_cycle = self.in_cycle(source, cycle), cycle
        line = self.findings.take(
            derived_from(
                named,
                shape,
                node,
                source,
                mode=self.modes.of_source(named.text, source, self.built),
                source_cycle=source_cycle,
                cycle=cycle,
                eduppu=self.eduppu(shape, node) if shape.eduppu is not None else None,
                modes=self.modes,
                tonic=self.tonic,
            )
        )
        notes = len(line.notes) + len(line.struck or ()) if line else 0
        self.derived_notes += notes
        self.stop_at(too_many_derived(named.spot, self.derived_notes))
        self.count(notes, named)
        return line

    def in_cycle(self, line: Line, cycle: Cycle) -> Line:
        """Return a line with cadences as it is worked out in another cycle."""
        if cycle not in self.elsewhere:
            self.elsewhere[cycle] = LineBuilder(
                self.shapes, self.node, self.tonic, lambda _: cycle, self.usual_eduppu, self.modes
            )
        builder = self.elsewhere[cycle]
        builder.steps = self.steps
        try:
            found = builder.line(line.name)
        except _Full:
            return line
        self.steps = builder.steps
        return found or line

    def reference(self, name: Scalar) -> tuple[Phrase | None, list[Finding]]:
        """Return the music of another line, and the findings where it is built for this."""
        before = len(self.findings)
        line = self.other(name)
        findings = self.findings[before:]
        del self.findings[before:]  # the reader of the cadence has them, and hands them out
        return (line.phrase if line is not None else None), findings

    def other(self, name: Scalar) -> Line | None:
        """Return another line, which is built first; None for one that is built from this one."""
        wanted = name.text.strip()
        if wanted not in self.node.pairs:
            self.findings.append(reading_rules.unknown_line(name.spot, wanted, self.node.pairs))
            return None
        if wanted in self.busy:
            what = f"'{clip(wanted)}' would contain itself"
            self.findings.append(reading_rules.wrong_value(name.spot, what, ["name another line"]))
            return None
        if len(self.busy) >= MOST_DEEP and wanted not in self.built:
            self.findings.append(too_deep(name.spot, wanted))
            return None
        return self.line(wanted)

    def chain(
        self, named: Scalar, shape: LineShape, node: Mapping, cycle: Cycle | None
    ) -> Line | None:
        """Return a line that is a chain of other lines."""
        listed = node.get("chain")
        lands = self.findings.take(lands_of(shape, node))
        if shape.chain is None or not isinstance(listed, Sequence):
            return None
        names = [item for item in listed.items if isinstance(item, Scalar)]
        links = self.links_of(listed, names)
        if not links:
            return None
        self.links[named.text] = names
        words = self.findings.take(verses_in(node.get("words")))
        if words:
            self.words[named.text] = words
        begins = links[0].begins
        if shape.begins is not None:
            begins = self.findings.take(begins_of(shape, node, cycle.beats if cycle else None))
        early = early_of(lands) if shape.lands is not None else None
        eduppu = self.eduppu(shape, node) if shape.eduppu is not None else None
        phrase, cadences = self.end_to_end(named, begins, cycle, Landing(early, eduppu))
        parts = dict.fromkeys(name.text.strip() for name in names)
        lands = lands if shape.lands is not None else links[-1].lands
        return Line(
            name=named.text,
            phrase=phrase,
            begins=begins,
            spot=named.spot,
            lands=lands if cycle else Lands("free"),
            cadences=cadences,
            parts=tuple(parts),
            eduppu=links[-1].eduppu if eduppu is None else eduppu,
            struck=struck_end_to_end(links),
        )

    def links_of(self, listed: Sequence, names: list[Scalar]) -> list[Line]:
        """Return the lines of a chain; [] where one is missing, or one player cannot play all."""
        wrong = wrong_number(listed, names)
        if wrong is not None:
            self.findings.append(wrong)
            return []
        links = [line for name in names if (line := self.other(name)) is not None]
        if len(links) < len(names):
            return []
        wrong = other_kind(names, links)
        self.findings += [] if wrong is None else [wrong]
        return links if wrong is None else []

    def end_to_end(
        self,
        named: Scalar,
        begins: Fraction,
        cycle: Cycle | None,
        landing: Landing,
        *,
        inside: bool = False,
    ) -> tuple[Phrase, tuple[Cadence, ...]]:
        """Return the links of a chain that begins on a beat, one after the other.

        A cadence among them is worked out from where the chain comes to it; the last link lands
        where the chain says so. A chain ``inside`` another has its findings already.
        """
        at = Fraction(0)
        placed: list[tuple[Fraction, Phrase]] = []
        cadences: list[Cadence] = []
        items = self.links[named.text]
        for number, item in enumerate(items, start=1):
            off = self.comes_astray(item, begins + at, cycle)
            if off is not None and not inside:
                self.findings.append(off)
            last = landing if number == len(items) else Landing()
            phrase, worked_out = self.music_at(item, begins + at, cycle, last)
            phrase = replace(phrase, whole=phrase.whole and off is None)
            self.count(len(phrase.notes), named)
            placed.append((at, phrase))
            cadences += [replace(cadence, start=cadence.start + at) for cadence in worked_out]
            at += phrase.length
            if at > MAX_BEATS:
                what = f"the chain lasts more than {MAX_BEATS:,} beats"
                self.findings.append(reading_rules.too_long(item.spot, what))
                raise _Full
        phrase = joined(placed, at)
        if named.text in self.words:
            phrase, findings = with_words(phrase, self.words[named.text], [])
            self.findings += () if inside else findings
        return phrase, tuple(cadences)

    def comes_astray(self, name: Scalar, begins: Fraction, cycle: Cycle | None) -> Finding | None:
        """Return the finding on a link that says it begins on another beat than it comes on."""
        wanted = name.text.strip()
        shape, recipe, line = self.shapes[wanted], self.recipes.get(wanted), self.built[wanted]
        says = recipe.question.begins if recipe else None
        if recipe is None and shape.begins is not None and line is not None:
            says = line.begins
        return astray(name, says, begins, cycle)

    def music_at(
        self, name: Scalar, begins: Fraction, cycle: Cycle | None, landing: Landing
    ) -> tuple[Phrase, tuple[Cadence, ...]]:
        """Return the music of a link that a chain comes to on a beat, counted on from the first."""
        wanted = name.text.strip()
        line = self.built[wanted]
        assert line is not None
        if not line.cadences or cycle is None:
            return line.phrase, ()
        beat = (begins - 1) % cycle.beats + 1
        if wanted in self.links:
            return self.end_to_end(self.node.pairs[wanted][0], beat, cycle, landing, inside=True)
        if line.derivation is not None and wanted not in self.recipes:
            source = self.built[line.derivation.source]
            assert source is not None
            below = self.node.pairs[source.name][0]
            phrase, cadences = self.music_at(below, begins, cycle, landing)
            mode = self.modes.of_source(wanted, source, self.built)
            return in_place_of(line, phrase, mode), tuple(
                replace(one, spot=name.spot) for one in cadences
            )
        recipe = self.recipes[wanted]
        if landing.early is not None:
            recipe = replace(recipe, question=replace(recipe.question, early=landing.early))
        if landing.eduppu is not None:
            recipe = replace(recipe, question=replace(recipe.question, eduppu=landing.eduppu))
        phrase, _, cadence = self.work_out(recipe, cycle, beat)
        return phrase, (replace(cadence, spot=name.spot),)
