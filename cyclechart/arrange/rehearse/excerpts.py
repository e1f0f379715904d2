"""Joins excerpts of a score into a new score, as tape is spliced."""

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
"""The longest score: a longer one is a slip of the user, and its file would be useless."""

MarkerText: TypeAlias = Callable[[Marker], str | None]
"""A function that returns the text of a marker in an excerpt, or None to leave it out."""


def own_text(marker: Marker) -> str | None:
    """Return a marker's own text."""
    return marker.text


@dataclass(frozen=True)
class Excerpt:
    """The score from ``start`` to ``end`` (beats); the parts named ``silent`` do not sound in it.

    ``marker_text`` returns the texts of its markers; ``opening``, unless "", is a marker at its
    start.
    """

    start: Fraction
    end: Fraction
    silent: frozenset[str] = frozenset()
    marker_text: MarkerText = own_text
    opening: str = ""

    @property
    def length(self) -> Fraction:
        """The length in beats."""
        return self.end - self.start


def join_excerpts(score: Score, excerpts: Sequence[Excerpt]) -> Score:
    """Return the excerpts of a score one after the other as a score.

    A sound is cut at the end of its excerpt, and left out of an excerpt that begins after it; only
    the strings of a drone ring on until they are plucked again. Raises ValueError for a result
    longer than ``MOST_BEATS``.
    """
    placed: list[tuple[Excerpt, Fraction]] = []
    now = Fraction(0)
    for excerpt in excerpts:
        placed.append((excerpt, now))
        now += excerpt.length
    if now > MOST_BEATS:
        raise ValueError(f"that makes {int(now):,} beats; {MOST_BEATS:,} is the most")
    return replace(
        score,
        tempos=_tempos(score, placed),
        meters=_meters(score, placed),
        markers=_markers(score, placed),
        parts=tuple(_part(part, placed) for part in score.parts),
        end=now,
    )


def tempo_at(score: Score, time: Fraction) -> Fraction:
    """Return the beats a minute at a time of the score."""
    starts = [mark.at for mark in score.tempos]
    number = bisect_right(starts, time) - 1
    return score.tempos[number].tempo if number >= 0 else USUAL_TEMPO


def meter_at(score: Score, time: Fraction) -> Meter | None:
    """Return the meter at a time of the score, or None before the first."""
    starts = [meter.at for meter in score.meters]
    number = bisect_right(starts, time) - 1
    return score.meters[number] if number >= 0 else None


def cut_sound(sound: Sound, start: Fraction, end: Fraction) -> Sound:
    """Return the part of a sound, with its curve, between two times (beats of the score)."""
    begin = max(sound.start, start)
    length = min(sound.start + sound.length, end) - begin
    if begin == sound.start and length == sound.length:
        return sound
    curve = _cut_curve(sound.curve, begin - sound.start, length)
    return replace(sound, start=begin, length=length, curve=curve)


def cut_hit(hit: Hit, end: Fraction) -> Hit:
    """Return a hit, cut off at a time after its start."""
    return hit if hit.start + hit.length <= end else replace(hit, length=end - hit.start)


_PlacedExcerpts: TypeAlias = Sequence[tuple[Excerpt, Fraction]]
"""Excerpts with their starts in the new score."""
_Curve: TypeAlias = tuple[tuple[Fraction, float], ...]


def _cut_curve(curve: _Curve, start: Fraction, length: Fraction) -> _Curve:
    """Return the part of a curve from ``start`` on, with new points where its lines are cut."""
    if not curve or (start == 0 and curve[-1][0] <= length):
        return curve
    end = start + length
    inside = [(at - start, by) for at, by in curve if start <= at <= end]
    if start > curve[0][0] and (not inside or inside[0][0] > 0):
        inside.insert(0, (Fraction(0), _curve_value(curve, start)))
    if end < curve[-1][0] and (not inside or inside[-1][0] < length):
        inside.append((length, _curve_value(curve, end)))
    return tuple(inside)


def _curve_value(curve: _Curve, time: Fraction) -> float:
    """Return the value of a curve at a time; it is constant before its first and after its last
    point."""
    if time <= curve[0][0]:
        return curve[0][1]
    for (before, low), (after, high) in pairwise(curve):
        if before <= time < after:
            return low + (high - low) * float((time - before) / (after - before))
    return curve[-1][1]


def _holds(excerpt: Excerpt, at: Fraction, score: Score, placed: _PlacedExcerpts) -> bool:
    """Return True for a mark within an excerpt; one at the end of the score belongs to the last."""
    if at == excerpt.end == score.end:
        return excerpt is placed[-1][0]
    return excerpt.start <= at < excerpt.end


def _tempos(score: Score, placed: _PlacedExcerpts) -> tuple[TempoMark, ...]:
    tempos: list[TempoMark] = []
    if not score.tempos:
        return ()
    for excerpt, seam in placed:
        first = tempo_at(score, excerpt.start)
        known = seam > 0 or score.tempos[0].at <= excerpt.start
        if known and (not tempos or tempos[-1].tempo != first):
            tempos.append(TempoMark(seam, first))
        tempos += [
            replace(mark, at=mark.at - excerpt.start + seam)
            for mark in score.tempos
            if mark.at > excerpt.start and _holds(excerpt, mark.at, score, placed)
        ]
    return tuple(tempos)


