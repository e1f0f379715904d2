"""The band: the players of a piece, by the name of an ensemble or written out."""

from __future__ import annotations

from dataclasses import replace

from cyclechart.catalog import roles
from cyclechart.catalog.instruments import Instrument, instrument
from cyclechart.catalog.library import Library
from cyclechart.catalog.roles import ROLES, Role
from cyclechart.finding import Edit, Finding, Findings, Spot, Suggestion
from cyclechart.piece.key_words import PLAYER_WORDS, ROLE_WORDS
from cyclechart.piece.model import DRONE, HAND_DRUMS, MELODY
from cyclechart.piece.player import Player
from cyclechart.piece.reads import reads_from
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.key_words import meant_key, suggestion
from cyclechart.text.near_names import nearest_names
from cyclechart.text.nodes import Mapping, Node, Scalar
from cyclechart.theory.tones import SARGAM, SEMITONE

MOST_PLAYERS = 32
LONGEST_NAME = 40
MOST_OCTAVES = 3
_KEYS = ("plays", "instrument", "octave", "drone", "reads")
_VOICES = ("soprano", "alto", "tenor", "baritone")
"""The voices whose names are those of saxophones too."""
_EXAMPLE = "players: {flute: {plays: melody}, tabla: {plays: theka}, tanpura: {plays: drone}}"


def players_from(node: Node | None, library: Library) -> tuple[tuple[Player, ...], list[Finding]]:
    """Return the players of a piece; where it names none, one melody, hand drums and drone."""
    if node is None:
        return default_players(), []
    if isinstance(node, Scalar) and node.text.strip():
        ensemble = library.ensemble(node.text.strip(), node.spot)
        if isinstance(ensemble, Finding):
            return default_players(), [_single_player(node, ensemble)]
        node = ensemble
    if not isinstance(node, Mapping) or not node.pairs:
        message = "'players' must name an ensemble, or list each player with a role"
        return default_players(), [reading_rules.wrong_value(node.spot, message, [_EXAMPLE])]
    if len(node.pairs) > MOST_PLAYERS:
        message = f"a band has at most {MOST_PLAYERS} players, not {len(node.pairs)}"
        return default_players(), [reading_rules.too_long(node.spot, message)]
    findings = Findings()
    read = [findings.take(_player(name, key, below)) for name, (key, below) in node.pairs.items()]
    players = tuple(player for player in read if player is not None)
    for player in players:
        if player.name in _VOICES:
            findings += _meant_as_sax(player, node.pairs[player.name][1], players)
    return players or default_players(), findings


def _meant_as_sax(player: Player, below: Node, band: tuple[Player, ...]) -> list[Finding]:
    """Return the finding on a singer among horns whose name is that of a saxophone too."""
    if isinstance(below, Mapping) and "instrument" in below.pairs:
        return []
    from cyclechart.catalog.instrument_words import sax_meant
    from cyclechart.piece.unknown_instrument import placed

    others = [other.instrument for other in band if other is not player]
    sax = sax_meant(player.name, player.instrument, others)
    if not sax:
        return []
    what = f"'{player.name}' is taken for a singer; among horns it may be the {player.name} sax"
    name = player.name
    tries = [
        placed(below, f"{name}: {{instrument: {one}, plays: melody}}", one, "melody")
        for one in (sax, f"{name} voice")
    ]
    return [reading_rules.two_meanings(player.spot, what, tries)]


def default_players() -> tuple[Player, ...]:
    """Return the players of a piece that names nobody."""
    spot = Spot("", 1, 1)
    trio: tuple[tuple[str, str, Role], ...] = (
        (MELODY, "flute", roles.MELODY),
        (HAND_DRUMS, HAND_DRUMS, roles.THEKA),
        (DRONE, DRONE, roles.DRONE),
    )
    return tuple(Player(name, _known(on), role, spot) for name, on, role in trio)


def _known(name: str) -> Instrument:
    """Return an instrument that the catalogue is sure to have."""
    known = instrument(name)
    assert known is not None
    return known


