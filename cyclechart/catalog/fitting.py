"""Which modes a line may be in, ranked, with the reasons.

A mode is measured by how well its paths and phrases foretell the line's steps: one that leaves much
out and still has room for the line says more than one that has room for anything. Beside this
count: faults, tones that the mode has and the line does not use, the mode's own phrases, its vadi
and samvadi, where the line rests. Grammars differ by teacher and lineage.

The weights are ours, and rough: sixty other sets of them came within a few points of the same on
each half of the ragas in tests/catalog/handbook_phrases.yaml. tests/catalog/test_search.py measures
how often the right mode comes first.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from cyclechart.catalog.search import ModeEntry, ModeMatch, is_bare, letters, tones_of
from cyclechart.theory.leaning import chief_tones, phrases_used
from cyclechart.theory.likeness import Heard
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Fault, Step, runs_of
from cyclechart.theory.tones import show_path

LEAST_SOUND = 0.75
"""Of a line's notes that have no fault in a mode that it may fit."""
OCTAVE = 12
LEAP = 4
"""Semitones by which a step that is not the path's own counts half as much as the smallest."""
DIGITS = 3
"""Of a score: modes that differ by less are level."""
NAMED = 3
"""Level modes that are named; nobody reads more."""

# How often a step is expected of a mode, against one that stands in its paths.
_STRAIGHT, _ROOM, _ELSE, _PHRASE = 0.2, 0.05, 0.01, 1.0
# What counts beside the steps, for and against.
_FAULTS, _TURNED, _USED, _OWN, _LEAN, _RESTS, _BARE = 6.0, 1.0, 1.5, 0.3, 0.6, 0.2, 0.5
_MOST_OWN = 2
_MOST_LEAN = 2

NoteTriple = tuple[int, int, int | None]
"""The note before, this one and the next (None at a breath's end), moved by octaves so that this
one lies in the octave from Sa up."""


@dataclass(frozen=True)
class _LineCounts:
    """A line as it is held against every mode: what its steps and passages are, each counted."""

    heard: Heard

    @cached_property
    def paths(self) -> list[list[int]]:
        """The breaths, repeats of a note passed over."""
        return [[pitch for _, pitch in runs_of(breath)] for breath in self.heard.breaths]

    @cached_property
    def notes(self) -> int:
        return sum(map(len, self.paths))

    @cached_property
    def tones(self) -> Counter[int]:
        return Counter(pitch % OCTAVE for path in self.paths for pitch in path)

    @cached_property
    def steps(self) -> Counter[Step]:
        return Counter((a % OCTAVE, b - a) for path in self.paths for a, b in pairwise(path))

    @cached_property
    def passages(self) -> Counter[NoteTriple]:
        return Counter(
            (
                a - b + b % OCTAVE,
                b % OCTAVE,
                None if c is None else c - b + b % OCTAVE,
            )
            for path in self.paths
            for a, b, c in zip(path, path[1:], [*path[2:], None], strict=False)
        )


def by_line(known: Iterable[ModeEntry], heard: Heard) -> Iterator[ModeMatch]:
    """The modes that a line fits: those with no fault in it, or few. Modes that nothing in the line
    tells apart say so."""
    line = _LineCounts(heard)
    if not line.notes:
        return
    found = [match for entry in known if (match := _fit(entry, line)) is not None]
    level: dict[float, list[ModeMatch]] = {}
    for match in found:
        level.setdefault(match.score, []).append(match)
    for match in found:
        others = [other for other in level[match.score] if other is not match]
        said = _level(match.mode, others)
        yield replace(match, reasons=(*match.reasons, *said))


def _level(mode: Mode, others: list[ModeMatch]) -> Iterator[str]:
    same = [one.key for one in others if _grammar(one.mode) == _grammar(mode)]
    apart = [one.key for one in others if _grammar(one.mode) != _grammar(mode)]
    if same:
        yield f"moves just as {_some(same)} here, and no line can tell them apart"
    if apart:
        yield f"level with {_some(apart)}: this line does not tell them apart"


def _some(names: list[str]) -> str:
    more = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {more} more" if more > 0 else "")


def _grammar(mode: Mode) -> tuple[object, ...]:
    """All by which a line is told to be in a mode."""
    phrases = frozenset(mode.phrases)
    return mode.ascent, mode.descent, phrases, mode.vadi, mode.samvadi, frozenset(mode.rests)


