"""Every rule in order, and the judge that runs them over a piece."""

from __future__ import annotations

import inspect
from collections.abc import Iterable
from dataclasses import replace

from cyclechart.finding import MOST_OF_A_RULE, Finding, suggestions
from cyclechart.piece.load import Loaded
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
    section_lines,
    signs,
    turns,
    under,
    unheard,
    whole_piece,
)
from cyclechart.rules.rule import MOST_PLACES, Rule
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
    section_lines.section_line_astray,
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


_FAMILIES = {
    "landing": "landing on the first beat",
    "section_lines": "landing on the first beat",
    "cadence": "cadences",
    "movement": "movement in the mode",
    "turns": "movement in the mode",
    "resting": "where a line leans and rests",
    "likeness": "where a line leans and rests",
    "mode_changes": "movement in the mode",
    "harmony": "chords and drone",
    "drone": "chords and drone",
    "rubs": "chords and drone",
    "players": "players",
    "kit": "players",
    "form": "form",
    "unheard": "form",
    "under": "form",
    "signs": "signs in a line",
    "whole_piece": "the whole piece",
}
"""The families of the judge's rules by the module that they stand in, where it is not its name."""


def families() -> dict[str, list[str]]:
    """Return the names of all rules by family: the judge's, a set's, the reader's."""
    from cyclechart.rules.piece.mode_changes import change_of_mode
    from cyclechart.rules.set.time_and_tuning import SET_RULES

    found: dict[str, list[str]] = {}
    for rule in (*RULES, change_of_mode):
        module = rule.check.__module__.rpartition(".")[2]
        found.setdefault(_FAMILIES.get(module, module.replace("_", " ")), []).append(rule.name)
    found["sets"] = [rule.name for rule in SET_RULES]
    found["reading the file"] = [name_of(fault) for fault in READING]
    return found


def severity_of(reading_rule: str) -> str:
    """The plain severity of a reading rule."""
    return (
        "warning"
        if reading_rule in ("lost-to-comment", "one-tone-phrase", "two-meanings")
        else "error"
    )


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


def findings_on(loaded: Loaded) -> list[Finding]:
    """Return all findings on a file in order: those of reading it, and those of judging what could
    be read."""
    judged = judge(loaded.piece) if loaded.piece is not None else []
    return in_order([*loaded.findings, *judged])


def _found_by(rule: Rule, piece: Piece) -> list[Finding]:
    """Return the findings of a rule, each once; what it advises at several places of a line that
    comes from another, whose notes have one place in the file, is one finding."""
    found: dict[tuple[object, ...], Finding] = {}
    places: dict[tuple[object, ...], int] = {}
    seen: set[tuple[object, ...]] = set()
    gathers = rule.severity != "error" and rule not in _OF_A_PLAYER
    views = piece.in_each_mode if rule in _OF_THE_MODE else (("", piece),)
    told = (
        (mode, _in_mode(piece, mode, one)) for mode, view in views for one in rule.check(view, rule)
    )
    full = False
    for mode, finding in told:
        apart = finding.message if rule in _OF_A_PLAYER else ""
        where: tuple[object, ...] = (finding.spot, finding.cycle, mode, apart)
        if where in seen:
            continue
        group = where
        if gathers and finding.spot.serial:
            line = replace(finding.spot, serial=0)
            group = (line, finding.cycle, mode, _liberty_of(finding, piece.liberties))
        full = len(seen) >= MOST_PLACES or (len(found) == MOST_OF_A_RULE and group not in found)
        if full:
            break
        seen.add(where)
        found.setdefault(group, finding)
        places[group] = places.get(group, 0) + 1
    listed = [_with_places(finding, places[group]) for group, finding in found.items()]
    if full:
        listed[-1] = replace(listed[-1], message=f"{listed[-1].message} (and there are more)")
    return listed


def _with_places(finding: Finding, count: int) -> Finding:
    """Return a finding that stands for so many places, the first of them its own."""
    if count == 1:
        return finding
    more = "1 more place" if count == 2 else f"{count - 1} more places"
    return replace(finding, message=f"{finding.message} (and {more})")


def _in_mode(piece: Piece, mode: str, finding: Finding) -> Finding:
    """A finding in one mode of the form; its suggestions may be wrong in the line's other modes."""
    within = finding.place.within if finding.place else ""
    if not mode or not finding.suggestions or len(piece.modes_of(within)) < 2:
        return finding
    return replace(finding, suggestions=suggestions([f"write a separate line for {mode}"]))


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
