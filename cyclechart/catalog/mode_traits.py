"""Reading what a mode knows beside its paths: other printed forms, drone, andolan, weak tones."""

from __future__ import annotations

from typing import NamedTuple

from cyclechart.catalog.tone_rows import goes_the_way, row_of_tones, rows_under
from cyclechart.finding import Finding, Findings
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Scalar, Sequence
from cyclechart.theory.mode import REGISTERS, PrintedForm, Width
from cyclechart.theory.tones import SARGAM, SEMITONE

DRONES = ("P", "m", "N")
"""The tones to which a drone's second string is tuned (common practice)."""
WIDTHS: dict[str, Width] = {"wide": "wide", "small": "small"}


class Traits(NamedTuple):
    """What a definition says beside its paths, as the fields of a ``Mode``."""

    also: tuple[PrintedForm, ...]
    drone: int | None
    andolan: tuple[tuple[int, Width], ...]
    weak: tuple[int, ...]
    register: str


def traits_of(node: Mapping) -> tuple[Traits, list[Finding]]:
    """Return the traits in a mode's definition."""
    findings = Findings()
    weak = [tone for item in rows_under(node, "weak") for tone in findings.take(row_of_tones(item))]
    traits = Traits(
        findings.take(_other_forms(node)),
        findings.take(_drone(node)),
        findings.take(_andolan(node)),
        tuple(dict.fromkeys(pitch % 12 for pitch in weak)),
        findings.take(_register(node)),
    )
    return traits, findings


def _other_forms(node: Mapping) -> tuple[tuple[PrintedForm, ...], list[Finding]]:
    """Return the forms under ``also``: each gives a path or two that go the right way."""
    findings = Findings()
    listed = node.get("also")
    forms = []
    for item in listed.items if isinstance(listed, Sequence) else ():
        if not isinstance(item, Mapping):
            continue
        form = PrintedForm(
            ascent=findings.take(_path(item, "ascent")),
            descent=findings.take(_path(item, "descent")),
            source=_text(item, "source"),
        )
        if not form.ascent and not form.descent:
            message = "another form needs an ascent, a descent or both"
            findings.append(reading_rules.mode_unsound(item.spot, message, (), "error"))
        forms.append(form)
    return tuple(forms), findings


def _path(node: Mapping, key: str) -> tuple[tuple[int, ...], list[Finding]]:
    value = node.get(key)
    if value is None:
        return (), []
    path, findings = row_of_tones(value)
    if not findings and not goes_the_way(path, rising=key == "ascent"):
        goes = "rise to S' or above" if key == "ascent" else "fall to S or below"
        message = f"the {key} does not {goes}"
        findings.append(reading_rules.mode_unsound(value.spot, message, (), "error"))
    return path, findings


def _text(node: Mapping, key: str) -> str:
    value = node.get(key)
    return value.text if isinstance(value, Scalar) else ""


def _drone(node: Mapping) -> tuple[int | None, list[Finding]]:
    """Return the tone of the second string."""
    value = node.get("drone")
    if not isinstance(value, Scalar):
        return None, []
    if value.text.strip() not in DRONES:
        message = f"drone: the second string is tuned to P, m or N, not '{clip(value.text)}'"
        return None, [reading_rules.wrong_value(value.spot, message, ["drone: P"])]
    return SEMITONE[value.text.strip()], []


def _andolan(node: Mapping) -> tuple[tuple[tuple[int, Width], ...], list[Finding]]:
    """Return the tones that shake of themselves, each with its width."""
    findings = Findings()
    written = node.get("andolan")
    shaken: list[tuple[int, Width]] = []
    for letter, (key, value) in written.pairs.items() if isinstance(written, Mapping) else ():
        if letter not in SEMITONE:
            message = f"'{clip(letter)}' is not one of the twelve tones"
            findings.append(reading_rules.wrong_value(key.spot, message, [" ".join(SARGAM)]))
        elif isinstance(value, Scalar) and value.text.strip() in WIDTHS:
            shaken.append((SEMITONE[letter], WIDTHS[value.text.strip()]))
        else:
            message = f"andolan: {letter} must be wide or small"
            findings.append(reading_rules.wrong_value(value.spot, message, [f"{letter}: wide"]))
    return tuple(shaken), findings


def _register(node: Mapping) -> tuple[str, list[Finding]]:
    """Return the register in which the mode lives."""
    value = node.get("register")
    if not isinstance(value, Scalar):
        return "", []
    name = value.text.strip()
    if name not in REGISTERS:
        message = f"register must be one of {', '.join(REGISTERS)}, not '{clip(name)}'"
        return "", [reading_rules.wrong_value(value.spot, message, list(REGISTERS))]
    return name, []
