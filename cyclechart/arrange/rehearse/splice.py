"""A score read again in stretches of its time, one after the other, as tape is spliced."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

from cyclechart.arrange.clock import USUAL_TEMPO
from cyclechart.arrange.score import Hit, Marker, Meter, Part, Score, Sound, TempoMark

MOST_BEATS = 100_000
"""No score is made longer than this: it is a slip, and its file would be of no use."""

Marked: TypeAlias = Callable[[Marker], str | None]
"""The text of a marker in a stretch, or None where it is left out."""


def as_it_is(marker: Marker) -> str | None:
    """A marker's own text."""
    return marker.text


@dataclass(frozen=True)
class Take:
    """The score from ``start`` to ``end``; the parts named ``silent`` do not sound in it.

    ``marked`` gives its markers their texts; ``opening``, where not "", is a marker at its start.
    """

    start: Fraction
    end: Fraction
    silent: frozenset[str] = frozenset()
    marked: Marked = as_it_is
    opening: str = ""

    @property
    def length(self) -> Fraction:
        return self.end - self.start


def spliced(score: Score, takes: Sequence[Take]) -> Score:
    """The score in takes. What rings over the end of a take is cut there and what began before a
    take is left out of it; only the strings of a drone ring on until they are plucked again.

    Raises ValueError where it would be longer than ``MOST_BEATS``.
    """
    laid: list[tuple[Take, Fraction]] = []
    now = Fraction(0)
    for take in takes:
        laid.append((take, now))
        now += take.length
    if now > MOST_BEATS:
        raise ValueError(f"that makes {int(now):,} beats; {MOST_BEATS:,} is the most")
    return replace(
        score,
        tempos=_tempos(score, laid),
        meters=_meters(score, laid),
        markers=_markers(score, laid),
        parts=tuple(_part(part, laid) for part in score.parts),
        end=now,
    )


def tempo_at(score: Score, time: Fraction) -> Fraction:
    """Beats a minute at a time of the score."""
    starts = [mark.at for mark in score.tempos]
    number = bisect_right(starts, time) - 1
    return score.tempos[number].tempo if number >= 0 else USUAL_TEMPO


def meter_at(score: Score, time: Fraction) -> Meter | None:
    """The meter in force at a time of the score, or None before the first."""
    starts = [meter.at for meter in score.meters]
    number = bisect_right(starts, time) - 1
    return score.meters[number] if number >= 0 else None


def cut_sound(sound: Sound, start: Fraction, end: Fraction) -> Sound:
    """What is left of a sound, with its curve, between two times that it sounds at."""
    begin = max(sound.start, start)
    length = min(sound.start + sound.length, end) - begin
    if begin == sound.start and length == sound.length:
        return sound
    curve = _cut_curve(sound.curve, begin - sound.start, length)
    return replace(sound, start=begin, length=length, curve=curve)


def cut_hit(hit: Hit, end: Fraction) -> Hit:
    """A hit, cut off at a time after its start."""
    return hit if hit.start + hit.length <= end else replace(hit, length=end - hit.start)


_Laid: TypeAlias = Sequence[tuple[Take, Fraction]]
"""Takes, and where each begins in what is made of them."""
_Curve: TypeAlias = tuple[tuple[Fraction, float], ...]


def _cut_curve(curve: _Curve, start: Fraction, length: Fraction) -> _Curve:
    """The stretch of a curve, with points of its own where its lines are cut through."""
    if not curve or (start == 0 and curve[-1][0] <= length):
        return curve
    end = start + length
    inside = [(at - start, by) for at, by in curve if start <= at <= end]
    if start > curve[0][0] and (not inside or inside[0][0] > 0):
        inside.insert(0, (Fraction(0), _on_curve(curve, start)))
    if end < curve[-1][0] and (not inside or inside[-1][0] < length):
        inside.append((length, _on_curve(curve, end)))
    return tuple(inside)


def _on_curve(curve: _Curve, time: Fraction) -> float:
    """Where a curve stands at a time: held before its first point and after its last."""
    if time <= curve[0][0]:
        return curve[0][1]
    for (before, low), (after, high) in pairwise(curve):
        if before <= time < after:
            return low + (high - low) * float((time - before) / (after - before))
    return curve[-1][1]


def _holds(take: Take, at: Fraction, score: Score, laid: _Laid) -> bool:
    """Whether a mark lies in a take; one at the very end of the score lies in the last of all."""
    if at == take.end == score.end:
        return take is laid[-1][0]
    return take.start <= at < take.end


