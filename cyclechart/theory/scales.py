"""The scales of jazz by name: the modes of four parent scales, and some of other sizes.

The names are those of the trade's textbooks, from memory; where several are in use, the first
stands. A scale says which tones there are, not how a raga moves through them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

_PARENTS: tuple[tuple[tuple[int, ...], tuple[str, ...]], ...] = (
    (
        (0, 2, 4, 5, 7, 9, 11),
        ("Ionian (major)", "Dorian", "Phrygian", "Lydian", "Mixolydian", "Aeolian (natural minor)",
         "Locrian"),
    ),
    (
        (0, 2, 3, 5, 7, 9, 11),
        ("melodic minor", "Dorian b2", "Lydian augmented", "Lydian dominant", "Mixolydian b6",
         "Locrian natural 2", "altered"),
    ),
    (
        (0, 2, 3, 5, 7, 8, 11),
        ("harmonic minor", "Locrian natural 6", "Ionian #5", "Dorian #4", "Phrygian dominant",
         "Lydian #2", "altered bb7"),
    ),
    (
        (0, 2, 4, 5, 7, 8, 11),
        ("harmonic major", "Dorian b5", "Phrygian b4", "Lydian b3", "Mixolydian b2",
         "Lydian augmented #2", "Locrian bb7"),
    ),
    ((0, 2, 4, 7, 9), ("major pentatonic", "", "", "", "minor pentatonic")),
)  # fmt: skip
"""Each parent scale, and the names of its modes from each of its tones."""

_OTHERS = {
    (0, 1, 4, 5, 7, 8, 11): "double harmonic major",
    (0, 2, 3, 6, 7, 8, 11): "Hungarian minor",
    (0, 1, 3, 5, 7, 8, 11): "Neapolitan minor",
    (0, 1, 3, 5, 7, 9, 11): "Neapolitan major",
    (0, 3, 5, 6, 7, 10): "blues",
    (0, 2, 4, 6, 8, 10): "whole tone",
    (0, 3, 4, 7, 8, 11): "augmented",
    (0, 2, 3, 5, 6, 8, 9, 11): "diminished (whole-half)",
    (0, 1, 3, 4, 6, 7, 9, 10): "diminished (half-whole)",
    (0, 2, 4, 5, 7, 9, 10, 11): "bebop dominant",
    (0, 2, 4, 5, 7, 8, 9, 11): "bebop major",
    (0, 1, 5, 7, 10): "Insen",
    (0, 1, 5, 7, 8): "In",
}


def _named() -> Iterator[tuple[frozenset[int], str]]:
    for parent, names in _PARENTS:
        for tone, name in zip(parent, names, strict=True):
            if name:
                yield frozenset((other - tone) % 12 for other in parent), name
    yield from ((frozenset(tones), name) for tones, name in _OTHERS.items())


SCALES = dict(_named())
"""Every scale's name by its tones (0 to 11)."""

FULL = 7
"""The tones of a scale in which smaller ones are looked for."""


def scale_of(tones: Collection[int]) -> str:
    """Return the name of the scale that some tones are; "" where they are none."""
    return SCALES.get(frozenset(tones), "")


def scales_around(tones: Collection[int]) -> tuple[str, ...]:
    """Return the scales of seven tones that hold fewer tones, or that lie within more; the seven
    church modes first."""
    held = frozenset(tones)
    return tuple(
        name
        for scale, name in SCALES.items()
        if len(scale) == FULL and (held < scale or (len(held) > FULL and scale < held))
    )
