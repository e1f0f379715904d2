"""The shape of a piece file, and of the mappings in it."""

from __future__ import annotations

from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.piece.key_words import LINE_WORDS, PIECE_WORDS, STEP_WORDS
from cyclechart.text.excerpts import clip
from cyclechart.text.shapes import (
    ANYTHING,
    ITSELF,
    NUMBER,
    NUMBER_OR_AUTO,
    TEXT,
    Anything,
    Key,
    ListOf,
    MappingOf,
    OneValue,
    Shape,
    ShapeOf,
    optional,
    reference,
    required,
)
from cyclechart.theory.cadence import YATIS, Yati

SCRIPTS = ("sargam", "strokes", "letters", "degrees", "solfa16")
TEXTS = (*SCRIPTS, "chords", "kit")
"""The keys that the text of a line can stand under."""
VERBS = ("play", "free", "solo", "trade", "groove")

_MODE = Anything({"anyOf": [{"type": "string"}, reference(ModeShape)]})
_CYCLE = Anything({"anyOf": [{"type": "string"}, reference(CycleShape)]})
_CENTS = {"type": "object", "additionalProperties": {"type": ["number", "string"]}}
_TUNING = Anything({"anyOf": [{"enum": ["just", "equal"]}, _CENTS]})
_LINES = "lines:\n  head:\n    sargam: S R G m"


_OTHER_SPELLINGS: dict[str, Yati] = {
    "sama yati": "sama",
    "srotogata": "srotovaha",
    "srothovaha": "srotovaha",
    "gopucha": "gopuccha",
    "gopuchcha": "gopuccha",
    "mridangam": "mridanga",
    "mrudanga": "mridanga",
    "damara": "damaru",
    "veda madhyama": "damaru",
}


def _yati(written: str) -> Yati:
    text = " ".join(written.lower().split())
    for yati in YATIS:
        if yati == text:
            return yati
    if text in _OTHER_SPELLINGS:
        return _OTHER_SPELLINGS[text]
    raise ValueError(f"'{clip(written)}' is not a yati; write {', '.join(YATIS[:-1])} or damaru")


YATI = OneValue("a yati", _yati, ("string",))
_SPEEDS = Anything({"type": ["string", "number", "array"], "items": {"type": ["number", "string"]}})


class StatementShape(Shape):
    """The text of a statement in one script, or the name of another line."""

    sargam = optional(TEXT)
    strokes = optional(TEXT)
    letters = optional(TEXT)
    degrees = optional(TEXT)
    solfa16 = optional(TEXT)
    line = optional(TEXT)


class FirstPartShape(StatementShape):
    """The first part of a korvai: a phrase said in a yati, with a gap after each time."""

    where = "the first part of a korvai"
    bare = "the first part of a korvai needs its phrase under a key"
    bare_try = ("sargam: {text}", "sargam: G m P d n d P m")
    times = optional(NUMBER)
    yati = optional(YATI)
    by = optional(NUMBER)
    gap = optional(NUMBER_OR_AUTO, None)


class CadenceShape(StatementShape):
    """A cadence: a statement said several times so that the last stroke meets the first beat.

    The statement is a text in one script, another line, or a cadence of its own (a chakradar).
    """

    where = "a cadence"
    bare = "a cadence needs its statement under a key"
    bare_try = ("sargam: {text}", "sargam: P m GR G")
    cadence: Key[CadenceShape | None] = optional(ITSELF)
    body = optional(TEXT)
    first = optional(ShapeOf(FirstPartShape))
    times = optional(NUMBER)
    yati = optional(YATI)
    by = optional(NUMBER)
    speeds = optional(_SPEEDS)
    gap = optional(NUMBER_OR_AUTO, None)
    begins = optional(NUMBER_OR_AUTO, None)
    within = optional(NUMBER)


class LineShape(Shape):
    """A line: its text in one script, or a cadence or chain."""

    where = "a line"
    instead = LINE_WORDS
    bare = "line '{key}' needs its text under a key"
    bare_try = ("sargam: {text}", "sargam: S R G m")
    begins = optional(NUMBER)
    eduppu = optional(NUMBER)
    lands = optional(TEXT)
    sargam = optional(TEXT)
    strokes = optional(TEXT)
    letters = optional(TEXT)
    degrees = optional(TEXT)
    solfa16 = optional(TEXT)
    chords = optional(TEXT)
    rhythm = optional(TEXT)
    kit = optional(TEXT)
    words = optional(ANYTHING)
    cadence = optional(ShapeOf(CadenceShape))
    chain = optional(ListOf(TEXT))
    from_ = optional(TEXT)
    part = optional(TEXT)
    reversed_ = optional(TEXT)
    turned = optional(TEXT)
    move = optional(NUMBER)
    mode = optional(_MODE)
    speed = optional(TEXT)


class StepShape(Shape):
    """One step of the form: one verb and what goes with it."""

    where = "a step of the form"
    instead = STEP_WORDS
    bare = "a step of the form is written - play: head"
    bare_try = ("- play: {text}", "- play: head")
    inside = {  # noqa: RUF012
        "stop": "hits: {line: LINE, stop: true}",
        "line": "hits: {line: LINE}",
    }
    play = optional(ANYTHING)
    free = optional(TEXT)
    solo = optional(TEXT)
    trade = optional(ANYTHING)
    groove = optional(ANYTHING)
    by = optional(ANYTHING)
    cycles = optional(NUMBER)
    halves = optional(TEXT)
    over = optional(TEXT)
    on_cue = optional(TEXT)
    times = optional(NUMBER)
    seconds = optional(NUMBER)
    tempo = optional(ANYTHING)
    cycle = optional(_CYCLE)
    mode = optional(_MODE)
    tonic = optional(ANYTHING)
    dynamics = optional(ANYTHING)
    break_ = optional(ANYTHING)
    under = optional(ANYTHING)
    hits = optional(ANYTHING)
    note = optional(ANYTHING)
    swing = optional(ANYTHING)
    octave = optional(ANYTHING)
    fermata = optional(ANYTHING)


class LibertyShape(Shape):
    """A departure taken on purpose."""

    where = "a liberty"
    bare = "a liberty is written - rule: foreign-tone, with why: below it"
    bare_try = ("- rule: {text}", "- rule: foreign-tone")
    rule = optional(TEXT, example="rule: foreign-tone")
    line = optional(TEXT)
    tone = optional(TEXT)
    why = optional(TEXT, example="why: the borrowed leading tone is the joke of the tune")


class PieceShape(Shape):
    """A whole piece. A mode or cycle written out is fitted to its own shape where it is read."""

    where = "a piece"
    instead = PIECE_WORDS
    title = required(TEXT, "title: Ferry at First Light")
    composer = optional(TEXT, "")
    date = optional(TEXT, "")
    version = optional(TEXT, "")
    tonic = required(TEXT, "tonic: D")
    mode = required(_MODE, "mode: charukeshi")
    cycle = required(_CYCLE, "cycle: jhaptal")
    tempo = required(NUMBER, "tempo: 92")
    eduppu = optional(NUMBER)
    tuning = optional(_TUNING)
    sound = optional(TEXT)
    players = optional(ANYTHING)
    under = optional(ANYTHING)
    swing = optional(ANYTHING)
    lines = required(MappingOf(ShapeOf(LineShape), _LINES), _LINES)
    form = optional(ListOf(ShapeOf(StepShape)))
    liberties = optional(ListOf(ShapeOf(LibertyShape)))
    count_in = optional(TEXT)
    seed = optional(NUMBER)
