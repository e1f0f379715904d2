"""The qualities of chord symbols: what is written after a root, and the tones that it means.

The vocabulary is that of jazz charts (C. Brandt and C. Roemer, Standardized Chord Symbol Notation;
M. Levine, The Jazz Theory Book, on chord symbols; from memory): triads, suspended and added tones,
sixths, sevenths of every kind, stacks of thirds up to the thirteenth, altered tones.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

Degree = tuple[int, int]
"""A tone of a chord: its degree (1 to 13) and its semitones over the root."""

MAJOR = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11, 9: 14, 11: 17, 13: 21}
"""The semitones of each degree of a major scale over its first."""

_SIGNS = {"b": -1, "#": 1, "+": 1, "": 0}
_THIRDS = {
    "": (4, 7), "m": (3, 7), "mi": (3, 7), "min": (3, 7), "dim": (3, 6), "o": (3, 6), "°": (3, 6),
    "ø": (3, 6), "Ø": (3, 6), "aug": (4, 8), "+": (4, 8),
}  # fmt: skip
"""The third and fifth that a sign after the root gives a chord."""
_DIMINISHED, _HALF, _AUGMENTED = ("dim", "o", "°"), ("ø", "Ø"), ("aug", "+")

_QUALITY = re.compile(
    r"(?P<third>min|mi|m(?!a(?!dd))|dim|o|°|ø|Ø|aug|\+)?"
    r"(?P<major>maj|ma|M|Δ|△)?"
    r"(?P<top>6/?9|13|11|9|7|6|5)?"
    r"(?P<rest>(?:sus[24]?|alt|add[b#]?(?:13|11|9|6|4|2)|(?:no|omit)[35]|[b#+](?:13|11|9|5)|\+)*)"
)
_REST = re.compile(r"sus[24]?|alt|add[b#]?\d+|(?:no|omit)\d|[b#+]\d+|\+")
_ALTERED = {"b5", "#5", "b9", "#9", "#11", "b13"}

LONGEST = 24
"""The most characters of a quality."""

COMMON = (
    "", "m", "7", "maj7", "m7", "m7b5", "dim7", "m(maj7)", "6", "m6", "6/9", "9", "maj9", "m9",
    "11", "m11", "13", "maj13", "m13", "7b9", "7#9", "7#11", "7b13", "7b5", "7#5", "7alt",
    "maj7#11", "maj7#5", "sus2", "sus4", "7sus4", "9sus4", "13sus4", "add9", "madd9", "dim", "aug",
    "5", "13b9",
)  # fmt: skip
"""The qualities that are suggested, the plain ones first."""


@lru_cache(maxsize=4096)
def degrees_of(quality: str) -> tuple[Degree, ...] | None:
    """Return the tones of a quality from the root up; None where it means nothing.

    Flats and sharps are ``b`` and ``#`` or ♭ and ♯; brackets and commas group and mean nothing.
    """
    if len(quality) > LONGEST or not _is_bracketed(quality):
        return None
    plain = re.sub("[(),]", "", quality).replace("♭", "b").replace("♯", "#")
    match = _QUALITY.fullmatch(plain)
    if match is None:
        return None
    stack = _stack(match["third"] or "", match["major"] or "", match["top"] or "")
    if stack is None:
        return None
    changed = _with_changes(stack, match["third"] or "", _REST.findall(match["rest"]))
    return None if changed is None else tuple(sorted(changed, key=lambda tone: tone[::-1]))


def _is_bracketed(quality: str) -> bool:
    """Return whether every bracket is closed and holds something."""
    return not re.search("[()]", re.sub(r"\([^()]+\)", "", quality))


def _stack(third: str, major: str, top: str) -> list[Degree] | None:
    """Return the tones of a triad with the sixth, or the thirds up to the top that it names."""
    low, fifth = _THIRDS[third]
    triad = [(1, 0), (3, low), (5, fifth)]
    if third in _HALF and (major or top in ("5", "6", "69", "6/9")):
        return None
    if third in (*_DIMINISHED, *_AUGMENTED) and top in ("6", "69", "6/9"):
        return None
    if third in _DIMINISHED and top in ("5", "13"):
        return None
    if top == "5":
        if third in _AUGMENTED and not major:
            return triad
        return [(1, 0), (5, 7)] if not third and not major else None
    if top in ("6", "69", "6/9"):
        return [*triad, (6, 9), *([(9, 14)] if "9" in top else [])]
    if not top and third not in _HALF:
        if not major or (not third and major not in "Δ△"):
            return triad
        return [*triad, (7, 11)] if major in "Δ△" else None
    seventh = 11 if major else 9 if third in _DIMINISHED else 10
    above = [(degree, MAJOR[degree]) for degree in (9, 11, 13) if top and degree <= int(top)]
    return [*triad, (7, seventh), *above]


def _with_changes(stack: list[Degree], third: str, changes: list[str]) -> list[Degree] | None:
    """Return a stack with what stands after it: suspended, added, altered, omitted tones."""
    tones = list(stack)
    from_stack = set(stack)
    for change in changes:
        if change.startswith("sus"):
            if third or (3, 4) not in tones:
                return None
            degree = 2 if change == "sus2" else 4
            gone = ((3, 4), (11, 17) if degree == 4 else (9, 14))
            tones = [tone for tone in tones if tone not in gone]
            tones.append((degree, MAJOR[degree]))
        elif change == "alt":
            if third or tones[1:] not in ([(3, 4), (5, 7)], [(3, 4), (5, 7), (7, 10)]):
                return None
            tones = [(1, 0), (3, 4), (7, 10), (9, 13), (9, 15), (11, 18), (13, 20)]
        elif change.startswith("add"):
            sign, degree = _signed(change[3:])
            tones.append((degree, MAJOR[degree] + sign))
        elif change[0] in "no":
            degree = int(change[-1])
            if all(tone[0] != degree for tone in tones):
                return None
            tones = [tone for tone in tones if tone[0] != degree]
        else:
            sign, degree = (1, 5) if change == "+" else _signed(change)
            if f"{'b' if sign < 0 else '#'}{degree}" not in _ALTERED:
                return None
            natural = [tone for tone in tones if tone[0] == degree and tone in from_stack]
            tones = [tone for tone in tones if tone not in natural]
            tones.append((degree, MAJOR[degree] + sign))
    return tones if len(set(tones)) == len(tones) else None


def _signed(text: str) -> tuple[int, int]:
    """Return the sign and the number of a degree such as ``b9``."""
    sign = text[0] if text[0] in "b#+" else ""
    return _SIGNS[sign], int(text[len(sign) :])


def nearest_qualities(quality: str) -> Iterator[str]:
    """Yield readings of a quality that means nothing as it is: other signs for the same thing."""
    swaps = (
        ("-", "m"), ("−", "m"), ("^", "maj"), ("MAJ", "maj"), ("Maj", "maj"), ("MIN", "m"),
        ("Min", "m"), ("Mi", "m"), ("MA", "maj"), ("Ma", "maj"), ("j", "maj"), ("major", "maj"),
        ("minor", "m"), ("dom", ""), ("h", "m7b5"), ("SUS", "sus"), ("Sus", "sus"), ("DIM", "dim"),
        ("ADD", "add"), ("Add", "add"), ("mmin", "m"), ("/9", "add9"), ("2", "add9"), ("4", "sus4"),
    )  # fmt: skip
    for old, new in swaps:
        if old in quality:
            tried = quality.replace(old, new, 1)
            if degrees_of(tried) is not None:
                yield tried
