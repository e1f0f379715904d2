"""Reading a tuning: just, equal, or tones with ratios or cents."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar
from cyclechart.theory.exact import parse_exact
from cyclechart.theory.tones import SARGAM, SEMITONE
from cyclechart.theory.tuning import EQUAL, JUST, JUST_TUNING, Tuning, own_tuning


def tuning_from(node: Node | None, findings: list[Finding], usual: Tuning = JUST_TUNING) -> Tuning:
    """just, equal, or a mapping of tones to ratios (with /) or cents (without); ``usual`` where
    nothing is said."""
    if node is None:
        return usual
    if isinstance(node, Scalar):
        name = node.text.strip()
        if name in ("just", "equal"):
            return EQUAL if name == "equal" else JUST_TUNING
        what = f"a tuning is just, equal or a mapping of tones, not '{clip(name)}'"
        findings.append(reading_rules.wrong_value(node.spot, what, ["tuning: just"]))
        return JUST_TUNING
    if not isinstance(node, Mapping):
        findings.append(
            reading_rules.wrong_value(node.spot, "a tuning is a word or a mapping of tones")
        )
        return JUST_TUNING
    values: dict[int, Fraction | float] = {}
    for letter, (key, value) in node.pairs.items():
        if letter not in SEMITONE:
            what = f"'{clip(letter)}' is not one of the twelve tones"
            findings.append(reading_rules.wrong_value(key.spot, what, [" ".join(SARGAM)]))
            continue
        size = _size(value, letter, findings)
        if size is not None:
            values[SEMITONE[letter]] = size
    return own_tuning(values)


def _size(node: Node, letter: str, findings: list[Finding]) -> Fraction | float | None:
    """A ratio or cents, within a semitone of the tone it tunes."""
    semitone = SEMITONE[letter]
    example = [f'{letter}: "{JUST[semitone]}"', f"{letter}: {JUST_TUNING.cents[semitone]:.1f}"]
    if not semitone:
        example = [f"leave {letter} out"]
    if not isinstance(node, Scalar):
        findings.append(
            reading_rules.wrong_value(node.spot, "a ratio or cents stand here", example)
        )
        return None
    try:
        exact = parse_exact(node.text)
    except ValueError as error:
        findings.append(reading_rules.wrong_value(node.spot, str(error), example))
        return None
    is_ratio = "/" in node.text
    if is_ratio and exact <= 0:
        findings.append(reading_rules.wrong_value(node.spot, "a ratio is more than 0", example))
        return None
    if not semitone and exact != is_ratio:
        what = f"{letter} is what the others are measured from: 1/1, or 0 cents"
        findings.append(reading_rules.wrong_value(node.spot, what, example))
        return None
    size: Fraction | float = exact if is_ratio else float(exact)
    probe = own_tuning({semitone: size})
    if abs(probe.bend(semitone)) > 100:
        what = (
            f"{node.text} is {probe.cents[semitone]:.0f} cents, more than a semitone "
            f"from where {letter} stands ({100 * semitone})"
        )
        findings.append(reading_rules.wrong_value(node.spot, what, example))
        return None
    return size
