"""The modes that a name or a set of tones may mean, ranked, with the reasons.

The scores rank and are no measure: they say which mode to look at first.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cyclechart.catalog.library import LONGEST, Library, fold
from cyclechart.catalog.melas import NAMES, mela, sounded
from cyclechart.finding import Finding
from cyclechart.text.near_names import nearest_names
from cyclechart.theory.likeness import says_enough
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM

LEAST_SHARED = 0.6
"""The least share of common tones for a mode that is near to a set of tones."""
NEAR = 0.75
"""The least likeness of a name that is not the same."""
SURE = 0.9
"""The score from which a match is surely the mode that is meant."""
SHORTEST_PART = 4
"""The fewest letters of a name that is searched for as a part of a longer one."""
OWN, SCALES, MELAS, NO_FAMILY = "the band's own", "scales", "the 72 melas", "of no family"
KINDS = frozenset(("raga", "raag", "rag", "ragam", "thaat", "mode", "scale"))
"""Words beside a name that only give its kind, such as raga."""
WITHOUT = 0.99
"""For a name that is found without such words."""
_FAMILY = re.compile(r";| in some books")
"""The signs that end a family's name and begin a remark."""
FULL = 7
"""Tones of a scale that leaves none out."""
_SIGNS = re.compile(r"[b#]?\d+")


@dataclass(frozen=True)
class ModeEntry:
    """A mode and the name that finds it."""

    key: str
    mode: Mode


@dataclass(frozen=True)
class ModeMatch:
    """A mode that was found, its score from 0 to 1, and the reasons."""

    key: str
    mode: Mode
    score: float
    reasons: tuple[str, ...]


def entries(library: Library) -> tuple[list[ModeEntry], list[Finding]]:
    """Every sound mode that there is, the band's own first, then the catalogue's, then the melas;
    and what is wrong in the definitions that are not sound."""
    made: dict[str, ModeEntry] = {}
    wrong: list[Finding] = []
    for shelf in library.modes:
        for name in shelf.names():
            found = None if name in made else shelf.get(name)
            if found is not None and found[0] is not None:
                made[name] = ModeEntry(name, found[0])
            elif found is not None:
                wrong += found[1]
    known = {fold(one) for entry in made.values() for one in (entry.key, *entry.mode.aka)}
    scales = [
        ModeEntry(name, mela(number))
        for number, name in enumerate(NAMES, start=1)
        if fold(name) not in known
    ]
    return [*made.values(), *scales], wrong


def by_name(known: Sequence[ModeEntry], name: str) -> Iterator[ModeMatch]:
    """The modes of a name, of one that sounds or looks like it, and those of the same tones."""
    words = _words(name[:LONGEST]) if len(name) <= LONGEST else []
    if not fold("".join(words)):
        return
    bare = [word for word in words if word not in KINDS]
    named: dict[str, ModeMatch] = {}
    for entry in known:
        found = [(*_best(entry, words), 1.0)]
        if bare != words:
            found.append((*_best(entry, bare), WITHOUT))
        score, why = max(
            ((score * part, why) for score, why, part in found), key=lambda one: one[0]
        )
        if score:
            named[entry.key] = ModeMatch(entry.key, entry.mode, score, (why,))
    yield from named.values()
    sure = [match for match in named.values() if match.score >= SURE]
    for entry in known:
        if entry.key in named:
            continue
        for match in sure:
            if tones_of(entry.mode) == tones_of(match.mode):
                why = f"has the same tones as {match.mode.name}, but may move differently"
                yield ModeMatch(entry.key, entry.mode, 0.6, (why,))
                break


def near_names(known: Iterable[ModeEntry], name: str) -> list[str]:
    """The names most like one that finds nothing."""
    every = [one for entry in known for one in (entry.mode.name, *entry.mode.aka)]
    return nearest_names(name, every)


@lru_cache(maxsize=64)
def _heard(words: tuple[str, ...]) -> tuple[str, str]:
    """Return the words of a search folded, and as they sound."""
    wanted = fold(" ".join(words))
    return wanted, sounded(wanted)


def _best(entry: ModeEntry, words: Sequence[str]) -> tuple[float, str]:
    """Return the score and the reason of a mode's likest spelling; 0 where none is like it."""
    wanted, heard = _heard(tuple(words))
    spellings = dict.fromkeys((entry.mode.name, entry.key, *entry.mode.aka)) if wanted else ()
    best = 0.0, ""
    for spelling in spellings:
        for score, why in _like(spelling, wanted, heard, words):
            if score > best[0]:
                best = score, why
    return best


