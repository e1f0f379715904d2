"""What a player reads: names under the notes and their script, clef, transposition, large print."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import get_args

from cyclechart.catalog.instruments import MIDDLE_KEYS, Clef, Instrument
from cyclechart.catalog.roles import Role
from cyclechart.catalog.svara_scripts import LATIN, SCRIPT_NAMES
from cyclechart.finding import Finding, Findings
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.near_names import nearest_names
from cyclechart.text.nodes import Mapping, Node, Scalar

NAMES = ("sargam", "letters", "degrees", "solfa16", "none")
CLEFS = tuple(clef for clef in get_args(Clef) if clef != "percussion")
KEYS = {
    "C": 0, "Db": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "F#": 6, "Gb": 6, "G": 7, "Ab": 8, "A": 9,
    "Bb": 10, "B": 11,
}  # fmt: skip
"""The keys that a part can be written in, by the tone that its C sounds."""
CONCERT = "concert"
PRINTS = ("large", "normal")
_READS = ("names", "script", "clef", "transposes", "print")
_EXAMPLE = "reads: {names: sargam, script: devanagari}"

_KEY_OF_TITLE = re.compile(r" in [A-G][♭♯]?$")


@dataclass(frozen=True, slots=True)
class Reads:
    """What a player asks to read; what they leave open is the catalogue's or the command's.

    ``names``: those under the notes, "" for the command's. ``transposes``: the key that their part
    is written in (one of ``KEYS`` or ``CONCERT``), "" for the instrument's own.
    """

    names: str = ""
    script: str = LATIN
    clef: Clef | None = None
    transposes: str = ""
    large: bool = False


PLAIN = Reads()
"""Nothing out of the ordinary."""


def as_read(on: Instrument, reads: Reads) -> Instrument:
    """Return an instrument with the clef, the transposition and the title of a player's part."""
    if reads.clef is None and not reads.transposes:
        return on
    clef = reads.clef or on.clef
    if not reads.transposes:
        return replace(on, clef=clef)
    title = _KEY_OF_TITLE.sub("", on.title)
    if reads.transposes == CONCERT:
        return replace(on, clef=clef, transposes=0, title=title)
    key = KEYS[reads.transposes]
    shown = reads.transposes.replace("b", "♭").replace("#", "♯")
    title = f"{title} in {shown}" if key or title != on.title else title
    return replace(on, clef=clef, transposes=_transposes(on, clef, key), title=title)


def _transposes(on: Instrument, clef: Clef, key: int) -> int:
    """Return the semitones from written to sounding pitch: in the octave nearest to the
    instrument's own, or in another clef the one in which it lies best on the staff."""
    octaves = [key + 12 * octave for octave in range(-4, 4)]
    if clef == on.clef:
        return min(octaves, key=lambda by: (abs(by - on.transposes), abs(by)))
    centre = (on.low + on.high) / 2
    return min(octaves, key=lambda by: (abs(centre - by - MIDDLE_KEYS[clef]), abs(by)))


def reads_from(
    name: str, value: Node | None, on: Instrument, role: Role
) -> tuple[Reads, list[Finding]]:
    """Return what a player reads, from the mapping under ``reads``."""
    if value is None:
        return PLAIN, []
    if not isinstance(value, Mapping):
        message = f"'reads' says what {clip(name)} reads, key by key"
        return PLAIN, [reading_rules.wrong_value(value.spot, message, [_EXAMPLE])]
    findings = Findings()
    given: dict[str, Scalar] = {}
    for key, (at, below) in value.pairs.items():
        if key not in _READS:
            findings.append(reading_rules.unknown_key(at.spot, key, _READS, "'reads'"))
        elif isinstance(below, Scalar):
            given[key] = below
        else:
            message = f"{key} must be one word"
            findings.append(reading_rules.wrong_value(below.spot, message, [_EXAMPLE]))
    reads = Reads(
        names=findings.take(_one_of("names", given, NAMES)),
        script=findings.take(_one_of("script", given, SCRIPT_NAMES)) or LATIN,
        clef=findings.take(_clef(name, given, on, role)),
        transposes=findings.take(_key(name, given, role)),
        large=findings.take(_one_of("print", given, PRINTS)) == "large",
    )
    if reads.script != LATIN and reads.names in ("letters", "degrees", "none"):
        spot = given["script"].spot
        message = f"the script is that of svara names, and {clip(name)} reads {reads.names}"
        tries = ["names: sargam", "names: solfa16"]
        findings.append(reading_rules.wrong_value(spot, message, tries))
        reads = replace(reads, script=LATIN)
    return reads, findings


def _one_of(key: str, given: dict[str, Scalar], known: Iterable[str]) -> tuple[str, list[Finding]]:
    """Return the word under a key, which must be a known one; "" for none."""
    value = given.get(key)
    if value is None:
        return "", []
    text = value.text.strip().lower()
    if text in known:
        return text, []
    return "", [_no_such(key, value, known)]


def _no_such(key: str, value: Scalar, known: Iterable[str]) -> Finding:
    names = list(known)
    message = f"{key} must be one of {', '.join(names)}, not '{clip(value.text)}'"
    tries = [f"{key}: {name}" for name in nearest_names(value.text, names, 2)]
    return reading_rules.wrong_value(value.spot, message, tries or [f"{key}: {names[0]}"])


def _clef(
    name: str, given: dict[str, Scalar], on: Instrument, role: Role
) -> tuple[Clef | None, list[Finding]]:
    text, findings = _one_of("clef", given, CLEFS)
    clef = next((one for one in CLEFS if one == text), None)
    if clef is None:
        return None, findings
    why = ""
    if not role.reads_pitches:
        why = "reads no pitches"
    elif role.plays_chords and on.staves > 1:
        why = "reads two staves"
    if why:
        return None, [_no_use("clef", name, why, given["clef"])]
    return clef, []


def _key(name: str, given: dict[str, Scalar], role: Role) -> tuple[str, list[Finding]]:
    value = given.get("transposes")
    if value is None:
        return "", []
    text = value.text.strip().replace("♭", "b").replace("♯", "#")
    key = CONCERT if text.lower() == CONCERT else text[:1].upper() + text[1:]
    if key != CONCERT and key not in KEYS:
        return "", [_no_such("transposes", value, [*KEYS, CONCERT])]
    if not role.reads_pitches:
        return "", [_no_use("transposes", name, "reads no pitches", value)]
    return key, []


def _no_use(key: str, name: str, why: str, value: Scalar) -> Finding:
    message = f"{clip(name)} {why}, so that '{key}' has no use"
    return reading_rules.wrong_value(value.spot, message, [f"leave '{key}' out"])
