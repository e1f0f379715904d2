"""The JSON Schema of the keys whose values have several forms, for editors.

Their readers take them apart and say what is wrong. An editor only has to know the forms, and the
words where there are few.
"""

from __future__ import annotations

from collections.abc import Mapping

from cyclechart.catalog.roles import ROLES
from cyclechart.catalog.svara_scripts import SCRIPT_NAMES
from cyclechart.piece import reads
from cyclechart.piece.steps import BREAKS, LEVELS
from cyclechart.piece.under import MAX_LINES
from cyclechart.piece.words import MOST_VERSES
from cyclechart.text.shapes import NUMBER, TEXT

_Json = Mapping[str, object]

_TEXT: _Json = {"type": list(TEXT.json_types)}
_NUMBER: _Json = {"type": list(NUMBER.json_types)}
_YES_OR_NO: _Json = {"type": ["boolean", "string", "number"]}


def _list_of(item: _Json, least: int = 1, **more: object) -> _Json:
    return {"type": "array", "items": item, "minItems": least, **more}


def _by_name(value: _Json) -> _Json:
    """The user's own names, each with a value."""
    return {"type": "object", "additionalProperties": value}


def _with_keys(**keys: _Json) -> _Json:
    """A mapping with no other keys."""
    return {"type": "object", "additionalProperties": False, "properties": keys}


def _one_of(*forms: _Json, title: str = "") -> _Json:
    return {"anyOf": list(forms), **({"title": title} if title else {})}


_NAMES = _one_of(_TEXT, _list_of(_TEXT))

_PLAY: _Json = _one_of(_TEXT, _by_name(_TEXT), title="A line, or a line for each player")
_BY: _Json = {**_NAMES, "title": "Players"}
_TRADE: _Json = {**_list_of(_TEXT, 2), "title": "Players who take turns"}
_GROOVE: _Json = {**_NUMBER, "title": "Cycles"}
_TEMPO: _Json = _one_of(
    _NUMBER,
    {**_with_keys(to=_NUMBER), "required": ["to"]},
    title="Beats a minute, or what they come to by the end of the step",
)
_DYNAMICS: _Json = {"enum": list(LEVELS), "title": "Dynamics"}
_BREAK: _Json = {"enum": list(BREAKS), "title": "Break before the step"}
_TONIC: _Json = {"type": "string", "title": "Sa"}
_UNDER: _Json = _one_of(
    {"const": "none"},
    _by_name(_one_of(_TEXT, _list_of(_TEXT, maxItems=MAX_LINES))),
    title="Lines that players loop while they have no line",
)
_HITS: _Json = _one_of(
    _TEXT,
    {**_with_keys(line=_TEXT, by=_NAMES, stop=_YES_OR_NO), "required": ["line"]},
    title="A line whose rhythm is struck, or accents",
)
_NOTE: _Json = _one_of(_TEXT, _by_name(_TEXT), title="Words for all, or for each player")
_SWING: _Json = {**_NUMBER, "title": "Long to short of a halved beat, 2/1 or 1/1"}
_OCTAVE: _Json = {**_by_name(_NUMBER), "title": "Octaves higher for each player"}
_FERMATA: _Json = {**_YES_OR_NO, "title": "A hold after the last stroke: true, or seconds"}
_WORDS: _Json = _one_of(
    _TEXT, _list_of(_TEXT, maxItems=MOST_VERSES), title="Sung text, or its verses"
)

_READS = _with_keys(
    names={"enum": list(reads.NAMES)},
    script={"enum": list(SCRIPT_NAMES)},
    clef={"enum": list(reads.CLEFS)},
    transposes={"type": "string"},
    print={"enum": list(reads.PRINTS)},
)
_PLAYS: _Json = {"enum": list(ROLES)}
_PLAYER = _with_keys(
    plays=_PLAYS, instrument={"type": "string"}, octave=_NUMBER, drone={"type": "string"},
    reads=_READS,
)  # fmt: skip
_PLAYERS: _Json = _one_of(
    {"type": "string"},
    _by_name(_one_of({"type": "null"}, _PLAYS, _PLAYER)),
    title="An ensemble, or each player",
)

FORMS: Mapping[str, _Json] = {
    "play": _PLAY,
    "by": _BY,
    "trade": _TRADE,
    "groove": _GROOVE,
    "tempo": _TEMPO,
    "dynamics": _DYNAMICS,
    "break": _BREAK,
    "tonic": _TONIC,
    "under": _UNDER,
    "hits": _HITS,
    "note": _NOTE,
    "swing": _SWING,
    "octave": _OCTAVE,
    "fermata": _FERMATA,
    "words": _WORDS,
    "players": _PLAYERS,
}
"""By the name of the key, of a piece, a line or a step."""
