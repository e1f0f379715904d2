"""The finding on an instrument that is not in the catalogue, with those that may be meant."""

from __future__ import annotations

from dataclasses import replace

from cyclechart.catalog.instrument_words import instruments_of_word, meant_instruments
from cyclechart.catalog.instruments import instrument
from cyclechart.catalog.names_by_sound import nearest_by_sound
from cyclechart.catalog.roles import ROLES
from cyclechart.finding import Edit, Finding, Spot, Suggestion
from cyclechart.piece.key_words import ROLE_WORDS
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.key_words import meant_key
from cyclechart.text.nodes import Mapping, Node, Scalar

MOST_TRIED = 4


def unknown_instrument(
    spot: Spot, name: str, text: str, value: Node | None, below: Node
) -> Finding:
    """Return the finding on an instrument by the name ``text``.

    ``value`` is where it is written, None where it is the player's own name; ``below`` is what
    stands under that name.
    """
    plays = _plays(below)
    plays = plays if plays in ROLES else meant_key(plays, ROLE_WORDS)
    found = [one for one in map(instrument, meant_instruments(text)) if one is not None]
    fitting = [one for one in found if not plays or plays in [role.name for role in one.roles]]
    names = [one.name for one in fitting or found][:MOST_TRIED]
    if value is None and not instruments_of_word(text):  # a slip in the instrument's own name
        tries = [Suggestion(f"{one}:", (Edit(spot, one),)) for one in names]
    else:
        tries = [_try(name, one, plays or _usual_role(one, below), value, below) for one in names]
    unknown = reading_rules.unknown_name(spot, "instrument", text, ())
    return replace(unknown, suggestions=tuple(tries))


def _plays(below: Node) -> str:
    value = below.get("plays") if isinstance(below, Mapping) else below
    return value.text.strip() if isinstance(value, Scalar) else ""


def _usual_role(name: str, below: Node) -> str:
    """Return the first role of an instrument where a role is written that is none; else ""."""
    on = instrument(name)
    return on.roles[0].name if on is not None and _plays(below) else ""


def _try(name: str, meant: str, plays: str, value: Node | None, below: Node) -> Suggestion:
    if value is not None:
        edits = (Edit(value.spot, meant),) if isinstance(value, Scalar) else ()
        return Suggestion(f"instrument: {meant}", edits)
    if not plays and isinstance(below, Scalar) and nearest_by_sound(name, {meant: meant}):
        return Suggestion(meant)
    role = f", plays: {plays}" if plays else ""
    return placed(below, f"{clip(name)}: {{instrument: {meant}{role}}}", meant, plays)


def placed(below: Node, shown: str, meant: str, plays: str) -> Suggestion:
    """Return what gives a player an instrument of another name: ``below`` is what stands under the
    player's own."""
    text = f"{{instrument: {meant}, plays: {plays}}}" if plays else f"{{instrument: {meant}}}"
    if isinstance(below, Scalar) and below.text.strip() and below.style is None:
        return Suggestion(shown, (Edit(below.spot, text),))
    if isinstance(below, Mapping) and below.pairs:
        start = below.source.spot(below.start)
        if below.source.text[below.start : below.start + 1] == "{":
            at = Spot(start.file, start.line, start.column + 1, 0)
            return Suggestion(shown, (Edit(at, f"instrument: {meant}, "),))
        at = Spot(start.file, start.line, start.column, 0)
        inset = " " * (start.column - 1)
        return Suggestion(shown, (Edit(at, f"instrument: {meant}\n{inset}"),))
    return Suggestion(shown)
