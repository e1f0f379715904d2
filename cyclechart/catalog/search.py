"""Which modes a name, a set of tones or a line may mean: ranked, with the reasons.

The scores rank and are no measure: they say which mode to look at first. What a line fits is judged
by the grammar of each mode as it is written down here; teachers and lineages differ.
"""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from cyclechart.catalog.library import Library, fold
from cyclechart.catalog.melas import NAMES, mela, sounded
from cyclechart.finding import Finding
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import runs_of
from cyclechart.theory.tones import SARGAM, show_path, tone
from cyclechart.theory.turns import turns

LEAST_SHARED = 0.6
"""Of the tones of both, for a mode that is near to a set of tones."""
LEAST_SOUND = 0.8
"""Of a line's notes that have no fault in a mode that it may fit."""
NEAR = 0.75
"""How like a name must be that is not the same."""
MARK = 0.05
"""What each turn that a mode's paths do not make takes away."""

Breaths = Sequence[Sequence[int]]


@dataclass(frozen=True)
class Entry:
    """A mode and the name that finds it."""

    key: str
    mode: Mode


@dataclass(frozen=True)
class Match:
    """A mode that was found, from 0 to 1, and why."""

    key: str
    mode: Mode
    score: float
    reasons: tuple[str, ...]


def entries(library: Library) -> tuple[list[Entry], list[Finding]]:
    """Every sound mode that there is, the band's own first, then the catalogue's, then the melas;
    and what is wrong in the definitions that are not sound."""
    made: dict[str, Entry] = {}
    wrong: list[Finding] = []
    for shelf in library.modes:
        for name in shelf.names():
            found = None if name in made else shelf.get(name)
            if found is not None and found[0] is not None:
                made[name] = Entry(name, found[0])
            elif found is not None:
                wrong += found[1]
    known = {fold(one) for entry in made.values() for one in (entry.key, *entry.mode.aka)}
    scales = [
        Entry(name, mela(number))
        for number, name in enumerate(NAMES, start=1)
        if fold(name) not in known
    ]
    return [*made.values(), *scales], wrong


def by_name(known: Sequence[Entry], name: str) -> Iterator[Match]:
    """The modes of a name, of one that sounds or looks like it, and those of the same tones."""
    wanted = fold(name)
    if not wanted:
        return
    named: dict[str, Match] = {}
    for entry in known:
        best = _likest(entry, wanted)
        if best is not None:
            score, why = best
            named[entry.key] = Match(entry.key, entry.mode, score, (why,))
    yield from named.values()
    sure = [match for match in named.values() if match.score >= 0.9]
    for entry in known:
        if entry.key in named:
            continue
        for match in sure:
            if _tones(entry.mode) == _tones(match.mode):
                why = f"has the tones of {match.mode.name}, and may move in another way"
                yield Match(entry.key, entry.mode, 0.6, (why,))
                break


def _likest(entry: Entry, wanted: str) -> tuple[float, str] | None:
    likest: tuple[float, str] | None = None
    for spelling in dict.fromkeys((entry.mode.name, entry.key, *entry.mode.aka)):
        folded = fold(spelling)
        like = difflib.SequenceMatcher(None, wanted, folded)
        if folded == wanted:
            found = (1.0, f"goes by the name {spelling}")
        elif folded and sounded(folded) == sounded(wanted):
            found = (0.9, f"goes by the name {spelling}, otherwise spelt")
        elif like.quick_ratio() >= NEAR and (ratio := like.ratio()) >= NEAR:
            found = (0.8 * ratio, f"goes by the name {spelling}, which is near")
        else:
            continue
        if likest is None or found[0] > likest[0]:
            likest = found
    return likest


def by_tones(known: Iterable[Entry], asked: frozenset[int]) -> Iterator[Match]:
    """The modes that have just these tones (0 to 11), or nearly."""
    for entry in known:
        held = _tones(entry.mode)
        more, fewer = held - asked, asked - held
        shared = len(held & asked) / len(held | asked)
        if not more and not fewer:
            yield Match(entry.key, entry.mode, 1.0, ("has just these tones",))
        elif shared >= LEAST_SHARED:
            said = [f"has {_letters(more)} as well"] if more else []
            said += [f"has no {_letters(fewer)}"] if fewer else []
            yield Match(entry.key, entry.mode, shared * (0.7 if fewer else 0.9), tuple(said))


