"""Names compared by their sound: what somebody writes as they hear it, against what is known.

Each table of names is a mapping, spelling -> the name that it finds: ``Library.mode_spellings``,
``Library.cycle_spellings``, ``instrument_spellings``.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping

from cyclechart.catalog.melas import sounded

LONGEST = 80
"""The most letters of a name that are compared."""
LEAST_LIKE = 0.6
"""The least likeness of a name that is offered; 1 is the same sound."""
_PART = 2
"""The fewest letters that find the names which begin with them."""
_KINDS = re.compile(
    r"(?i)\b(?:raga|raag|rag|ragam|raaga|ragini|that|thaat|thata|mode|scale|mela|melakarta|"
    r"tal|taal|tala|taala|talam|taalam|thalam|cycle)\b"
)
"""Words beside a name that only give its kind."""
_JOINED_KIND = re.compile(r"(?:talam|tala|tal)$")
"""The same at the end of a cycle's name as it sounds: Jhaptal, Jhapa."""


def fold(name: str) -> str:
    """A name without case, accents, spaces and signs: Chārukeśī -> charukesi."""
    plain = unicodedata.normalize("NFKD", name).lower()
    return "".join(letter for letter in plain if letter.isalnum() and letter.isascii())


def without_kind(name: str) -> str:
    """Return a name without words that only give its kind: Raag Yaman -> Yaman; "" for none."""
    return " ".join(_KINDS.sub(" ", name[:LONGEST].replace("-", " ")).split())


def heard(name: str) -> str:
    """Return a name as it sounds, without words that only give its kind."""
    bare = without_kind(name) or name[:LONGEST]
    return sounded(fold(bare)) or sounded(fold(name[:LONGEST]))


def nearest_by_sound(
    name: str, spellings: Mapping[str, str], count: int = 3, *, cutoff: float = LEAST_LIKE
) -> list[str]:
    """Return the names whose spellings sound most like a given one, best first; possibly none.

    The same sound comes first, then names that begin with it (a name that is still being typed),
    then those that are like it.
    """
    wanted = heard(name)
    if not wanted:
        return []
    matcher = difflib.SequenceMatcher(None, autojunk=False)
    matcher.set_seq2(wanted)
    best: dict[str, float] = {}
    for spelling, found in spellings.items():
        score = _likeness(matcher, wanted, heard(spelling), best.get(found, cutoff))
        if score >= max(cutoff, best.get(found, 0)):
            best[found] = score
    return sorted(best, key=lambda one: (-best[one], one))[:count]


def _likeness(matcher: difflib.SequenceMatcher[str], wanted: str, said: str, least: float) -> float:
    """Return how alike two names sound: 2 for the same, over 1 for a beginning, else their ratio;
    0 for less than ``least``."""
    if wanted == said or _JOINED_KIND.sub("", wanted) == _JOINED_KIND.sub("", said) != "":
        return 2.0
    if len(wanted) >= _PART and said.startswith(wanted):
        return 1 + len(wanted) / len(said)
    matcher.set_seq1(said)
    if matcher.real_quick_ratio() < least or matcher.quick_ratio() < least:
        return 0.0
    return matcher.ratio()
