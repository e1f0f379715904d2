"""Lines from lines: a part of another, backwards, turned, moved, in another mode, at a speed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding, Findings, Spot
from cyclechart.piece.derivation import Derivation
from cyclechart.piece.derivation_reader import DerivationReader, body_offset
from cyclechart.piece.line import Lands, Line
from cyclechart.piece.line_modes import LineModes
from cyclechart.piece.line_text import begins_of, lands_of, line_words
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_edits import backwards, faster, stretch_of
from cyclechart.piece.shape import LineShape
from cyclechart.text import reading_rules
from cyclechart.text.chord_script import chords_script
from cyclechart.text.nodes import Mapping, Scalar
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.timing import MAX_BEATS, MAX_DENOMINATOR, SHORTEST
from cyclechart.theory.chord_degrees import moved_chord
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.degrees import HIGHEST, LOWEST, Degrees, beyond_marks, rising_at
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tones import show_pitch


def derived_from(
    named: Scalar,
    shape: LineShape,
    node: Mapping,
    source: Line,
    *,
    mode: Mode,
    source_cycle: Cycle | None,
    cycle: Cycle | None,
    eduppu: Fraction | None,
    modes: LineModes,
    tonic: Tonic,
) -> tuple[Line | None, list[Finding]]:
    """Return the line that comes from another by the operations of its node.

    ``mode`` and ``source_cycle`` are those of the source, ``cycle`` the one that the line stands
    in; ``eduppu`` is its own, None where it has that of its source.
    """
    reader = DerivationReader(shape, node, source, mode, source_cycle, modes)
    derivation = reader.read()
    findings = Findings(reader.findings)
    phrase = _worked_out(derivation, source, mode, source_cycle)
    fault = _too_much(phrase, node)
    if fault is not None:
        findings.append(fault)
        return None, findings
    whole = phrase.whole and not findings.has_errors
    struck = None
    if source.struck is not None:
        chords = replace(source, phrase=replace(source.phrase, notes=source.struck))
        struck = _worked_out(derivation, chords, mode, source_cycle)
    if phrase.kind == "chords" and derivation.changes_pitches:
        phrase = replace(phrase, notes=tuple(_with_chord_cells(source.notes, phrase.notes, tonic)))
    numbers: dict[tuple[Spot, int | None], int] = {}
    notes = _numbered(phrase, named.spot, derivation, numbers)
    phrase = replace(phrase, notes=notes, whole=whole)
    home = source.eduppu if eduppu is None else eduppu
    begins = _begins(derivation, source, source_cycle, cycle, home)
    if shape.begins is not None:
        begins = findings.take(begins_of(shape, node, cycle.beats if cycle else None))
    lands = _lands(derivation, source)
    if shape.lands is not None:
        lands = findings.take(lands_of(shape, node))
    # Elsewhere in the cycle, or in another rhythm, a cadence is no more what was worked out.
    stays = not derivation.changes_times and (begins, home) == (source.begins, source.eduppu)
    line = Line(
        name=named.text,
        phrase=phrase,
        begins=begins,
        spot=named.spot,
        lands=lands if cycle else Lands("free"),
        cadences=tuple(replace(one, spot=named.spot) for one in source.cadences) if stays else (),
        eduppu=home,
        derivation=derivation,
        struck=None if struck is None else _numbered(struck, named.spot, derivation, numbers),
    )
    if shape.words is not None:
        line = findings.take(line_words(line, node, cycle.beats if cycle else None))
    return line, findings


def _worked_out(derivation: Derivation, source: Line, mode: Mode, cycle: Cycle | None) -> Phrase:
    """Return the music of a source with the operations done, in their order."""
    phrase = source.phrase
    if derivation.part is not None and cycle is not None:
        first, last = derivation.part
        offset = body_offset(source, cycle)
        start = offset + (first - 1) * cycle.beats if first > 1 else Fraction(0)
        phrase = stretch_of(phrase, start, min(phrase.length, offset + last * cycle.beats))
    if derivation.reversed:
        phrase = backwards(phrase)
    if derivation.changes_pitches:
        phrase = replace(phrase, notes=_at_new_pitches(derivation, phrase, mode))
    return faster(phrase, derivation.speed)


def in_place_of(line: Line, phrase: Phrase, mode: Mode) -> Phrase:
    """Return the music of a line that has the rhythm of its source, where a chain has worked that
    out anew as this phrase; ``mode`` is that of the source."""
    assert line.derivation is not None
    if line.derivation.changes_pitches:
        phrase = replace(phrase, notes=_at_new_pitches(line.derivation, phrase, mode))
    notes = _numbered(phrase, line.spot, line.derivation)
    sung = line.notes if len(line.notes) == len(notes) else notes
    notes = tuple(
        replace(note, word=one.word, verses=one.verses)
        for note, one in zip(notes, sung, strict=True)
    )
    return replace(phrase, notes=notes, whole=phrase.whole and line.whole)


def _at_new_pitches(derivation: Derivation, phrase: Phrase, mode: Mode) -> tuple[Note, ...]:
    """The notes of a melody, turned, moved and taken into another mode, graces with them; of chords
    their roots."""
    changes = _Changes(derivation, mode)
    if phrase.kind == "chords":
        return tuple(
            replace(note, chord=changes.chord(note.chord)) if note.chord is not None else note
            for note in phrase.notes
        )
    notes: list[Note] = []
    for breath in breaths_of(phrase.notes):
        pitches = [note.pitch for note in breath if note.pitch is not None]
        ways = rising_at(pitches)
        for note, pitch, rising in zip(breath, changes.breath(pitches, ways), ways, strict=True):
            graces = [one for one in note.grace if isinstance(one, int)]
            grace = tuple(changes.breath([one], [rising])[0] for one in graces)
            notes.append(replace(note, pitch=pitch, grace=grace))
    return tuple(notes)


class _Changes:
    """What is done to the tones of a melody."""

    def __init__(self, derivation: Derivation, mode: Mode) -> None:
        self.derivation = derivation
        self.degrees = Degrees(mode)
        self.tones = frozenset(mode.tones)
        self.new_tones = frozenset((derivation.mode or mode).tones)
        self.other = Degrees(derivation.mode) if derivation.mode is not None else None

    def breath(self, pitches: list[int], ways: list[bool]) -> list[int]:
        """Return the pitches of a breath changed; ``ways``: which of them belong to a rise."""
        turned, move, degrees = self.derivation.turned, self.derivation.move, self.degrees
        if turned is not None:
            pitches = [
                degrees.mirrored(pitch, turned, rising=rising)
                for pitch, rising in zip(pitches, ways, strict=True)
            ]
            ways = [not rising for rising in ways]
        if move:
            pitches = degrees.moved_together(pitches, ways, move)
        if self.other is not None:
            pitches = [
                degrees.taken_into(self.other, pitch, rising=rising)
                for pitch, rising in zip(pitches, ways, strict=True)
            ]
        return pitches

    def chord(self, chord: ChordSymbol) -> ChordSymbol:
        """Return a chord changed, its root as a tone of a rise."""

        def after(tone: int) -> int:
            return self.breath([tone], [True])[0]

        return moved_chord(chord, after, self.tones, self.new_tones)


def breaths_of(notes: tuple[Note, ...]) -> list[list[Note]]:
    """Return notes in runs without a rest between."""
    runs: list[list[Note]] = []
    for note in notes:
        if not runs or runs[-1][-1].end != note.start:
            runs.append([])
        runs[-1].append(note)
    return runs


def _with_chord_cells(
    before: Iterable[Note], notes: Iterable[Note], tonic: Tonic
) -> Iterator[Note]:
    """Yield chords that were moved with their symbols as cells, named as those before them are."""
    script = chords_script(" ".join(note.cell for note in before), tonic)
    for note in notes:
        cell = "" if note.chord is None else script.write(note.chord)
        yield replace(note, cell=cell, within=(0, len(cell)))


def _numbered(
    phrase: Phrase,
    spot: Spot,
    derivation: Derivation,
    numbers: dict[tuple[Spot, int | None], int] | None = None,
) -> tuple[Note, ...]:
    """The notes of a derived line at its own place in the file, numbered as they are written.

    A note that is written once and sounds often in the source is one note here too, as long as it
    comes to one pitch. ``numbers`` has those that are known.
    """
    numbers = {} if numbers is None else numbers
    notes: list[Note] = []
    for note in phrase.notes:
        number = numbers.setdefault((note.spot, note.pitch), len(numbers) + 1)
        note = replace(note, spot=replace(spot, serial=number))
        if derivation.changes_pitches and note.pitch is not None:
            cell = show_pitch(note.pitch)
            note = replace(note, cell=cell, within=(0, len(cell)), script=SARGAM_SCRIPT.name)
        notes.append(note)
    return tuple(notes)


def _begins(
    derivation: Derivation,
    source: Line,
    source_cycle: Cycle | None,
    cycle: Cycle | None,
    eduppu: Fraction,
) -> Fraction:
    """Return the beat that a derived line begins on, where it does not say so itself.

    Its pickup leads where that of its source does. Backwards, what stood on a first beat ends on
    one: the beat it begins on is the one that its source ends on, counted from the other side.
    """
    begins = source.begins + eduppu - source.eduppu
    if derivation.changes_times and source_cycle is not None and not source.free:
        pickup = body_offset(source, source_cycle)
        length = source.length
        if derivation.part is not None:
            first, last = derivation.part
            start = pickup + (first - 1) * source_cycle.beats if first > 1 else Fraction(0)
            length = min(length, pickup + last * source_cycle.beats) - start
            pickup = pickup if first <= 1 else Fraction(0)
        if derivation.reversed:
            pickup = (length - pickup) % source_cycle.beats
        begins = 1 + eduppu - pickup / derivation.speed
    return begins if cycle is None else (begins - 1) % cycle.beats + 1


def _lands(derivation: Derivation, source: Line) -> Lands | None:
    """Return what a derived line says of its landing, where its node says nothing: as its source,
    as long as it ends as that does."""
    lands = source.lands
    if lands is None or lands.how == "free" or not derivation.changes_times:
        return lands
    if derivation.reversed or derivation.part is not None:
        return None
    return Lands(lands.how, lands.by / derivation.speed)


def _too_much(phrase: Phrase, node: Mapping) -> Finding | None:
    """Return the finding on a line that cannot be written or played any more."""
    every = [note.pitch for note in phrase.notes if note.pitch is not None]
    every += [one for note in phrase.notes for one in note.grace if isinstance(one, int)]
    far = beyond_marks(every)
    spot = node.key("from").spot
    if far is not None:
        where = "above" if far > HIGHEST else "below"
        what = f"the line would go more than three octaves {where} Sa"
        assert not LOWEST <= far <= HIGHEST
        return reading_rules.too_long(spot, what, ["turn it about a nearer tone, or move it less"])
    times = [phrase.length, *(time for note in phrase.notes for time in (note.start, note.length))]
    if phrase.length > MAX_BEATS:
        what = f"the line would last {show_exact(phrase.length)} beats, more than {MAX_BEATS:,}"
        return reading_rules.too_long(spot, what, ["take a part of it, or go faster"])
    fine = min((note.length for note in phrase.notes), default=SHORTEST)
    if fine < SHORTEST or max(time.denominator for time in times) > MAX_DENOMINATOR:
        what = "at this speed the beat is cut too finely to be played"
        return reading_rules.too_long(spot, what, ["go slower"])
    return None
