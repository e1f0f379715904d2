"""One line of a piece: from its text to notes with exact times."""

from __future__ import annotations

import re
from fractions import Fraction

from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding
from cyclechart.piece.model import Lands, Line, Note, SectionLine
from cyclechart.piece.shape import SCRIPTS, LineShape
from cyclechart.piece.words import words_from
from cyclechart.text import faults
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
from cyclechart.text.timing import Strike, Timed, time_line
from cyclechart.theory.exact import parse_exact, show_exact
from cyclechart.theory.spelling import Tonic

_LANDS = re.compile(r"(anagat|atit)\s+(\S.*)")


def line_from(
    named: Scalar, shape: LineShape, node: Mapping, tonic: Tonic, beats: Fraction | None
) -> tuple[Line | None, list[Finding]]:
    """A line, or None where it has no text to make one of. ``beats`` is the cycle's length."""
    name = named.text
    findings: list[Finding] = []
    begins = _begins(shape, node, beats, findings)
    lands = _lands(shape, node, findings)
    if beats is None:
        lands = Lands("free")
    for key, what in (("cadence", "cadences"), ("chain", "chains of lines")):
        if key in node.pairs:
            findings.append(faults.not_yet(node.key(key).spot, f"{what} ('{key}')"))
    given = [key for key in SCRIPTS if key in node.pairs]
    if len(given) > 1:
        spot = node.key(given[1]).spot
        what = f"the line is written twice, as {given[0]} and as {given[1]}"
        findings.append(faults.wrong_value(spot, what, [f"keep {given[0]}"]))
    if not given:
        if not {"cadence", "chain"} & set(node.pairs):
            example = "sargam: S R G m"
            findings.append(faults.missing_key(named.spot, "sargam", f"line '{name}'", example))
        return None, findings
    key = given[0]
    text = node.pairs[key][1]
    if not isinstance(text, Scalar) or getattr(shape, key) is None:
        return None, findings
    script = script_named(key, tonic)
    passage = text.passage()
    items, wrong = read_line(passage, script)
    timed, stray = time_line(items, passage)
    findings.extend((*wrong, *stray))
    if not timed.length:
        if not wrong and not stray:
            findings.append(faults.wrong_value(text.spot, f"the {key} of '{name}' holds no beat"))
        return None, findings
    sung = node.get("words")
    words = [""] * len(timed.strikes)
    if shape.words is not None and isinstance(sung, Scalar):
        words = words_from(sung, timed, _bars(timed, begins, lands, beats), findings)
    return (
        Line(
            name,
            "strokes" if key == "strokes" else "melody",
            begins,
            timed.length,
            tuple(
                _note(strike, passage, word)
                for strike, word in zip(timed.strikes, words, strict=True)
            ),
            tuple(
                SectionLine(line.offset, line.double, passage.spot(line.at, 1 + line.double))
                for line in timed.section_lines
            ),
            named.spot,
            lands,
            key,
            not wrong and not stray,
        ),
        findings,
    )


def script_named(key: str, tonic: Tonic) -> Script:
    """The script of a line's key: sargam, strokes, letters, degrees or solfa16."""
    if key == "strokes":
        return strokes().script()
    if key == "letters":
        return letters_script(tonic)
    return {"sargam": SARGAM_SCRIPT, "degrees": DEGREES_SCRIPT, "solfa16": SOLFA16_SCRIPT}[key]


def _bars(
    timed: Timed, begins: Fraction, lands: Lands | None, beats: Fraction | None
) -> list[Fraction]:
    """Where a ``|`` of the words can go to: the section lines of the text, else first beats."""
    written = [line.offset for line in timed.section_lines]
    if written or beats is None or (lands is not None and lands.how == "free"):
        return written
    first = (1 - begins) % beats
    return [first + number * beats for number in range(int(timed.length / beats) + 1)]


def _note(strike: Strike, passage: Passage, word: str) -> Note:
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
        word,
        passage.text[strike.cell.at : strike.cell.at + strike.cell.width],
        (strike.at - strike.cell.at, strike.at - strike.cell.at + strike.width),
    )


def _begins(
    shape: LineShape, node: Mapping, beats: Fraction | None, findings: list[Finding]
) -> Fraction:
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
        findings.append(faults.wrong_value(value.spot, what, tries))
        return Fraction(1) if beats is None else (begins - 1) % beats + 1
    if begins.denominator > 64:
        findings.append(
            faults.wrong_value(value.spot, "a line begins on a 64th of a beat at the finest")
        )
        return Fraction(1)
    return begins


def _lands(shape: LineShape, node: Mapping, findings: list[Finding]) -> Lands | None:
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
            findings.append(faults.wrong_value(value.spot, str(error), tries))
            return None
        if 0 < by <= 4:
            return Lands("anagat" if match[1] == "anagat" else "atit", by)
        what = f"anagat and atit are by more than 0 and up to 4 beats, not {show_exact(by)}"
        findings.append(faults.wrong_value(value.spot, what, tries))
        return None
    what = f"'{faults.clip(text)}' is no way of landing"
    findings.append(faults.wrong_value(value.spot, what, tries))
    return None