def _player(name: str, key: Node, below: Node) -> tuple[Player | None, list[Finding]]:
    """Return one player: ``flute: {plays: melody, octave: 1}``, ``flute: melody`` or ``flute:``."""
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME:
        message = f"a player's name must have 1 to {LONGEST_NAME} letters"
        return None, [reading_rules.wrong_value(key.spot, message)]
    findings = Findings()
    values: dict[str, Node] = {}
    if isinstance(below, Mapping):
        for word, (at, value) in below.pairs.items():
            if word in _KEYS:
                values[word] = value
            else:
                findings.append(_unknown_key(at, word, below))
    elif isinstance(below, Scalar):
        values = {"plays": below} if below.text.strip() else {}
    else:
        message = f"player '{clip(name)}' needs a role"
        example = f"{name}: {{plays: melody}}"
        return None, [reading_rules.wrong_value(below.spot, message, [example])]
    on = findings.take(_instrument(name, key, values.get("instrument"), below))
    if on is None:
        return None, findings
    role = findings.take(_role(on, values.get("plays")))
    octave = findings.take(_octave(values.get("octave")))
    if role is None:
        return None, findings
    drone = findings.take(_drone(name, role, values.get("drone")))
    reads = findings.take(reads_from(name, values.get("reads"), on, role))
    return Player(name, on, role, key.spot, octave, drone, reads=reads), findings


def _single_player(node: Scalar, unknown: Finding) -> Finding:
    """Return the finding on an ensemble that there is not; an instrument in its place is shown as
    a player."""
    on = instrument(node.text)
    if on is None:
        return unknown
    shown = f"players: {{{on.name}: {{plays: {on.roles[0].name}}}}}"
    edit = Edit(node.spot, f"{{{on.name}: {{plays: {on.roles[0].name}}}}}")
    return replace(unknown, suggestions=(Suggestion(shown, (edit,)),))


def _unknown_key(key: Scalar, word: str, below: Mapping) -> Finding:
    meant = meant_key(word, PLAYER_WORDS)
    tries = [suggestion(key, meant, below, _KEYS)] if meant else []
    known = () if meant else _KEYS
    return reading_rules.unknown_key(key.spot, word, known, "a player", tries)


def _instrument(
    name: str, key: Node, value: Node | None, below: Node
) -> tuple[Instrument | None, list[Finding]]:
    """Return the instrument that is named, or without one the one of the player's name."""
    text, spot = name, key.spot
    if value is not None:
        text, spot = (value.text.strip() if isinstance(value, Scalar) else ""), value.spot
    known = instrument(text)
    if known is None:
        from cyclechart.piece.unknown_instrument import unknown_instrument  # slow, and rare

        return None, [unknown_instrument(spot, name, text, value, below)]
    return known, []


def _role(on: Instrument, value: Node | None) -> tuple[Role | None, list[Finding]]:
    """Return the role that is written, or without one the usual role of the instrument."""
    text = value.text.strip() if isinstance(value, Scalar) else ""
    if value is None or (isinstance(value, Scalar) and not text):
        return on.roles[0], []
    names = [role.name for role in on.roles]
    if text not in ROLES:
        message = f"plays must be one of {', '.join(ROLES)}, not '{clip(text)}'"
        meant = [role for role in (meant_key(text, ROLE_WORDS),) if role in names]
        tries = [f"plays: {role}" for role in meant or nearest_names(text, ROLES) or names]
        return None, [reading_rules.wrong_value(value.spot, message, tries)]
    if text not in names:
        message = f"{on.title} plays {' or '.join(names)}, not {text}"
        tries = [f"plays: {role}" for role in names]
        return None, [reading_rules.wrong_value(value.spot, message, tries)]
    return ROLES[text], []


def _octave(value: Node | None) -> tuple[int, list[Finding]]:
    """Return by how many octaves a part is moved; 0 where the file does not say."""
    if value is None:
        return 0, []
    text = value.text.strip() if isinstance(value, Scalar) else ""
    digits = text.removeprefix("-").removeprefix("+")
    if digits.isascii() and digits.isdigit() and len(digits) == 1 and int(digits) <= MOST_OCTAVES:
        return (-int(digits) if text.startswith("-") else int(digits)), []
    message = f"octave must be a whole number from -{MOST_OCTAVES} to {MOST_OCTAVES}"
    tries = ["octave: 1", "octave: -1"]
    return 0, [reading_rules.wrong_value(value.spot, message, tries)]


def _drone(name: str, role: Role, value: Node | None) -> tuple[int | None, list[Finding]]:
    """Return the tone of a drone's second string; None where the file does not say."""
    if value is None:
        return None, []
    if not role.is_drone:
        message = f"'drone' tunes a drone's second string, and {clip(name)} plays {role.name}"
        tries = ["tanpura: {plays: drone, drone: P}"]
        return None, [reading_rules.wrong_value(value.spot, message, tries)]
    text = value.text.strip() if isinstance(value, Scalar) else ""
    if text in SEMITONE:
        return SEMITONE[text], []
    message = f"drone: the second string has one of the tones {' '.join(SARGAM)}"
    tries = ["drone: P", "drone: m", "drone: N"]
    return None, [reading_rules.wrong_value(value.spot, message, tries)]