def _meters(score: Score, placed: _PlacedExcerpts) -> tuple[Meter, ...]:
    meters: list[Meter] = []
    for excerpt, seam in placed:
        later = [
            replace(meter, at=meter.at - excerpt.start + seam)
            for meter in score.meters
            if meter.at > excerpt.start and _holds(excerpt, meter.at, score, placed)
        ]
        meter = meter_at(score, excerpt.start)
        if meter is not None:
            phase = (excerpt.start - meter.at) % meter.beats
            if not meters or not _goes_on(meters[-1], seam, meter.beats, phase):
                meters.append(Meter(seam, meter.beats - phase))
                bar = seam + meter.beats - phase
                before = min(seam + excerpt.length, later[0].at if later else seam + excerpt.length)
                if phase and bar < before:
                    meters.append(Meter(bar, meter.beats))
        meters += later
    return tuple(meters)


def _goes_on(meter: Meter, seam: Fraction, beats: Fraction, phase: Fraction) -> bool:
    """Return True if a meter's bars continue over the seam in the right phase."""
    return meter.beats == beats and (seam - meter.at) % beats == phase


def _markers(score: Score, placed: _PlacedExcerpts) -> tuple[Marker, ...]:
    markers: list[Marker] = []
    for excerpt, seam in placed:
        if excerpt.opening:
            markers.append(Marker(seam, excerpt.opening))
        for marker in score.markers:
            text = (
                excerpt.marker_text(marker) if _holds(excerpt, marker.at, score, placed) else None
            )
            if text is not None:
                markers.append(Marker(marker.at - excerpt.start + seam, text))
    return tuple(markers)


def _part(part: Part, placed: _PlacedExcerpts) -> Part:
    hits = [
        replace(cut, start=cut.start - excerpt.start + seam)
        for excerpt, seam in placed
        if part.name not in excerpt.silent
        for hit in part.hits
        if excerpt.start <= hit.start < excerpt.end
        for cut in [cut_hit(hit, excerpt.end)]
    ]
    sounds = _drone_sounds(part, placed) if part.role.is_drone else list(_sounds(part, placed))
    return replace(part, sounds=tuple(sounds), hits=tuple(hits))


def _sounds(part: Part, placed: _PlacedExcerpts) -> Iterator[Sound]:
    for excerpt, seam in placed:
        if part.name not in excerpt.silent:
            yield from _sounds_begun(part, excerpt, seam)


def _sounds_begun(part: Part, excerpt: Excerpt, seam: Fraction) -> Iterator[Sound]:
    """Yield the sounds that begin in an excerpt, at their times in the new score."""
    for sound in part.sounds:
        if excerpt.start <= sound.start < excerpt.end:
            cut = cut_sound(sound, excerpt.start, excerpt.end)
            yield replace(cut, start=cut.start - excerpt.start + seam)


def _drone_sounds(part: Part, placed: _PlacedExcerpts) -> list[Sound]:
    """Return the sounds of a drone's strings.

    A string that sounds at a seam rings on until it, or another of its pitch, is plucked; one
    plucked before an excerpt rings from the excerpt's start, unless it is ringing already.
    """
    sounds: list[Sound] = []
    ringing: list[int] = []
    for excerpt, seam in placed:
        if part.name in excerpt.silent:
            ringing = []
            continue
        until = seam + excerpt.length
        begun = list(_sounds_begun(part, excerpt, seam))
        carried = [
            replace(cut_sound(sound, excerpt.start, excerpt.end), start=seam)
            for sound in part.sounds
            if sound.start < excerpt.start < sound.start + sound.length
        ]
        for number in ringing:
            string = sounds[number]
            same = [other for other in carried if _pitch(other) == _pitch(string)]
            if same:
                carried.remove(same[0])
                sounds[number] = _prolonged(string, same[0])
            else:
                stop = min((other.start for other in begun if _stops(other, string)), default=until)
                sounds[number] = replace(string, length=stop - string.start)
        first = len(sounds)
        sounds += carried + begun
        near = [*ringing, *range(first, len(sounds))]
        ringing = [other for other in near if sounds[other].start + sounds[other].length == until]
    return sounds


def _prolonged(string: Sound, rest: Sound) -> Sound:
    """Return a string's sound prolonged by another of its pitch that begins where it ends."""
    later = ((at + string.length, by) for at, by in rest.curve)
    return replace(string, length=string.length + rest.length, curve=(*string.curve, *later))


def _pitch(sound: Sound) -> tuple[int | None, int]:
    return sound.base, sound.pitch


def _stops(plucked: Sound, string: Sound) -> bool:
    """Return True if a pluck ends a string's sound: of the same string, or of its pitch."""
    return plucked.voice == string.voice or _pitch(plucked) == _pitch(string)