def _fit(entry: ModeEntry, line: _LineCounts) -> ModeMatch | None:
    mode, moves = entry.mode, entry.mode.moves
    # The cheap test first: most modes of the catalogue lack a tone of the line.
    foreign = sum(count for tone, count in line.tones.items() if not moves.known[tone])
    if foreign > (1 - LEAST_SOUND) * line.notes:
        return None
    faults = _faults(mode, line)
    wrong = sum(faults.values())
    if wrong > (1 - LEAST_SOUND) * line.notes:
        return None
    own_way = own_steps(mode)
    skipped = sum(n for (a, by), n in line.steps.items() if moves.is_skipped(a, a + by))
    turned = sum(
        n
        for (a, b, c), n in line.passages.items()
        if moves.known[b] and not moves.is_own(a, b, c) and moves.turns_left_out(a, b, c)
    )
    stepped = sum(n for step, n in line.steps.items() if step in own_way)
    unused = tones_of(mode) - set(line.tones)
    used = sum(tone in line.tones for tone in mode.tones) / len(mode.tones)
    own = phrases_used(mode, line.heard.breaths)
    lean = _leaning(mode, line.heard)
    resting = line.heard.rests_on(mode.rests)
    bare = is_bare(mode)

    kinds = dict.fromkeys(fault for fault, _ in faults)
    said = [
        f"{kind} at {letters(tone for fault, tone in faults if fault == kind)}" for kind in kinds
    ]
    if not faults:
        said.append("no fault in the line")
    if line.steps:
        said.append(f"{stepped} of {line.steps.total()} steps stand in its paths or phrases")
    if skipped:
        said.append(f"{skipped} {'skips' if skipped == 1 else 'skip'} a turn of them")
    if unused:
        said.append(f"the line has no {letters(unused)}")
    if own:
        said.append(f"has its own phrase {show_path(own[0])}")
    if lean > 1:
        said.append(f"leans on {letters(chief_tones(mode))}, its vadi and samvadi")
    if resting:
        rested = {tone for tone in line.heard.rests if tone in mode.rests}
        said.append(f"rests on {letters(rested)}, as it does")
    if bare:
        said.append("a scale, which says nothing of how it moves")

    weighed = _foretold(mode, own_way, line.steps)
    weighed -= (_FAULTS * wrong + _TURNED * turned) / line.notes
    weighed += _USED * used + _OWN * min(len(own), _MOST_OWN)
    weighed += _LEAN * min(lean, _MOST_LEAN) / _MOST_LEAN - _BARE * bare
    weighed += _RESTS * resting / max(1, len(line.heard.rests))
    score = 1 / (1 + math.exp(-weighed))
    return ModeMatch(entry.key, mode, round(score, DIGITS), tuple(said))


def _faults(mode: Mode, line: _LineCounts) -> dict[tuple[Fault, int], int]:
    """Each kind of fault and the tone at which it is, with how often."""
    moves = mode.moves
    found: dict[tuple[Fault, int], int] = {
        ("foreign-tone", tone): count for tone, count in line.tones.items() if not moves.known[tone]
    }
    for (before, this, after), count in line.passages.items():
        fault = moves.fault(before, this, after)
        if fault is not None and fault != "foreign-tone":
            found[(fault, this)] = found.get((fault, this), 0) + count
    return found


def own_steps(mode: Mode) -> Counter[Step]:
    """The steps that stand in a mode's paths, read on through the octave, and in its phrases; each
    with how many of its phrases' steps are such."""
    steps: Counter[Step] = Counter()
    for path, octave in ((mode.ascent, OCTAVE), (mode.descent, -OCTAVE)):
        copy = [pitch + octave for pitch in path]
        ways = [list(path)]
        ways += [
            [*path[:at], *copy[copy.index(pitch) :]]
            for at, pitch in enumerate(path)
            if pitch in copy
        ]
        for a, b in (pair for way in ways for pair in pairwise(way)):
            if a != b:
                steps[a % OCTAVE, b - a] = 0
    for a, b in (pair for phrase in mode.phrases for pair in pairwise(phrase)):
        if a != b:
            steps[a % OCTAVE, b - a] += 1
    return steps


def _foretold(mode: Mode, own_way: Counter[Step], steps: Counter[Step]) -> float:
    """The mean logarithm of how far the steps are to be expected of a mode: 0 where each is the
    only one that its tone allows, and far below it where the mode has none such."""
    if not steps:
        return 0.0
    sums: dict[int, float] = {}
    total = 0.0
    for (tone, by), count in steps.items():
        if tone not in sums:
            reach = (*range(-OCTAVE, 0), *range(1, OCTAVE + 1))
            sums[tone] = sum(_expected(mode, own_way, (tone, other)) for other in reach)
        total += count * math.log(_expected(mode, own_way, (tone, by)) / sums[tone])
    return total / steps.total()


def _expected(mode: Mode, own_way: Counter[Step], step: Step) -> float:
    """How far a step is to be expected, against one of the paths' own."""
    tone, by = step
    moves = mode.moves
    if step in own_way:
        return 1 + _PHRASE * math.sqrt(own_way[step])
    if not moves.known[tone] or not moves.known[(tone + by) % OCTAVE]:
        return _ELSE
    if step in (moves.straight_up if by > 0 else moves.straight_down):
        return _STRAIGHT / (1 + abs(by) / LEAP)
    return _ELSE if moves.is_skipped(tone, tone + by) else _ROOM / (1 + abs(by) / LEAP)


def _leaning(mode: Mode, heard: Heard) -> float:
    """How many times its even share of the line's time the vadi (counted twice) and the samvadi
    have; 0 without them."""
    weighed = [
        (tone, weight) for tone, weight in ((mode.vadi, 2), (mode.samvadi, 1)) if tone is not None
    ]
    if not weighed:
        return 0.0
    had = sum(weight * heard.shares.get(tone % OCTAVE, 0.0) for tone, weight in weighed)
    return had * len(heard.shares) / sum(weight for _, weight in weighed)
