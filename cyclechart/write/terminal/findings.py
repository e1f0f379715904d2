"""Findings as text for a person."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cyclechart.finding import Finding, Place
from cyclechart.text.source import Source
from cyclechart.theory.exact import show_exact
from cyclechart.write.terminal.colours import Painter, plain

WIDEST = 100
"""The most characters of a line of the file; of a longer one only those around the place."""


def as_text(
    findings: Iterable[Finding], sources: Mapping[str, Source], paint: Painter = plain
) -> str:
    """One block a finding: its place in the file, a caret under it, the sentence, what to try."""
    return "\n".join(_block(finding, sources, paint) for finding in findings)


def summary(findings: Iterable[Finding], pieces: int) -> str:
    """The closing line: the number of findings of each severity, and of pieces."""
    counts = {"error": 0, "warning": 0, "advice": 0}
    taken = 0
    for finding in findings:
        if finding.liberty is None:
            counts[finding.severity] += 1
        else:
            taken += 1
    parts = [_counted(number, name) for name, number in counts.items() if number]
    if taken:
        parts.append("1 liberty taken" if taken == 1 else f"{taken} liberties taken")
    where = "1 piece" if pieces == 1 else f"{pieces} pieces"
    return f"{where}: {', '.join(parts) if parts else 'no findings'}"


def _counted(number: int, name: str) -> str:
    if name == "advice":
        return "1 item of advice" if number == 1 else f"{number} items of advice"
    return f"{number} {name}" if number == 1 else f"{number} {name}s"


def _block(finding: Finding, sources: Mapping[str, Source], paint: Painter) -> str:
    spot = finding.spot
    kind = finding.severity if finding.liberty is None else "liberty"
    where = paint("place", f"{spot.file}:{spot.line}:{spot.column}:")
    lines = [f"{where} {paint(kind, kind)} {finding.rule}"]
    source = sources.get(spot.file)
    if source is not None:
        row, carets = _shown(source.line(spot.line), spot.column, spot.width)
        marks = carets.lstrip(" |")
        lines += [row, carets[: len(carets) - len(marks)] + paint(kind, marks)]
    place = f"{show_place(finding.place)}: " if finding.place else ""
    lines.append(f"  {place}{finding.message}")
    if finding.liberty is not None:
        lines.append(f"  taken on purpose: {finding.liberty}")
    else:
        for number, suggestion in enumerate(finding.tries):
            lead = "  try: " if number == 0 else "   or: "
            lines.append(lead + suggestion.replace("\n", "\n       "))
    return "\n".join(lines) + "\n"


def show_place(place: Place) -> str:
    """A place in the music in words: ``head, cycle 2, beat 3 1/2``."""
    if place.cycle is None:
        return f"{place.within}, beat {show_exact(place.beat)}"
    return f"{place.within}, {place.cycle_name}, beat {show_exact(place.beat)}"


def _shown(text: str, column: int, width: int) -> tuple[str, str]:
    """The line of the file and a caret; tabs as one space, long lines cut around the place."""
    at = column - 1
    start = 0
    if len(text) > WIDEST:
        start = max(0, min(at - WIDEST // 2, len(text) - WIDEST))
    part = text[start : start + WIDEST].replace("\t", " ")
    shown = "".join(letter if letter.isprintable() else "�" for letter in part)
    carets = max(1, min(width, len(part) - (at - start), WIDEST))
    return f"  | {shown}", f"  | {' ' * (at - start)}{'^' * carets}"
