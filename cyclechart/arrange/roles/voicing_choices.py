"""The voicings of a mode: three of its tones that leave Sa the root, and how plain each of them is.

What sounds is judged whole, with the strings of the drone that ring under it. A voicing holds Sa
or the vadi and never makes a plain triad on another root; tones that the mode does not dwell on are
left out, and so is what only one of its paths has, as far as enough is left. No svara sounds in
both its forms.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import combinations, pairwise, product

from cyclechart.theory.mode import Mode

VOICES = 3
FEWEST = (5, 4, 3)
"""The tones that are enough; where no choice of tones leaves as many, the next number is."""
FORMS = ((1, 2), (3, 4), (5, 6), (8, 9), (10, 11))
"""The two forms of each svara that has two."""

SHAPES: tuple[tuple[str, range, int], ...] = (
    ("fourths", range(4, 8), 5),
    ("open", range(5, 11), 7),
    ("close", range(1, 5), 3),
)
"""Name, allowed distances of neighbouring voices, and their best distance (semitones)."""
_ANY_SHAPE = range(1, 13), 5

_TRIADS = {
    root: tuple(frozenset((root + step) % 12 for step in (0, third, 7)) for third in (3, 4))
    for root in range(12)
}
"""The minor and the major triad on each root."""

# The costs, in semitones of motion (our choice).
NO_SA = 3
TAKES_SA = 5
"""For a triad on another root, drone included, of which Sa is the third or fifth."""
LEAVES_SA = 2
"""For one that Sa is no tone of."""
FIFTH, ROOTLESS_FIFTH = 1, 3
"""For each fifth or fourth between tones that are neither Sa nor a fifth or fourth from it: with
Sa in the voicing, and without."""
DOUBLES_STRING = 2
"""For the drone's second tone, which sounds anyway."""
MINOR_SECOND, MINOR_NINTH, MAJOR_SEVENTH = 3, 5, 1

LOW_LIMITS = {1: 52, 2: 51, 3: 48, 4: 46, 5: 46, 6: 46, 7: 34, 8: 43, 9: 42, 10: 41, 11: 41, 12: 28}
"""The lowest MIDI key under each interval that still sounds clear (arrangers' handbooks; from
memory)."""

Choice = tuple[tuple[int, ...], int]
"""The pitches of a voicing (semitones above the middle Sa) and its distance from a plain one."""


def foreign_triads(tones: frozenset[int]) -> Iterator[frozenset[int]]:
    """Yield the major and minor triads among tones (0 to 11) that have another root than Sa."""
    for root in sorted(tones - {0}):
        yield from (triad for triad in _TRIADS[root] if triad <= tones)


def keeps_to_sa(mode: Mode, tones: frozenset[int]) -> bool:
    """Return whether a voicing of these tones leaves Sa the root.

    It holds Sa or the vadi; by itself or with the drone it is no triad on another root, and no
    dominant seventh, which asks to be resolved; and without Sa it does not make the drone's Sa the
    third or fifth of a triad.
    """
    if not tones & {0, mode.vadi}:
        return False
    sounding = tones | drone_tones(mode)
    return not any(
        triad in (tones, sounding)
        or (0 in triad and 0 not in tones)
        or _as_dominant_seventh(triad) <= sounding
        for triad in foreign_triads(sounding)
    )


def _as_dominant_seventh(triad: frozenset[int]) -> frozenset[int]:
    """Return a triad with a major third and a minor seventh over its root."""
    root = next(root for root, triads in _TRIADS.items() if triad in triads)
    return triad | {(root + 4) % 12, (root + 10) % 12}


def drone_tones(mode: Mode) -> frozenset[int]:
    """Return the tones of the drone's strings."""
    return frozenset({0, mode.drone_second})


