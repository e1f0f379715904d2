"""Which modes a name or a set of tones may mean: ranked, with the reasons (a line: ``fitting``).

The scores rank and are no measure: they say which mode to look at first.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from cyclechart.catalog.library import Library, fold
from cyclechart.catalog.melas import NAMES, mela, sounded
from cyclechart.finding import Finding
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM

LEAST_SHARED = 0.6
"""Of the tones of both, for a mode that is near to a set of tones."""
NEAR = 0.75
"""How like a name must be that is not the same."""

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
            said = [f"has {letters(more)} as well"] if more else []
            said += [f"has no {letters(fewer)}"] if fewer else []
            yield Match(entry.key, entry.mode, shared * (0.7 if fewer else 0.9), tuple(said))


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


def letters(tones: Iterable[int]) -> str:
    """Tones (0 to 11) as letters, from Sa up."""
    return " ".join(SARGAM[one] for one in sorted(tones))
