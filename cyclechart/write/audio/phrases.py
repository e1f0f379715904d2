"""The phrases of a player: tones that go on in one breath, bow or stroke sound as one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cyclechart.sound.legato import LegatoTone
from cyclechart.sound.rate import RATE
from cyclechart.sound.voices import TAKES
from cyclechart.write.audio.performance import Tone

MOST_FRAMES = 30 * RATE
"""The longest phrase: no breath or bow lasts longer."""
NEAR = RATE // 50
"""Frames (20 ms) by which a joined tone may begin before or after the end of the one before."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A tone, or tones that are joined. ``frames``: from its beginning to the end of the last."""

    start: int
    frames: int
    tones: tuple[LegatoTone, ...]

    @property
    def take(self) -> int:
        """The way of playing it: another one at another time, the same one each time it is made."""
        return (self.start * 2_654_435_761 >> 16) % TAKES


def phrases(tones: Iterable[Tone]) -> Iterator[Phrase]:
    """Yield the phrases of a player's tones, in order."""
    return map(_phrase, _groups(tones))


def joins(tones: Iterable[Tone]) -> Iterator[int]:
    """Yield of each tone 1 if it goes on from the one before, plus 2 if the next does from it."""
    for group in _groups(tones):
        for at in range(len(group)):
            yield (at > 0) + 2 * (at + 1 < len(group))


def _groups(tones: Iterable[Tone]) -> Iterator[list[Tone]]:
    """Yield the tones of each phrase."""
    joined: list[Tone] = []
    for tone in tones:
        if joined and not _goes_on(joined, tone):
            yield joined
            joined = []
        joined.append(tone)
    if joined:
        yield joined


def _goes_on(phrase: list[Tone], tone: Tone) -> bool:
    before = phrase[-1]
    return (
        tone.joined
        and tone.start > before.start
        and abs(before.start + before.frames - tone.start) <= NEAR
        and tone.start + tone.frames - phrase[0].start <= MOST_FRAMES
    )


def _phrase(tones: list[Tone]) -> Phrase:
    start = tones[0].start
    legato = tuple(LegatoTone(one.start - start, one.hz, one.velocity, one.curve) for one in tones)
    return Phrase(start, tones[-1].start + tones[-1].frames - start, legato)