def voiced_tones(mode: Mode) -> frozenset[int]:
    """Return the tones used in voicings: those of both paths that are not weak, each in one form.

    Where these are too few, those of either path; a weak tone only where three others are not left.
    """
    both, either = mode.up & mode.down, mode.up | mode.down
    weak = frozenset(mode.weak) - {0}
    found = [tones - weak - _other_forms(mode, either - weak) for tones in (both, either)]
    enough = (tones for fewest in FEWEST for tones in found if len(tones) >= fewest)
    return next(enough, either)


def _other_forms(mode: Mode, tones: frozenset[int]) -> frozenset[int]:
    """Return the tones that stand beside another form of the same svara and are leaned on less.

    Where neither is leaned on, the raised form: it mostly rises, and a chord would lead with it.
    """
    leaned = [tone for tone in (mode.vadi, mode.samvadi, *mode.rests) if tone is not None]
    kept = {
        pair: next((tone for tone in leaned if tone in pair), pair[0])
        for pair in FORMS
        if tones.issuperset(pair)
    }
    return frozenset(tone for pair in kept for tone in pair) - frozenset(kept.values())


@lru_cache(maxsize=256)
def choices(mode: Mode, midi: int, low: int, high: int, shape: str) -> tuple[Choice, ...]:
    """Return every voicing of a shape within a range of keys, with Sa on the key ``midi``.

    Of any shape, where the range has none of this one that sounds clear; then two tones instead of
    three; and what is not clear, in a range so low that nothing else is there.
    """
    apart, best = next(((apart, best) for name, apart, best in SHAPES if name == shape), _ANY_SHAPE)
    tones = voiced_tones(mode)
    within = [pitch for pitch in range(low - midi, high - midi + 1) if pitch % 12 in tones]
    sizes = (VOICES, apart), (VOICES, _ANY_SHAPE[0]), (2, _ANY_SHAPE[0])
    for clear, (voices, allowed) in product((True, False), sizes):
        found = tuple(
            (pitches, _distance_from_plain(mode, pitches, best))
            for pitches in combinations(within, voices)
            if all(b - a in allowed for a, b in pairwise(pitches))
            and len(used := frozenset(pitch % 12 for pitch in pitches)) == voices
            and keeps_to_sa(mode, used)
            and (_is_clear(midi, pitches) or not clear)
        )
        if found:
            return found
    return ()


def _distance_from_plain(mode: Mode, pitches: Sequence[int], best: int) -> int:
    """Return a voicing's distance from a plain one: even gaps, Sa the root, tones that the mode
    leans or rests on and does not shake."""
    used = frozenset(pitch % 12 for pitch in pitches)
    preferred = {mode.vadi, mode.samvadi, *mode.rests, 0}
    shaken = {tone for tone, _ in mode.andolan}
    doubled = mode.drone_second in used - {0, mode.vadi}
    strangers = len(used - preferred) + len(used & shaken) + doubled * DOUBLES_STRING
    uneven = sum(abs(b - a - best) for a, b in pairwise(pitches))
    return uneven + strangers + _pull_from_sa(mode, used) + _harshness(pitches)


def _pull_from_sa(mode: Mode, used: frozenset[int]) -> int:
    """Return the cost of what makes another tone the root, drone included."""
    pulls = foreign_triads(used | drone_tones(mode))
    by_triads = sum(TAKES_SA if 0 in triad else LEAVES_SA for triad in pulls)
    fifths = sum((b - a) % 12 in (5, 7) for a, b in combinations(used - {0, 5, 7}, 2))
    return by_triads + (fifths * FIFTH if 0 in used else fifths * ROOTLESS_FIFTH + NO_SA)


def _harshness(pitches: Sequence[int]) -> int:
    costs = {1: MINOR_SECOND, 13: MINOR_NINTH, 11: MAJOR_SEVENTH}
    return sum(costs.get(b - a, 0) for a, b in combinations(pitches, 2))


def _is_clear(midi: int, pitches: Sequence[int]) -> bool:
    """Return whether no interval between neighbouring voices lies too low to sound clear."""
    return all(midi + a >= LOW_LIMITS[b - a] for a, b in pairwise(pitches))
