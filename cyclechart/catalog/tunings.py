"""Reading a tuning: just, equal, or tones with ratios or cents."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.finding import Finding, Findings
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar
from cyclechart.theory.exact import parse_exact
from cyclechart.theory.tones import SARGAM, SEMITONE
from cyclechart.theory.tuning import EQUAL, JUST, JUST_TUNING, Tuning, own_tuning


def tuning_from(node: Node | None, usual: Tuning = JUST_TUNING) -> tuple[Tuning, list[Finding]]:
    """Return a tuning: just, equal, or a mapping of tones to ratios (with /) or cents (without).

    ``usual`` is the tuning where the file gives none.
    """
    if node is None:
        return usual, []
    if isinstance(node, Scalar):
        name = node.text.strip()
        if name in ("just", "equal"):
            return (EQUAL if name == "equal" else JUST_TUNING), []
        message = f"a tuning must be just, equal or a mapping of tones, not '{clip(name)}'"
        return JUST_TUNING, [reading_rules.wrong_value(node.spot, message, ["tuning: just"])]
    if not isinstance(node, Mapping):
        message = "a tuning must be a word or a mapping of tones"
        return JUST_TUNING, [reading_rules.wrong_value(node.spot, message)]
    findings = Findings()
    values: dict[int, Fraction | float] = {}
    for letter, (key, value) in node.pairs.items():
        if letter not in SEMITONE:
            message = f"'{clip(letter)}' is not one of the twelve tones"
            findings.append(reading_rules.wrong_value(key.spot, message, [" ".join(SARGAM)]))
            continue
        size = findings.take(_size(value, letter))
        if size is not None:
            values[SEMITONE[letter]] = size
    return own_tuning(values), findings


def _size(node: Node, letter: str) -> tuple[Fraction | float | None, list[Finding]]:
    """Return a ratio or cents within a semitone of the tone it tunes."""
    semitone = SEMITONE[letter]
    example = [f'{letter}: "{JUST[semitone]}"', f"{letter}: {JUST_TUNING.cents[semitone]:.1f}"]
    if not semitone:
        example = [f"leave {letter} out"]

    def refuse(message: str) -> tuple[None, list[Finding]]:
        return None, [reading_rules.wrong_value(node.spot, message, example)]

    if not isinstance(node, Scalar):
        return refuse("this must be a ratio or a number of cents")
    try:
        exact = parse_exact(node.text)
    except ValueError as error:
        return refuse(str(error))
    is_ratio = "/" in node.text
    if is_ratio and exact <= 0:
        return refuse("a ratio must be more than 0")
    if not semitone and exact != is_ratio:
        return refuse(f"{letter} must be 1/1, or 0 cents: the others are measured from it")
    size: Fraction | float = exact if is_ratio else float(exact)
    probe = own_tuning({semitone: size})
    if abs(probe.bend(semitone)) > 100:
        return refuse(
            f"{node.text} is {probe.cents[semitone]:.0f} cents, more than a semitone "
            f"from {letter} ({100 * semitone})"
        )
    return size, []
