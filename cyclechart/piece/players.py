"""The band: the players of a piece, by the name of an ensemble or written out."""

from __future__ import annotations

from cyclechart.catalog.instruments import ROLES, Instrument, Role, instrument, instrument_names
from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Spot
from cyclechart.piece.model import DRONE, HAND_DRUMS, MELODY
from cyclechart.piece.player import Player
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.near_names import nearest_names
from cyclechart.text.nodes import Mapping, Node, Scalar

MOST_PLAYERS = 32
LONGEST_NAME = 40
MOST_OCTAVES = 3
_KEYS = ("plays", "instrument", "octave")
_EXAMPLE = "players: {flute: {plays: melody}, tabla: {plays: theka}, tanpura: {plays: drone}}"


def players_from(
    node: Node | None, library: Library, findings: list[Finding]
) -> tuple[Player, ...]:
    """The players of a piece; where it names none, one melody, hand drums and drone."""
    if node is None:
        return default_players()
    if isinstance(node, Scalar):
        found = library.ensemble(node.text.strip(), node.spot)
        if isinstance(found, Finding):
            findings.append(found)
            return default_players()
        node = found
    if not isinstance(node, Mapping) or not node.pairs:
        what = "players are an ensemble's name, or each player with what he plays"
        findings.append(reading_rules.wrong_value(node.spot, what, [_EXAMPLE]))
        return default_players()
    if len(node.pairs) > MOST_PLAYERS:
        what = f"a band has at most {MOST_PLAYERS} players, not {len(node.pairs)}"
        findings.append(reading_rules.too_long(node.spot, what))
        return default_players()
    made = [_player(name, key, below, findings) for name, (key, below) in node.pairs.items()]
    return tuple(player for player in made if player is not None) or default_players()


def default_players() -> tuple[Player, ...]:
    """Who plays a piece that names nobody."""
    spot = Spot("", 1, 1)
    trio: tuple[tuple[str, str, Role], ...] = (
        (MELODY, "flute", "melody"),
        (HAND_DRUMS, HAND_DRUMS, "theka"),
        (DRONE, DRONE, "drone"),
    )
    return tuple(Player(name, _certain(what), role, spot) for name, what, role in trio)


def _certain(name: str) -> Instrument:
    made = instrument(name)
    assert made is not None
    return made


def _player(name: str, key: Node, below: Node, findings: list[Finding]) -> Player | None:
    """One player: ``flute: {plays: melody, octave: 1}``, ``flute: melody`` or ``flute:``."""
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME:
        what = f"a player's name has 1 to {LONGEST_NAME} letters"
        findings.append(reading_rules.wrong_value(key.spot, what))
        return None
    said: dict[str, Node] = {}
    if isinstance(below, Mapping):
        for word, (at, value) in below.pairs.items():
            if word in _KEYS:
                said[word] = value
            else:
                findings.append(reading_rules.unknown_key(at.spot, word, _KEYS, "a player"))
    elif isinstance(below, Scalar):
        said = {"plays": below} if below.text.strip() else {}
    else:
        what = f"'{clip(name)}' says what he plays"
        findings.append(reading_rules.wrong_value(below.spot, what, [f"{name}: {{plays: melody}}"]))
        return None
    on = _instrument(name, key, said.get("instrument"), findings)
    if on is None:
        return None
    role = _role(name, on, said.get("plays"), findings)
    octave = _octave(said.get("octave"), findings)
    return None if role is None else Player(name, on, role, key.spot, octave)


def _instrument(
    name: str, key: Node, value: Node | None, findings: list[Finding]
) -> Instrument | None:
    text, spot = name, key.spot
    if value is not None:
        text, spot = (value.text.strip() if isinstance(value, Scalar) else ""), value.spot
    made = instrument(text)
    if made is None:
        known = instrument_names()
        finding = reading_rules.unknown_name(spot, "instrument", text, known)
        findings.append(finding)
    return made


def _role(name: str, on: Instrument, value: Node | None, findings: list[Finding]) -> Role | None:
    """What a player plays: said, or the usual of the instrument."""
    text = value.text.strip() if isinstance(value, Scalar) else ""
    if value is None or (isinstance(value, Scalar) and not text):
        return on.roles[0]
    if text not in ROLES:
        what = f"plays is one of {', '.join(ROLES)}, not '{clip(text)}'"
        close = nearest_names(text, ROLES)
        tries = [f"plays: {one}" for one in close or on.roles]
        findings.append(reading_rules.wrong_value(value.spot, what, tries))
        return None
    if text not in on.roles:
        what = f"{on.title} plays {' or '.join(on.roles)}, not {text}"
        findings.append(
            reading_rules.wrong_value(value.spot, what, [f"plays: {role}" for role in on.roles])
        )
        return None
    return text


def _octave(value: Node | None, findings: list[Finding]) -> int:
    if value is None:
        return 0
    text = value.text.strip() if isinstance(value, Scalar) else ""
    digits = text.removeprefix("-").removeprefix("+")
    if digits.isascii() and digits.isdigit() and len(digits) == 1 and int(digits) <= MOST_OCTAVES:
        return -int(digits) if text.startswith("-") else int(digits)
    what = f"octave is a whole number from -{MOST_OCTAVES} to {MOST_OCTAVES}"
    findings.append(reading_rules.wrong_value(value.spot, what, ["octave: 1", "octave: -1"]))
    return 0
