"""One line of a piece: from its text to notes with exact times."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.catalog import kit
from cyclechart.catalog.roles import LineKind
from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding, Findings
from cyclechart.piece.key_words import LINE_WORDS
from cyclechart.piece.line import Lands, Line
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_memory import PhraseKey, PhraseMemory
from cyclechart.piece.shape import TEXTS, LineShape
from cyclechart.piece.words import sung, verses_in
from cyclechart.text import reading_rules
from cyclechart.text.chord_script import CHORDS, chords_script
from cyclechart.text.excerpts import clip
from cyclechart.text.key_words import meant_keys
from cyclechart.text.nodes import Mapping, Scalar
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import (
    DEGREES_SCRIPT,
    SARGAM_SCRIPT,
    SOLFA16_SCRIPT,
    Script,
    letters_script,
)
from cyclechart.text.source import PlacedText
from cyclechart.text.timing import Strike, time_line
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.exact import parse_exact, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

MAX_NAME = 60
_MEMORY = PhraseMemory()

_KINDS: dict[str, LineKind] = {"strokes": "strokes", CHORDS: "chords", "kit": "kit"}
"""The kind of the line that a text makes, by its key; a melody for all others."""

_LANDS = re.compile(r"(anagat|atit)\s+(\S.*)")


class Landing(NamedTuple):
    """What a chain says of where its last link lands: so much before its eduppu, so much after the
    first beat; None where it says nothing."""

    early: Fraction | None = None
    eduppu: Fraction | None = None


def line_from(
    named: Scalar,
    shape: LineShape,
    node: Mapping,
    key: str,
    *,
    tonic: Tonic,
    beats: Fraction | None,
    eduppu: Fraction,
    mode: Mode,
) -> tuple[Line | None, list[Finding]]:
    """Return the line whose text stands under ``key``, or None where the text has no music.

    ``beats`` is the length of the cycle it stands in, None where that is not known; ``eduppu`` is
    where it comes home to; ``mode`` is the one that it is played in.
    """
    findings = Findings()
    begins = findings.take(begins_of(shape, node, beats, eduppu))
    lands = findings.take(lands_of(shape, node))
    if beats is None:
        lands = Lands("free")
    text = node.pairs[key][1]
    if not isinstance(text, Scalar) or getattr(shape, key) is None:
        return None, findings
    called = f"the {key} of '{named.text}'"
    phrase = findings.take(phrase_from(text, key, tonic, called, mode=mode))
    if phrase is None:
        return None, findings
    line = Line(
        name=named.text,
        phrase=phrase,
        begins=begins,
        spot=named.spot,
        lands=lands,
        eduppu=eduppu,
    )
    return findings.take(line_words(line, node, beats)), findings


def line_words(line: Line, node: Mapping, beats: Fraction | None) -> tuple[Line, list[Finding]]:
    """Return a line with the words that stand beside it, if any."""
    texts, findings = verses_in(node.get("words"))
    if not texts:
        return line, findings
    bars = _bars(line.phrase, line.begins, line.lands, beats)
    phrase, wrong = with_words(line.phrase, texts, bars)
    return replace(line, phrase=phrase), findings + wrong


def key_of_text(named: Scalar, node: Mapping) -> tuple[str, list[Finding]]:
    """Return the key that the music of a line stands under; "" with a finding where there is
    none."""
    given = [key for key in (*TEXTS, "cadence", "chain", "from") if key in node.pairs]
    if not given:
        if meant_keys(node, LINE_WORDS, LineShape.keys) & {*TEXTS, "cadence", "chain"}:
            return "", []  # the key that stands for it is reported
        where = f"line '{named.text}'"
        return "", [reading_rules.missing_key(named.spot, "sargam", where, "sargam: S R G m")]
    if len(given) == 1:
        return given[0], []
    what = f"the line is written twice, as {given[0]} and as {given[1]}"
    tries = [f"keep {given[0]}"]
    if given[1] == "chords":
        what = f"a line has one text; the chords to its {given[0]} are a line of their own"
        tries.append(
            f"give them a line, such as changes: {{chords: …}}, and play both: - play: {{flute: "
            f"{clip(named.text)}, guitar: changes}}"
        )
    spot = node.key(given[1]).spot
    return given[0], [reading_rules.wrong_value(spot, what, tries)]


def phrase_from(
    text: Scalar, key: str, tonic: Tonic, called: str, *, mode: Mode | None = None
) -> tuple[Phrase | None, list[Finding]]:
    """Return the music of a text in the script of its key; None where it holds no beat, or is in
    another spelling.

    ``called`` names the text in a finding; ``mode`` is that of the line, where it is known.
    """
    passage = text.passage()
    row = text.spot.line
    known_by = PhraseKey.of(text, passage, key, tonic, called)
    known = _MEMORY.get(known_by, row) if known_by is not None else None
    if known is not None:
        return known, []
    phrase, findings = _read_phrase(text, passage, key, tonic, called, mode=mode)
    if known_by is not None and phrase is not None and not findings:
        _MEMORY.keep(known_by, row, phrase)
    return phrase, findings


def _read_phrase(
    text: Scalar, passage: PlacedText, key: str, tonic: Tonic, called: str, *, mode: Mode | None
) -> tuple[Phrase | None, list[Finding]]:
    """Return the music of a text that was not read before."""
    if key != CHORDS and not passage.text.isascii():
        from cyclechart.text.typographic_signs import with_plain_signs

        passage = with_plain_signs(passage, key)
    findings = Findings()
    script = chords_script(passage.text, tonic) if key == CHORDS else script_named(key, tonic)
    items = findings.take(read_line(passage, script))
    if findings:
        from cyclechart.piece.other_spelling import other_spelling

        other = other_spelling(text, key, tonic, mode, len(findings))
        if other is not None:
            return None, [other]
    timed = findings.take(time_line(items, passage))
    if not timed.length:
        if not findings:
            findings.append(reading_rules.wrong_value(text.spot, f"{called} has no beats"))
        return None, findings
    phrase = Phrase(
        kind=_KINDS.get(key, "melody"),
        notes=tuple(_note(strike, passage, key) for strike in timed.strikes),
        section_lines=timed.section_lines,
        speeds=timed.speeds,
        length=timed.length,
        whole=not findings,
    )
    return phrase, findings


def with_words(
    phrase: Phrase, texts: Sequence[Scalar], bars: list[Fraction]
) -> tuple[Phrase, list[Finding]]:
    """Return a phrase with its sung text, or its verses."""
    words, findings = sung(texts, [note.start for note in phrase.notes], bars)
    notes = [
        replace(note, word=word, verses=verses)
        for note, (word, *rest) in zip(phrase.notes, words, strict=True)
        for verses in [tuple(rest)]
    ]
    return replace(phrase, notes=tuple(notes)), findings


def script_named(key: str, tonic: Tonic) -> Script:
    """The script of a line's key: sargam, strokes, letters, degrees, solfa16 or kit."""
    if key == "strokes":
        return strokes().script()
    if key == "kit":
        return kit.script()
    if key == "letters":
        return letters_script(tonic)
    return {"sargam": SARGAM_SCRIPT, "degrees": DEGREES_SCRIPT, "solfa16": SOLFA16_SCRIPT}[key]


