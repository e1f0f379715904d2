"""The modes that a line may be in, ranked, with the reasons.

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
from cyclechart.theory.grammar import around_of
from cyclechart.theory.leaning import chief_tones, phrases_used
from cyclechart.theory.likeness import Heard
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Around, Fault
from cyclechart.theory.tones import show_path
from cyclechart.theory.ways import Step, runs_of

LEAST_SOUND = 0.75
"""The least share of a line's notes without a fault for a mode to fit."""
OCTAVE = 12
LEAP = 4
"""The size in semitones at which a step outside the paths counts half as much as the smallest."""
DIGITS = 3
"""The difference of scores below which modes are level."""
NAMED = 3
"""The most level modes that are named."""

# How often a step is expected of a mode, against one that stands in its paths.
_STRAIGHT, _ROOM, _ELSE, _PHRASE = 0.2, 0.05, 0.01, 1.0
_SILENT = 0.09
"""A mode that names no vadi says less, and stands behind its namesake that does."""
# What counts beside the steps, for and against.
_FAULTS, _TURNED, _USED, _OWN, _LEAN, _RESTS, _BARE = 6.0, 1.0, 1.5, 0.3, 0.6, 0.2, 0.5
_MOST_OWN = 2
_MOST_LEAN = 2


@dataclass(frozen=True)
class _LineCounts:
    """A line as it is compared with every mode: its steps and passages, each counted."""

    heard: Heard

    @cached_property
    def paths(self) -> list[list[int]]:
        """The breaths without repeated notes."""
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
    def passages(self) -> Counter[Around]:
        """Each note between its neighbours, moved by octaves so that it lies from Sa up."""
        return Counter(
            _from_sa(around_of(path, number)) for path in self.paths for number in range(len(path))
        )


def _from_sa(around: Around) -> Around:
    """Return a note with its neighbours, moved into the octave from Sa up."""
    by = around[2] // OCTAVE * OCTAVE
    before2, before, this, after, after2 = around
    return (
        None if before2 is None else before2 - by,
        None if before is None else before - by,
        this - by,
        None if after is None else after - by,
        None if after2 is None else after2 - by,
    )


def by_line(known: Iterable[ModeEntry], heard: Heard) -> Iterator[ModeMatch]:
    """Yield the modes in which a line has no fault, or few.

    Modes that nothing in the line tells apart say so.
    """
    line = _LineCounts(heard)
    if not line.notes:
        return
    matches = [match for entry in known if (match := _fit(entry, line)) is not None]
    level: dict[float, list[ModeMatch]] = {}
    for match in matches:
        level.setdefault(match.score, []).append(match)
    for match in matches:
        others = [other for other in level[match.score] if other is not match]
        yield replace(match, reasons=(*match.reasons, *_level(match.mode, others)))


def _level(mode: Mode, others: list[ModeMatch]) -> Iterator[str]:
    """Yield which modes are level with this one, and whether any line can tell them apart."""
    same = [one.key for one in others if _grammar(one.mode) == _grammar(mode)]
    apart = [one.key for one in others if _grammar(one.mode) != _grammar(mode)]
    if same:
        yield f"moves exactly like {_some(same)} here: no line can tell them apart"
    if apart:
        yield f"fits as well as {_some(apart)}: this line does not tell them apart"


def _some(names: list[str]) -> str:
    more = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {more} more" if more > 0 else "")


def _grammar(mode: Mode) -> tuple[object, ...]:
    """Return all of a mode that its fit to a line depends on."""
    phrases = frozenset(mode.phrases)
    paths = frozenset(mode.ascents), frozenset(mode.descents)
    return *paths, phrases, mode.vadi, mode.samvadi, frozenset(mode.rests)


def _fit(entry: ModeEntry, line: _LineCounts) -> ModeMatch | None:
    """Return how well a mode fits a line; None where too many of its notes are at fault."""
    mode, moves = entry.mode, entry.mode.moves
    # The cheap test first: most modes of the catalogue lack a tone of the line.
    foreign = sum(count for tone, count in line.tones.items() if not moves.known[tone])
    if foreign > (1 - LEAST_SOUND) * line.notes:
        return None
    fit = _Fit(mode, line)
    if fit.wrong > (1 - LEAST_SOUND) * line.notes:
        return None
    score = 1 / (1 + math.exp(-fit.weight))
    return ModeMatch(entry.key, mode, round(score, DIGITS), tuple(fit.reasons()))