def _tempos(score: Score, laid: _Laid) -> tuple[TempoMark, ...]:
    found: list[TempoMark] = []
    if not score.tempos:
        return ()
    for take, seam in laid:
        first = tempo_at(score, take.start)
        known = seam > 0 or score.tempos[0].at <= take.start
        if known and (not found or found[-1].tempo != first):
            found.append(TempoMark(seam, first))
        found += [
            replace(mark, at=mark.at - take.start + seam)
            for mark in score.tempos
            if mark.at > take.start and _holds(take, mark.at, score, laid)
        ]
    return tuple(found)


def _meters(score: Score, laid: _Laid) -> tuple[Meter, ...]:
    found: list[Meter] = []
    for take, seam in laid:
        later = [
            replace(meter, at=meter.at - take.start + seam)
            for meter in score.meters
            if meter.at > take.start and _holds(take, meter.at, score, laid)
        ]
        meter = meter_at(score, take.start)
        if meter is not None:
            phase = (take.start - meter.at) % meter.beats
            if not found or not _goes_on(found[-1], seam, meter.beats, phase):
                found.append(Meter(seam, meter.beats - phase))
                bar = seam + meter.beats - phase
                before = min(seam + take.length, later[0].at if later else seam + take.length)
                if phase and bar < before:
                    found.append(Meter(bar, meter.beats))
        found += later
    return tuple(found)


def _goes_on(meter: Meter, seam: Fraction, beats: Fraction, phase: Fraction) -> bool:
    """Whether the bars of a meter stand at the seam as they are to stand after it."""
    return meter.beats == beats and (seam - meter.at) % beats == phase


def _markers(score: Score, laid: _Laid) -> tuple[Marker, ...]:
    found: list[Marker] = []
    for take, seam in laid:
        if take.opening:
            found.append(Marker(seam, take.opening))
        for marker in score.markers:
            text = take.marked(marker) if _holds(take, marker.at, score, laid) else None
            if text is not None:
                found.append(Marker(marker.at - take.start + seam, text))
    return tuple(found)


def _part(part: Part, laid: _Laid) -> Part:
    hits = [
        replace(cut, start=cut.start - take.start + seam)
        for take, seam in laid
        if part.name not in take.silent
        for hit in part.hits
        if take.start <= hit.start < take.end
        for cut in [cut_hit(hit, take.end)]
    ]
    sounds = _strings(part, laid) if part.role.is_drone else list(_sounds(part, laid))
    return replace(part, sounds=tuple(sounds), hits=tuple(hits))


def _sounds(part: Part, laid: _Laid) -> Iterator[Sound]:
    for take, seam in laid:
        if part.name not in take.silent:
            yield from _begun(part, take, seam)


def _begun(part: Part, take: Take, seam: Fraction) -> Iterator[Sound]:
    """The sounds that begin in a take, where they stand in what is made of it."""
    for sound in part.sounds:
        if take.start <= sound.start < take.end:
            cut = cut_sound(sound, take.start, take.end)
            yield replace(cut, start=cut.start - take.start + seam)


def _strings(part: Part, laid: _Laid) -> list[Sound]:
    """The strings of a drone. One that sounds at a seam rings on until it, or another of its pitch,
    is plucked; one plucked before a take rings from the edge of it, where it does not ring yet."""
    found: list[Sound] = []
    ringing: list[int] = []
    for take, seam in laid:
        if part.name in take.silent:
            ringing = []
            continue
        until = seam + take.length
        begun = list(_begun(part, take, seam))
        carried = [
            replace(cut_sound(sound, take.start, take.end), start=seam)
            for sound in part.sounds
            if sound.start < take.start < sound.start + sound.length
        ]
        for number in ringing:
            string = found[number]
            same = [one for one in carried if _pitch(one) == _pitch(string)]
            if same:
                carried.remove(same[0])
                found[number] = _joined(string, same[0])
            else:
                stop = min((one.start for one in begun if _stops(one, string)), default=until)
                found[number] = replace(string, length=stop - string.start)
        first = len(found)
        found += carried + begun
        near = [*ringing, *range(first, len(found))]
        ringing = [one for one in near if found[one].start + found[one].length == until]
    return found


def _joined(string: Sound, more: Sound) -> Sound:
    """A string that rings on as another one of its pitch does, which begins where it ends."""
    later = ((at + string.length, by) for at, by in more.curve)
    return replace(string, length=string.length + more.length, curve=(*string.curve, *later))


def _pitch(sound: Sound) -> tuple[int | None, int]:
    return sound.base, sound.pitch


def _stops(plucked: Sound, string: Sound) -> bool:
    """Whether a pluck ends what a string sounds: the string itself, or another of its pitch."""
    return plucked.voice == string.voice or _pitch(plucked) == _pitch(string)