def by_line(known: Iterable[Entry], breaths: Breaths) -> Iterator[Match]:
    """The modes that a line of some breaths fits: no fault in it, or few; then what it leans on."""
    sung = [pitch for breath in breaths for pitch in breath]
    for entry in known:
        match = _fit(entry, breaths, sung) if sung else None
        if match is not None:
            yield match


def _fit(entry: Entry, breaths: Breaths, sung: Sequence[int]) -> Match | None:
    mode = entry.mode
    faults = [(breath, verdict) for breath in breaths for verdict in judge_breath(mode, breath)]
    sound = 1 - len(faults) / len(sung)
    if sound < LEAST_SOUND:
        return None
    said = [f"{verdict.fault} at {tone(breath[verdict.index])}" for breath, verdict in faults[:3]]
    if len(faults) > len(said):
        said.append(f"{len(faults) - len(said)} more such")
    if not faults:
        said.append("no fault in the line")
    skipped = [turn for breath in breaths for turn in turns(mode, breath)]
    if skipped:
        said.append(f"its paths do not make {len(skipped)} of the line's turns")
    used = {pitch % 12 for pitch in sung} & mode.tones
    unused = _tones(mode) - used
    if unused:
        said.append(f"the line has no {_letters(unused)}")
    own = [phrase for phrase in mode.phrases if any(_holds(breath, phrase) for breath in breaths)]
    if own:
        said.append(f"has its own phrase {show_path(own[0])}")
    leans = _leaning(mode, sung)
    if leans > 1:
        said.append(f"leans on {_letters(_weights(mode))}, its vadi and samvadi")
    ends = breaths[-1][-1] % 12
    rests = ends in mode.rests
    if rests:
        said.append(f"comes to rest on {SARGAM[ends]}, as it does")
    score = 0.5 + 0.2 * len(used) / len(mode.tones) + 0.15 * bool(own)
    score += 0.1 * min(1.0, leans / 2) + 0.05 * rests
    score *= sound * sound * max(0.5, 1 - MARK * len(skipped))
    return Match(entry.key, mode, score, tuple(said))


def _weights(mode: Mode) -> frozenset[int]:
    return frozenset(one for one in (mode.vadi, mode.samvadi) if one is not None)


def _leaning(mode: Mode, sung: Sequence[int]) -> float:
    """How many times its even share of the notes the vadi (counted twice) and the samvadi have; 0
    without them."""
    weighed = [
        (tone, weight) for tone, weight in ((mode.vadi, 2), (mode.samvadi, 1)) if tone is not None
    ]
    if not weighed:
        return 0.0
    counted = Counter(pitch % 12 for pitch in sung)
    had = sum(weight * counted[tone] for tone, weight in weighed)
    return had * len(counted) / (len(sung) * sum(weight for _, weight in weighed))


def _holds(breath: Sequence[int], phrase: Sequence[int]) -> bool:
    """Whether a breath has a phrase in it, in any octave; repeats of a note are passed over."""
    steps = [(b - a, b % 12) for a, b in pairwise([pitch for _, pitch in runs_of(breath)])]
    wanted = [(b - a, b % 12) for a, b in pairwise([pitch for _, pitch in runs_of(phrase)])]
    length = len(wanted)
    return any(steps[at : at + length] == wanted for at in range(len(steps) - length + 1))


def together(searches: Sequence[Iterable[Match]]) -> list[Match]:
    """The modes that every search finds, best first; of equals, those first that stand first."""
    found = [{match.key: match for match in search} for search in searches]
    both = []
    for key, match in found[0].items():
        if all(key in other for other in found):
            score = sum(other[key].score for other in found) / len(found)
            reasons = tuple(reason for other in found for reason in other[key].reasons)
            both.append(Match(key, match.mode, score, reasons))
    return sorted(both, key=lambda match: -match.score)


def _tones(mode: Mode) -> frozenset[int]:
    return mode.up | mode.down


def _letters(tones: Iterable[int]) -> str:
    return " ".join(SARGAM[one] for one in sorted(tones))
