"""Every rule in order, and the judge that runs them over a piece."""

from __future__ import annotations

import inspect
from collections.abc import Iterable
from dataclasses import replace

from cyclechart.finding import Finding, Spot
from cyclechart.piece.model import Liberty, Piece
from cyclechart.rules.piece import (
    cadence,
    drone,
    form,
    harmony,
    kit,
    landing,
    likeness,
    movement,
    players,
    resting,
    rubs,
    signs,
    turns,
    under,
    unheard,
    whole_piece,
)
from cyclechart.rules.rule import MOST_OF_A_RULE, Rule
from cyclechart.text.reading_rules import READING, name_of

_OF_THE_MODE = (
    movement.foreign_tone,
    movement.left_out_going_up,
    movement.left_out_coming_down,
    turns.turn_skipped,
    turns.turns_on_left_out,
    resting.weak_rest,
    resting.vadi_faint,
    resting.own_phrase_missing,
    likeness.strays,
    harmony.chord_outside_mode,
    harmony.chord_pulls_from_sa,
)
"""The rules that compare a line with its mode; a line played in two modes is compared with both."""
_OF_A_PLAYER = (players.out_of_range, players.strained_range, players.no_breath)
"""The rules that judge each player separately: one note may have several findings."""

RULES: tuple[Rule, ...] = (
    landing.early_landing,
    landing.late_landing,
    landing.misses_first_beat,
    landing.first_beat_held,
    landing.first_beat_silent,
    landing.section_line_astray,
    cadence.cadence_misses,
    cadence.cadence_unsolved,
    cadence.cadence_lands_early,
    *_OF_THE_MODE,
    *_OF_A_PLAYER,
    kit.unplayable_kit,
    kit.hurried_kit,
    drone.drone_string,
    rubs.rub,
    form.covered_notes,
    unheard.unheard_notes,
    under.uneven_under,
    signs.hairpin_without_goal,
    signs.slur_over_silence,
    form.open_ending,
    form.unplayed_line,
    whole_piece.unused_line,
    whole_piece.too_fine,
    whole_piece.unused_liberty,
)

RULE_NAMES: tuple[str, ...] = tuple(rule.name for rule in RULES)
"""The rules that a liberty can name."""


def help_texts() -> dict[str, str]:
    """Return the text of ``why`` for every rule: the judge's, a set's, the reader's."""
    # For ``why`` alone: ``check`` starts without them.
    from cyclechart.rules.piece.mode_changes import change_of_mode
    from cyclechart.rules.set.time_and_tuning import SET_RULES

    texts = {rule.name: f"({rule.severity}) {rule.help}" for rule in RULES}
    texts[change_of_mode.name] = f"({change_of_mode.severity}) {change_of_mode.help}"
    texts |= {rule.name: f"({rule.severity}) {rule.help}" for rule in SET_RULES}
    for fault in READING:
        texts[name_of(fault)] = (
            f"({severity_of(name_of(fault))}) {inspect.cleandoc(fault.__doc__ or '')}"
        )
    return texts


def severity_of(reading_rule: str) -> str:
    """The plain severity of a reading rule."""
    return "warning" if reading_rule in ("lost-to-comment", "one-tone-phrase") else "error"


def judge(piece: Piece) -> list[Finding]:
    """Every finding over a piece, liberties applied; one finding a rule, place and cycle.

    Of one rule the first ``MOST_OF_A_RULE`` are listed; the last of them says that there are more.
    A liberty that covers none of them is reported.
    """
    kept: list[Finding] = []
    for rule in RULES:
        if rule is not whole_piece.unused_liberty:
            kept += _found_by(rule, piece)
    taken = [_liberty_of(finding, piece.liberties) for finding in kept]
    left = tuple(liberty for liberty in piece.liberties if liberty not in taken)
    told = [
        finding if liberty is None else replace(finding, liberty=liberty.why)
        for finding, liberty in zip(kept, taken, strict=True)
    ]
    return told + _found_by(whole_piece.unused_liberty, replace(piece, liberties=left))


def _found_by(rule: Rule, piece: Piece) -> list[Finding]:
    found: dict[tuple[Spot, str, str, str], Finding] = {}
    views = piece.in_each_mode if rule in _OF_THE_MODE else (("", piece),)
    told = (
        (mode, _in_mode(piece, mode, one)) for mode, view in views for one in rule.check(view, rule)
    )
    for mode, finding in told:
        apart = finding.message if rule in _OF_A_PLAYER else ""
        where = (finding.spot, finding.cycle, mode, apart)
        if len(found) == MOST_OF_A_RULE and where not in found:
            before, last = found.popitem()
            found[before] = replace(last, message=f"{last.message} (and there are more)")
            break
        found.setdefault(where, finding)
    return list(found.values())


def _in_mode(piece: Piece, mode: str, finding: Finding) -> Finding:
    """A finding in one mode of the form; its suggestions may be wrong in the line's other modes."""
    within = finding.place.within if finding.place else ""
    if not mode or not finding.tries or len(piece.modes_of(within)) < 2:
        return finding
    return replace(finding, tries=(f"write a separate line for {mode}",))


def _liberty_of(finding: Finding, liberties: Iterable[Liberty]) -> Liberty | None:
    """The liberty that covers a finding, if any."""
    within = finding.place.within if finding.place else None
    for liberty in liberties:
        if liberty.covers(finding.rule, within, finding.tone):
            return liberty
    return None


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings as a report lists them: by file, line, column, rule; each once.

    Pieces that share a band's folder share the findings on its files.
    """
    return sorted(dict.fromkeys(findings), key=lambda finding: finding.order)
