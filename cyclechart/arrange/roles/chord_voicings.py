"""The voicing of chord symbols: which of their tones sound, and where, so that voices move little.

The third and the seventh come first, then what is altered and the colours, then the fifth; the root
is left to a bass who plays it (M. Levine, The Jazz Piano Book, on left-hand voicings; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise, product

from cyclechart.arrange.roles.voicing_choices import LOW_LIMITS
from cyclechart.theory.chord_qualities import Degree
from cyclechart.theory.chord_symbols import ChordSymbol

MOST_VOICES = 4
PLAIN_VOICES = 3

# The costs, in semitones of motion (our choice).
UNCLEAR = 40
MINOR_SECOND, MINOR_NINTH = 3, 12
WIDE, WIDEST = 2, 9
"""For each semitone that two neighbours are further apart than ``WIDEST``."""
ROOT_NOT_LOWEST = 9
CLUSTER = 4
"""For two semitones in a row."""


def voiced_degrees(symbol: ChordSymbol, *, with_root: bool) -> tuple[int, ...]:
    """Return the tones (semitones over the root, 0 to 11) that are voiced, those first that say
    most; a bass under a slash is none of them."""
    degrees = symbol.degrees
    has_third = any(number == 3 and tone == 4 for number, tone in degrees)
    ordered = sorted(degrees, key=lambda degree: _rank(degree, degrees))
    wanted = [
        tone
        for number, tone in ordered
        # The natural eleventh stands a semitone over a major third: it stays out of a thirteenth,
        # and in an eleventh takes the place of the third.
        if not (number == 11 and tone == 17 and has_third and any(n == 13 for n, _ in degrees))
        and not (number == 3 and has_third and _is_eleventh(degrees))
        and (number != 1 or with_root)
    ]
    classes = list(dict.fromkeys(tone % 12 for tone in wanted))
    if with_root:
        classes = [0, *(tone for tone in classes if tone)]
    colours = sum(number > 7 or _is_altered((number, tone)) for number, tone in degrees)
    most = MOST_VOICES if colours or with_root else PLAIN_VOICES
    chosen = classes[:most]
    if len(chosen) < PLAIN_VOICES and 0 not in chosen:
        chosen.append(0)
    return tuple(chosen)


def _is_eleventh(degrees: Sequence[Degree]) -> bool:
    return (11, 17) in degrees and not any(number == 13 for number, _ in degrees)


def _is_altered(degree: Degree) -> bool:
    return degree in ((5, 6), (5, 8), (9, 13), (9, 15), (11, 18), (13, 20))


def _rank(degree: Degree, degrees: Sequence[Degree]) -> tuple[int, int]:
    """Return the rank of a tone among those of its chord: what says most comes first."""
    number, tone = degree
    if number in (2, 3, 4):
        return 0, -number
    if number in (6, 7):
        return 1, -number
    if _is_altered(degree):
        return 2, -tone
    if number > 7:
        return 3, -number
    return (4, 0) if number == 5 else (5, 0)


@lru_cache(maxsize=4096)
def voice(
    symbol: ChordSymbol,
    midi: int,
    span: tuple[int, int],
    before: tuple[int, ...],
    *,
    with_root: bool,
) -> tuple[int, ...]:
    """Return the keys of a voicing of a chord within a range of keys (the lowest, the highest),
    Sa on the key ``midi``, with least motion from the keys ``before``; () where nothing fits.

    ``with_root``: no bass plays it, so that root or bass are voiced, the bass lowest.
    """
    tones = [(symbol.root + tone) % 12 for tone in voiced_degrees(symbol, with_root=with_root)]
    bass = symbol.bass if with_root else None
    if bass is not None:
        tones = [bass, *(tone for tone in tones if tone not in (bass, symbol.root))][:MOST_VOICES]
        if symbol.root not in tones and len(tones) < MOST_VOICES:
            tones.append(symbol.root)
    lowest = None if bass is None else (midi + bass) % 12
    root = (midi + symbol.root) % 12 if with_root else None
    # Where a range is narrow, rather another tone lowest than fewer of them.
    for count, low in product(range(len(tones), 0, -1), dict.fromkeys((lowest, None))):
        found = list(_within(tones[:count], midi, span, low))
        if found:
            return min(found, key=lambda keys: (_cost(keys, before, span, root), keys))
    return ()


def _within(
    tones: Sequence[int], midi: int, span: tuple[int, int], lowest: int | None
) -> Iterator[tuple[int, ...]]:
    """Yield every placing of tones in a range, each once; with one of them lowest, if given."""
    low, high = span
    places = [
        [key for key in range(low, high + 1) if (key - midi - tone) % 12 == 0] for tone in tones
    ]
    for keys in product(*places):
        placed = tuple(sorted(keys))
        if lowest is None or placed[0] % 12 == lowest:
            yield placed


def _cost(
    keys: tuple[int, ...], before: tuple[int, ...], span: tuple[int, int], root: int | None
) -> int:
    """Return the cost of a voicing in semitones of motion."""
    middle = sum(span)
    cost = abs(2 * sum(keys) - middle * len(keys)) // (2 * len(keys)) // 2
    gaps = [b - a for a, b in pairwise(keys)]
    cost += sum(UNCLEAR for a, b in pairwise(keys) if b - a < 13 and a < LOW_LIMITS[b - a])
    cost += sum(WIDE * (gap - WIDEST) for gap in gaps if gap > WIDEST)
    cost += sum(MINOR_SECOND for gap in gaps if gap == 1)
    cost += sum(CLUSTER for a, b in pairwise(gaps) if a + b <= 3)
    cost += sum(MINOR_NINTH for at, a in enumerate(keys) for b in keys[at:] if b - a == 13)
    if root is not None and keys[0] % 12 != root:
        cost += ROOT_NOT_LOWEST
    return cost + motion(before, keys)


def motion(before: Sequence[int], keys: Sequence[int]) -> int:
    """Return how far voices move from one chord to the next, in semitones: each to the nearest,
    and the outer ones to the outer ones."""
    if not before:
        return 0
    moved = sum(min(abs(key - old) for old in before) for key in keys)
    left = sum(min(abs(key - old) for key in keys) for old in before)
    return max(moved, left) + abs(keys[-1] - before[-1]) + abs(keys[0] - before[0]) // 2