def _like(
    spelling: str, wanted: str, heard: str, words: Sequence[str]
) -> Iterator[tuple[float, str]]:
    """Yield scores and reasons of a spelling for a searched name (``heard``: as it sounds)."""
    whole, folded, plain, said = _known(spelling)
    if folded == wanted:
        yield 1.0, f"goes by the name {spelling}"
    elif wanted == plain:
        yield 0.95, f"goes by the name {spelling}"
    elif said == heard:
        yield SURE, f"goes by the name {spelling}, in another spelling"
    # mela 2 is not near to mela 29, nor Dorian b2 to Dorian #4.
    elif _SIGNS.findall(" ".join(whole)) == _SIGNS.findall(" ".join(words)):
        ratio = _likeness(heard, said)
        if ratio >= NEAR:
            yield 0.8 * ratio, f"goes by the similar name {spelling}"
    size = len(words)
    if size < len(whole) and len(wanted) >= SHORTEST_PART:
        starts = range(len(whole) - size + 1)
        if any(whole[at : at + size] == list(words) for at in starts):
            part = 0.5 + 0.3 * size / len(whole)
            yield part, f"goes by the name {spelling}, of which this is a part"


def _likeness(heard: str, said: str) -> float:
    """Return the ratio of two spellings as difflib has it; 0 where it is less than ``NEAR``."""
    # Two of very different lengths cannot be near; to take a spelling apart costs more than that.
    if 2 * min(len(heard), len(said)) < NEAR * (len(heard) + len(said)):
        return 0.0
    likeness = difflib.SequenceMatcher(None, heard, said, autojunk=False)
    ratio = likeness.ratio() if likeness.quick_ratio() >= NEAR else 0.0
    return ratio if ratio >= NEAR else 0.0


@lru_cache(maxsize=4096)
def _known(spelling: str) -> tuple[list[str], str, str, str]:
    """A known spelling's words, the same folded, folded without words of kind, and as it sounds:
    every search asks for them."""
    words = _words(spelling)
    folded = fold(" ".join(words))
    plain = fold("".join(word for word in words if word not in KINDS))
    return words, folded, plain, sounded(folded)


def _words(name: str) -> list[str]:
    """A name's words with the signs of sharp and flat as they are typed."""
    typed = name.replace("\u266d", "b").replace("\u266f", "#").lower()
    typed = re.sub(r"\bflat\s+(?=\d)", "b", re.sub(r"\bsharp\s+(?=\d)", "#", typed))
    return typed.split()


def by_tones(known: Iterable[ModeEntry], asked: frozenset[int]) -> Iterator[ModeMatch]:
    """The modes that have just these tones (0 to 11), or nearly."""
    for entry in known:
        held = tones_of(entry.mode)
        more, fewer = held - asked, asked - held
        shared = len(held & asked) / len(held | asked)
        if not more and not fewer:
            yield ModeMatch(entry.key, entry.mode, 1.0, ("has just these tones",))
        elif shared >= LEAST_SHARED:
            said = [f"has {letters(more)} as well"] if more else []
            said += [f"has no {letters(fewer)}"] if fewer else []
            yield ModeMatch(entry.key, entry.mode, shared * (0.7 if fewer else 0.9), tuple(said))


def together(searches: Sequence[Iterable[ModeMatch]]) -> list[ModeMatch]:
    """The modes that every search finds, best first; equals in their first order."""
    found = [{match.key: match for match in search} for search in searches]
    both = []
    for key, match in found[0].items():
        if all(key in other for other in found):
            score = sum(other[key].score for other in found) / len(found)
            reasons = tuple(reason for other in found for reason in other[key].reasons)
            both.append(ModeMatch(key, match.mode, score, reasons))
    return sorted(both, key=lambda match: -match.score)


def by_family(known: Iterable[ModeEntry], own: frozenset[str]) -> dict[str, list[ModeEntry]]:
    """Every mode under its family: the band's ``own`` first, then bare scales, then the families in
    the order in which the catalogue comes to them; the melas last."""
    families: dict[str, list[ModeEntry]] = {OWN: [], SCALES: []}
    for entry in known:
        family = _FAMILY.split(entry.mode.family)[0] or NO_FAMILY
        if entry.key in own:
            family = OWN
        elif family != MELAS and is_bare(entry.mode):
            family = SCALES
        families.setdefault(family, []).append(entry)
    return {family: entries for family, entries in families.items() if entries}


def is_bare(mode: Mode) -> bool:
    """Return whether a mode is only a scale: seven tones up and down, and no rules of movement."""
    straight = mode.ascent == mode.descent[::-1] and len(mode.up) == FULL
    return straight and not says_enough(mode)


def tones_of(mode: Mode) -> frozenset[int]:
    """The tones (0 to 11) of a mode's paths."""
    return mode.up | mode.down


def letters(tones: Iterable[int]) -> str:
    """Tones (0 to 11) as letters, from Sa up."""
    return " ".join(SARGAM[one] for one in sorted(tones))
