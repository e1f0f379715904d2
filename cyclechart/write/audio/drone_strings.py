"""The strings of a drone as they ring: each until it is plucked again itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from cyclechart.write.audio.performance import Tone


def ringing_strings(tones: Sequence[Tone]) -> tuple[Tone, ...]:
    """Return the tones of a drone as long as their strings ring.

    In a score a string ends where another of its pitch is plucked, for a key of a MIDI channel
    sounds once. Here it rings on with that one, until it is plucked itself or all are let go.
    """
    begun: defaultdict[int, list[Tone]] = defaultdict(list)
    for tone in tones:
        begun[tone.start].append(tone)
    found: list[Tone] = []
    for tone in tones:
        end = last = tone.start + tone.frames
        while True:
            here = begun.get(last, ())
            if any(other.string == tone.string for other in here):
                break
            after = next((other for other in here if other.hz == tone.hz), None)
            if after is None:
                break
            end = last = after.start + after.frames
        found.append(replace(tone, frames=end - tone.start))
    return tuple(found)