@dataclass(frozen=True)
class _Fit:
    """A mode compared with a line: the points for it and against it."""

    mode: Mode
    line: _LineCounts

    @cached_property
    def faults(self) -> dict[tuple[Fault, int], int]:
        """Each kind of fault and the tone at which it is, with how often."""
        return _faults(self.mode, self.line)

    @cached_property
    def wrong(self) -> int:
        """The number of notes at fault."""
        return sum(self.faults.values())

    @cached_property
    def own_way(self) -> Counter[Step]:
        """The steps that stand in the mode's paths and phrases."""
        return own_steps(self.mode)

    @cached_property
    def own_phrases(self) -> list[tuple[int, ...]]:
        """The mode's phrases that the line has."""
        return list(phrases_used(self.mode, self.line.heard.breaths))

    @cached_property
    def lean(self) -> float:
        """The time that the vadi and samvadi have, against an even share."""
        return _leaning(self.mode, self.line.heard)

    @cached_property
    def resting(self) -> int:
        """The number of the line's rests on the mode's own."""
        return self.line.heard.rests_on(self.mode.rests)

    @cached_property
    def is_bare(self) -> bool:
        """Return whether the mode is a scale alone."""
        return is_bare(self.mode)

    @property
    def turned(self) -> int:
        """The number of the line's turns on a tone that the mode leaves out there."""
        moves = self.mode.moves
        return sum(
            count
            for around, count in self.line.passages.items()
            if moves.known[around[2]] and moves.turns_on_left_out(around)
        )

    @property
    def weight(self) -> float:
        """All points as one number, before it is brought between 0 and 1."""
        mode, line = self.mode, self.line
        used = sum(tone in line.tones for tone in mode.tones) / len(mode.tones)
        weight = _foretold(mode, self.own_way, line.steps)
        weight -= (_FAULTS * self.wrong + _TURNED * self.turned) / line.notes
        weight += _USED * used + _OWN * min(len(self.own_phrases), _MOST_OWN)
        weight += _LEAN * min(self.lean, _MOST_LEAN) / _MOST_LEAN - _BARE * self.is_bare
        weight -= _SILENT * (mode.vadi is None)
        weight += _RESTS * self.resting / max(1, len(line.heard.rests))
        return weight

    def reasons(self) -> Iterator[str]:
        """Yield the reasons in words: faults first, then the steps, then the chief tones."""
        for kind in dict.fromkeys(fault for fault, _ in self.faults):
            yield f"{kind} at {letters(tone for fault, tone in self.faults if fault == kind)}"
        if not self.faults:
            yield "no fault in the line"
        yield from self._step_reasons()
        unused = tones_of(self.mode) - set(self.line.tones)
        if unused:
            yield f"the line has no {letters(unused)}"
        if self.own_phrases:
            yield f"has its own phrase {show_path(self.own_phrases[0])}"
        if self.lean > 1:
            yield f"leans on {letters(chief_tones(self.mode))}, its vadi and samvadi"
        if self.resting:
            rests = {tone for tone in self.line.heard.rests if tone in self.mode.rests}
            yield f"rests on {letters(rests)}, as the mode does"
        if self.is_bare:
            yield "only a scale, without rules of movement"

    def _step_reasons(self) -> Iterator[str]:
        """Yield how many steps are the mode's own, and how many skip a turn of its paths."""
        steps = self.line.steps
        if steps:
            own = sum(count for step, count in steps.items() if step in self.own_way)
            yield f"{own} of {steps.total()} steps are in its paths or phrases"
        skips_turn = self.mode.moves.skips_turn
        skipped = sum(count for around, count in self.line.passages.items() if skips_turn(around))
        if skipped:
            yield f"{skipped} {'skips' if skipped == 1 else 'skip'} a turn of its paths"


def _faults(mode: Mode, line: _LineCounts) -> dict[tuple[Fault, int], int]:
    """Each kind of fault and the tone at which it is, with how often."""
    moves = mode.moves
    counts: dict[tuple[Fault, int], int] = {
        ("foreign-tone", tone): count for tone, count in line.tones.items() if not moves.known[tone]
    }
    for around, count in line.passages.items():
        fault = moves.fault_at(around)
        if fault is not None and fault != "foreign-tone":
            counts[(fault, around[2])] = counts.get((fault, around[2]), 0) + count
    return counts


def own_steps(mode: Mode) -> Counter[Step]:
    """The steps in a mode's paths, continued through the octave, and in its phrases; each with the
    number of such steps in its phrases."""
    steps: Counter[Step] = Counter()
    for a, b in (pair for way in mode.ways for pair in pairwise(way)):
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
    """Return the likelihood of a step, against one of the paths' own."""
    tone, by = step
    moves = mode.moves
    if step in own_way:
        return 1 + _PHRASE * math.sqrt(own_way[step])
    if not moves.known[tone] or not moves.known[(tone + by) % OCTAVE]:
        return _ELSE
    if step in (moves.straight_up if by > 0 else moves.straight_down):
        return _STRAIGHT / (1 + abs(by) / LEAP)
    return _ELSE if moves.never_straight(tone, tone + by) else _ROOM / (1 + abs(by) / LEAP)


def _leaning(mode: Mode, heard: Heard) -> float:
    """Return the time of the vadi (counted twice) and the samvadi, relative to an even share; 0
    without them."""
    weighed = [
        (tone, weight) for tone, weight in ((mode.vadi, 2), (mode.samvadi, 1)) if tone is not None
    ]
    if not weighed:
        return 0.0
    had = sum(weight * heard.shares.get(tone % OCTAVE, 0.0) for tone, weight in weighed)
    return had * len(heard.shares) / sum(weight for _, weight in weighed)
