"""Which of its variants each stroke of a drum is: no two neighbours of one sound are alike."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

ROTATION = (0, 1, 2, 3, 0, 2, 1, 3, 2, 0, 3, 1)
"""The order of four variants: each follows each other one once, so that no short pattern is heard,
and the last is followed by the first."""
ALTERNATION = (0, 1)
"""The order of two."""


def variants_of(sounds: Sequence[Hashable], order: Sequence[int] = ROTATION) -> list[int]:
    """Return the variant of each of a player's strokes; ``sounds`` are theirs in order of time.

    A stroke differs from the stroke of the same sound before it, and with more than two variants
    the last differs from the first too, which follows it where the piece goes round. Nothing is
    drawn by lot: the same strokes have the same variants, as often as they are rendered.
    """
    places: dict[Hashable, list[int]] = {}
    for place, sound in enumerate(sounds):
        places.setdefault(sound, []).append(place)
    variants = [0] * len(sounds)
    for own in places.values():
        for number, place in enumerate(own):
            variants[place] = order[number % len(order)]
        first, last = variants[own[0]], variants[own[-1]]
        if len(own) > 2 and last == first:
            near = {first, variants[own[-2]]}
            variants[own[-1]] = next((one for one in order if one not in near), last)
    return variants
