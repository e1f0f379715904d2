"""The cadence rules: what they say of a cadence, and how many get suggestions.

The beats are counted by hand: three statements of 5 beats from beat b with gaps of g between them
have their last stroke on beat b + 14 + 2 g, and tintal's first beats are 1, 17, 33 ….
"""

from __future__ import annotations

import pytest
from support.making import findings_of, with_heading

from cyclechart.finding import Finding
from cyclechart.rules.piece.cadence import MOST_TRIED

FIVE = "sargam: P m GR G S"


def found(cadence: str, rule: str, *, count: int = 1, cycle: str = "tintal") -> list[Finding]:
    """Return the findings of a rule in a piece of so many lines with this cadence."""
    lines = "".join(f"  line{n}: {{cadence: {{{cadence}}}}}\n" for n in range(count))
    text = with_heading(f"cycle: {cycle}\nlines:\n{lines}")
    return [finding for finding in findings_of(text) if finding.rule == rule]


@pytest.mark.parametrize(
    ("cadence", "what"),
    [
        # 16 + 14 + 4 = 34, one past 33 and 15 before 49.
        (
            f"{FIVE}, gap: 2, begins: 16",
            "3 statements of 5 beats with a gap of 2 beats from beat 16 end 15 beats short of a "
            "first beat, 1 beat past the one before",
        ),
        # 1 1/2 + 14 + 4 = 19 1/2.
        (
            f"{FIVE}, gap: 2, begins: 1 1/2",
            "3 statements of 5 beats with a gap of 2 beats from beat 1 1/2 end 13 1/2 beats short "
            "of a first beat, 2 1/2 beats past the one before",
        ),
        # One statement has no gap, though one is written: 1 + 4 = 5.
        (
            f"{FIVE}, times: 1, gap: 1, begins: 1",
            "one of 5 beats from beat 1 end 12 beats short of a first beat, 4 beats past the one "
            "before",
        ),
        # Three times three statements on end: 1 + 44 = 45.
        (
            f"begins: 1, gap: 0, cadence: {{{FIVE}, gap: 0}}",
            "3 statements of 5 beats without a gap, in 3 rounds from beat 1 end 4 beats short of a "
            "first beat, 12 beats past the one before",
        ),
    ],
)
def test_a_cadence_that_misses_is_counted_out(cadence: str, what: str) -> None:
    (finding,) = found(cadence, "cadence-misses")
    assert finding.message == what


@pytest.mark.parametrize(
    ("cadence", "tries"),
    [
        # 16 + 14 + 3 = 33; 15 + 18 = 33; three times 4 2/3 and 4 on the way: 16 + 17 = 33.
        (
            f"{FIVE}, gap: 2, begins: 16",
            ("gap: 1 1/2", "begins: 15", "a statement of 4 2/3 beats"),
        ),
        # One statement has no gap to change: 13 + 4 = 17.
        (f"{FIVE}, times: 1, begins: 1", ("begins: 13",)),
        # Two: 1 + 9 + 7 = 17; 7 + 10 = 17; 1 + 15 + 1 = 17.
        (f"{FIVE}, times: 2, gap: 1, begins: 1", ("gap: 7", "begins: 7", "a statement of 8 beats")),
        # Nine statements with six gaps within the rounds, two between them: 1 + 44 + 6 * 2/3 = 49,
        # 1 + 44 + 2 * 2 = 49, 5 + 44 = 49, 1 + 9 * 3 2/3 - 1 = 33.
        (
            f"begins: 1, gap: 0, cadence: {{{FIVE}, gap: 0}}",
            ("inner gap: 2/3", "outer gap: 2", "begins: 5", "a statement of 3 2/3 beats"),
        ),
    ],
)
def test_each_suggestion_for_a_cadence_that_misses_lands(
    cadence: str, tries: tuple[str, ...]
) -> None:
    (finding,) = found(cadence, "cadence-misses")
    assert finding.tries == tries


@pytest.mark.parametrize(
    ("cadence", "cycle", "rule"),
    [
        (f"{FIVE}, gap: 2, begins: 1", "tintal", "cadence-misses"),
        ("sargam: S R G m P d n S' n d P m, within: 2", "jhaptal", "cadence-unsolved"),
        (f"{FIVE}, gap: 3, begins: 13", "tintal", "cadence-lands-early"),
    ],
)
def test_only_the_first_ten_cadences_get_suggestions(cadence: str, cycle: str, rule: str) -> None:
    assert MOST_TRIED == 10
    findings = found(cadence, rule, count=12, cycle=cycle)
    assert [bool(finding.tries) for finding in findings] == [True] * 10 + [False] * 2
    assert len({finding.message for finding in findings}) == 1
    assert len({finding.tries for finding in findings[:10]}) == 1


def test_it_says_in_which_cycle_where_the_piece_has_several() -> None:
    """In tintal 1 + 14 + 2 = 17 lands; rupak's seven beats have their first ones on 15 and 22."""
    text = (
        f"cycle: tintal\nlines:\n  close: {{cadence: {{{FIVE}, gap: 1, begins: 1}}}}\n"
        "form:\n  - play: close\n  - {play: close, cycle: rupak}\n"
    )
    (finding,) = [one for one in findings_of(with_heading(text)) if one.rule == "cadence-misses"]
    assert finding.cycle == "Rupak"
    assert finding.message == (
        "in Rupak, 3 statements of 5 beats with a gap of 1 beat from beat 1 end 5 beats short of a "
        "first beat, 2 beats past the one before"
    )


def test_what_a_window_is_too_short_for_is_counted_out() -> None:
    (finding,) = found("sargam: S R G m P d n S', begins: 1, within: 1", "cadence-unsolved")
    # 1 + 23 = 24 without any gap: eight beats more than the cycle has up to the next first beat.
    assert finding.message.startswith(
        "3 statements of 8 beats land nowhere within 1 cycle of Tintal: it takes 23 beats"
    )
    assert finding.tries == ("within: 2", "a statement of 5 2/3 beats")


@pytest.mark.parametrize(
    ("gap", "never"),
    [
        # Six gaps of a seventh leave six sevenths over, two outer gaps of a seventh two; halves,
        # thirds and quarters of a beat make up for neither. Six halves are three whole beats.
        ("begins: 1, cadence: {sargam: S R G m, gap: 1/7}", True),
        ("begins: 1, gap: 1/7, cadence: {sargam: S R G m}", True),
        ("begins: 1, cadence: {sargam: S R G m, gap: 1/2}", False),
    ],
)
def test_a_gap_that_no_other_gap_makes_whole_is_named_as_the_reason(gap: str, never: bool) -> None:
    unsolved = found(gap, "cadence-unsolved")
    assert len(unsolved) == never
    for finding in unsolved:
        assert finding.message.endswith(
            "with no gap in halves, thirds or quarters do its parts of a beat add up to whole beats"
        )
