"""One line of a piece: from its text to notes with exact times."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding
from cyclechart.piece.model import Lands, Line, Note, Phrase, SectionLine
from cyclechart.piece.shape import LineShape
from cyclechart.piece.words import words_from
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Scalar
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import (
    DEGREES_SCRIPT,
    SARGAM_SCRIPT,
    SOLFA16_SCRIPT,
    Script,
    letters_script,
)
from cyclechart.text.source import Passage
from cyclechart.text.timing import Strike, time_line
from cyclechart.theory.exact import parse_exact, show_exact
from cyclechart.theory.spelling import Tonic

_LANDS = re.compile(r"(anagat|atit)\s+(\S.*)")


def line_from(
    named: Scalar,
    shape: LineShape,
    node: Mapping,
    key: str,
    tonic: Tonic,
    beats: Fraction | None,
    findings: list[Finding],
) -> Line | None:
    """The line whose text stands under ``key``, or None where it has none to make one of.

    ``beats`` is the length of the cycle it stands in, None where that is not known.
    """
    begins = begins_of(shape, node, beats, findings)
    lands = lands_of(shape, node, findings)
    if beats is None:
        lands = Lands("free")
    text = node.pairs[key][1]
    if not isinstance(text, Scalar) or getattr(shape, key) is None:
        return None
    phrase = phrase_from(text, key, tonic, f"the {key} of '{named.text}'", findings)
    if phrase is None:
        return None
    sung = node.get("words")
    if shape.words is not None and isinstance(sung, Scalar):
        bars = _bars(phrase, begins, lands, beats)
        phrase = with_words(phrase, sung, bars, findings)
    return line_of(named, phrase, begins, lands)


def line_of(named: Scalar, phrase: Phrase, begins: Fraction, lands: Lands | None) -> Line:
    """A phrase as a line of its own."""
    return Line(
        named.text,
        phrase.kind,
        begins,
        phrase.length,
        phrase.notes,
        phrase.section_lines,
        named.spot,
        lands,
        phrase.whole,
        phrase.speeds,
    )


def phrase_from(
    text: Scalar, key: str, tonic: Tonic, what: str, findings: list[Finding]
) -> Phrase | None:
    """The music of a text in the script of its key; None where it holds no beat.

    ``what`` names the text in a finding.
    """
    passage = text.passage()
    items, wrong = read_line(passage, script_named(key, tonic))
    timed, stray = time_line(items, passage)
    findings.extend((*wrong, *stray))
    if not timed.length:
        if not wrong and not stray:
            findings.append(reading_rules.wrong_value(text.spot, f"{what} holds no beat"))
        return None
    return Phrase(
        "strokes" if key == "strokes" else "melody",
        tuple(_note(strike, passage, key) for strike in timed.strikes),
        tuple(
            SectionLine(line.offset, line.double, passage.spot(line.at, 1 + line.double))
            for line in timed.section_lines
        ),
        timed.speeds,
        timed.length,
        not wrong and not stray,
    )


def with_words(
    phrase: Phrase, sung: Scalar, bars: list[Fraction], findings: list[Finding]
) -> Phrase:
    """A phrase with its sung text."""
    words = words_from(sung, [note.start for note in phrase.notes], bars, findings)
    notes = (replace(note, word=word) for note, word in zip(phrase.notes, words, strict=True))
    return replace(phrase, notes=tuple(notes))


def script_named(key: str, tonic: Tonic) -> Script:
    """The script of a line's key: sargam, strokes, letters, degrees or solfa16."""
    if key == "strokes":
        return strokes().script()
    if key == "letters":
        return letters_script(tonic)
    return {"sargam": SARGAM_SCRIPT, "degrees": DEGREES_SCRIPT, "solfa16": SOLFA16_SCRIPT}[key]


def _bars(
    phrase: Phrase, begins: Fraction, lands: Lands | None, beats: Fraction | None
) -> list[Fraction]:
    """Where a ``|`` of the words can go to: the section lines of the text, else first beats."""
    written = [line.offset for line in phrase.section_lines]
    if written or beats is None or (lands is not None and lands.how == "free"):
        return written
    first = (1 - begins) % beats
    return [first + number * beats for number in range(int(phrase.length / beats) + 1)]


def _note(strike: Strike, passage: Passage, script: str) -> Note:
    value = strike.value
    return Note(
        strike.start,
        strike.length,
        passage.spot(strike.at, strike.width),
        value if isinstance(value, int) else None,
        value if isinstance(value, str) else "",
        strike.grace,
        strike.marks,
        strike.glides,
        "",
        passage.text[strike.cell.at : strike.cell.at + strike.cell.width],
        (strike.at - strike.cell.at, strike.at - strike.cell.at + strike.width),
        script,
    )


def begins_of(
    shape: LineShape, node: Mapping, beats: Fraction | None, findings: list[Finding]
) -> Fraction:
    """The beat that the line says it begins on; 1 where it says none."""
    begins = shape.begins
    value = node.get("begins")
    if begins is None or value is None:
        return Fraction(1)
    if begins < 1 or (beats is not None and begins >= beats + 1):
        upto = f" to {show_exact(beats)}" if beats is not None else ""
        what = f"a line begins on a beat of the cycle, 1{upto}, not on {show_exact(begins)}"
        tries = []
        if beats is not None:
            tries.append(f"begins: {show_exact((begins - 1) % beats + 1)}")
        findings.append(reading_rules.wrong_value(value.spot, what, tries))
        return Fraction(1) if beats is None else (begins - 1) % beats + 1
    if begins.denominator > 64:
        findings.append(
            reading_rules.wrong_value(value.spot, "a line begins on a 64th of a beat at the finest")
        )
        return Fraction(1)
    return begins


def lands_of(shape: LineShape, node: Mapping, findings: list[Finding]) -> Lands | None:
    """What the line says of its own landing."""
    value = node.get("lands")
    if shape.lands is None or value is None:
        return None
    text = shape.lands.strip()
    if text == "free":
        return Lands("free")
    match = _LANDS.fullmatch(text)
    tries = ["lands: free", "lands: anagat 1/2", "lands: atit 1/2"]
    if match:
        try:
            by = parse_exact(match[2])
        except ValueError as error:
            findings.append(reading_rules.wrong_value(value.spot, str(error), tries))
            return None
        if 0 < by <= 4:
            return Lands("anagat" if match[1] == "anagat" else "atit", by)
        what = f"anagat and atit are by more than 0 and up to 4 beats, not {show_exact(by)}"
        findings.append(reading_rules.wrong_value(value.spot, what, tries))
        return None
    what = f"'{clip(text)}' is no way of landing"
    findings.append(reading_rules.wrong_value(value.spot, what, tries))
    return None
