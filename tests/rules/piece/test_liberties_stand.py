"""Notes that a liberty allows are not rewritten by a suggestion for something else."""

from __future__ import annotations

from support.making import findings_of, with_heading

TEXT = """\
mode: bhimpalasi
lines:
  head: {lands: free, sargam: S N R g m N S'}
"""
LIBERTY = "liberties:\n  - {rule: foreign-tone, tone: N, why: the borrowed leading tone}\n"


def tries_of(rule: str, text: str) -> list[str]:
    found = [f for f in findings_of(with_heading(text)) if f.rule == rule and f.liberty is None]
    return [text for finding in found for text in finding.tries]


def test_without_the_liberty_both_are_rewritten() -> None:
    assert any("for N" in text for text in tries_of("foreign-tone", TEXT))


def test_with_it_the_other_fault_alone_is_rewritten() -> None:
    (tried,) = tries_of("left-out-going-up", TEXT.replace("S N R", "S R") + LIBERTY)
    assert tried == "write g for R"
    assert tries_of("foreign-tone", TEXT + LIBERTY) == []


def test_a_fault_next_to_the_meant_tone_is_mended_around_it() -> None:
    text = TEXT.replace("S N R g m N S'", "m P D N S' z S")
    (tried,) = tries_of("left-out-going-up", text + LIBERTY)
    assert tried == "write n for D"


def test_a_liberty_of_another_line_or_tone_covers_nothing() -> None:
    for other in (
        LIBERTY.replace("tone: N", "tone: G"),
        LIBERTY.replace(", tone", ", line: x, tone"),
    ):
        assert tries_of("foreign-tone", TEXT + other)