def _bars(
    phrase: Phrase, begins: Fraction, lands: Lands | None, beats: Fraction | None
) -> list[Fraction]:
    """Return the places a ``|`` of the words can mean: section lines, or else first beats."""
    written = [line.offset for line in phrase.section_lines]
    if written or beats is None or (lands is not None and lands.how == "free"):
        return written
    first = (1 - begins) % beats
    return [first + number * beats for number in range(int(phrase.length / beats) + 1)]


def _note(strike: Strike, passage: PlacedText, script: str) -> Note:
    value = strike.value
    cell = strike.cell
    return Note(
        start=strike.start,
        length=strike.length,
        spot=passage.spot(strike.at, strike.width),
        pitch=value if isinstance(value, int) else None,
        syllable=value if isinstance(value, str) and script != "kit" else "",
        grace=tuple(one for one in strike.grace if not isinstance(one, ChordSymbol)),
        marks=strike.marks,
        glides=strike.glides,
        text=strike.text,
        slur=strike.slur,
        cell=passage.text[cell.at : cell.at + cell.width],
        within=(strike.at - cell.at, strike.at - cell.at + strike.width),
        script=script,
        chord=value if isinstance(value, ChordSymbol) else None,
        drums=kit.struck_at_once(value) if isinstance(value, str) and script == "kit" else (),
    )


def begins_of(
    shape: LineShape, node: Mapping, beats: Fraction | None, eduppu: Fraction = Fraction(0)
) -> tuple[Fraction, list[Finding]]:
    """Return the beat that the line says it begins on; that of its eduppu where it says none."""
    begins = shape.begins
    value = node.get("begins")
    if begins is None or value is None:
        return (eduppu if beats is None else eduppu % beats) + 1, []
    if begins < 1 or (beats is not None and begins >= beats + 1):
        upto = f" to {show_exact(beats)}" if beats is not None else ""
        message = f"a line must begin on a beat of the cycle, 1{upto}, not on {show_exact(begins)}"
        if beats is None:
            return Fraction(1), [reading_rules.wrong_value(value.spot, message)]
        begins = (begins - 1) % beats + 1
        tries = [f"begins: {show_exact(begins)}"]
        return begins, [reading_rules.wrong_value(value.spot, message, tries)]
    if begins.denominator > 64:
        message = "a line can begin on a 64th of a beat at the finest"
        return Fraction(1), [reading_rules.wrong_value(value.spot, message)]
    return begins, []


def lands_of(shape: LineShape, node: Mapping) -> tuple[Lands | None, list[Finding]]:
    """Return what the line says of its own landing; None where it says nothing."""
    value = node.get("lands")
    if shape.lands is None or value is None:
        return None, []
    spot, text = value.spot, shape.lands.strip()
    if text == "free":
        return Lands("free"), []

    def refuse(message: str) -> tuple[None, list[Finding]]:
        tries = ["lands: free", "lands: anagat 1/2", "lands: atit 1/2"]
        return None, [reading_rules.wrong_value(spot, message, tries)]

    match = _LANDS.fullmatch(text)
    if match is None:
        return refuse(f"'{clip(text)}' is not a way of landing")
    try:
        by = parse_exact(match[2])
    except ValueError as error:
        return refuse(str(error))
    if not 0 < by <= 4:
        return refuse(f"anagat and atit need more than 0 and up to 4 beats, not {show_exact(by)}")
    return Lands("anagat" if match[1] == "anagat" else "atit", by), []


def early_of(lands: Lands | None) -> Fraction:
    """Return by how many beats a cadence lands before a first beat; below 0 after it."""
    if lands is None or lands.how == "free":
        return Fraction(0)
    return lands.by if lands.how == "anagat" else -lands.by


def unfit_name(key: Scalar) -> Finding | None:
    """Return the finding on a name that cannot stand in the form, on charts and in track names."""
    name = key.text
    if not name.strip():
        return reading_rules.wrong_value(key.spot, "a line needs a name", ["head:"])
    if not name.isprintable():
        what = "a line's name must be on one line, without control characters"
        return reading_rules.wrong_value(key.spot, what, ["head:"])
    if len(name) > MAX_NAME:
        what = f"a line's name has at most {MAX_NAME} letters, not {len(name)}"
        return reading_rules.too_long(key.spot, what, [f"{name[:20].strip()}:"])
    return None
