"""Functions from a score to a score for rehearsing: slower, without players, some cycles, loops.

All are pure. A request that cannot be met raises ValueError with one plain sentence.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from cyclechart.arrange.clock import USUAL_TEMPO
from cyclechart.arrange.rehearse.excerpts import (
    Excerpt,
    cut_hit,
    cut_sound,
    join_excerpts,
    meter_at,
    tempo_at,
)
from cyclechart.arrange.roles.drummer import CLAPS
from cyclechart.arrange.score import Hit, Marker, Meter, Part, Score, Sound, TempoMark
from cyclechart.catalog.roles import COUNT
from cyclechart.piece.heading import FASTEST, SLOWEST
from cyclechart.text.near_names import nearest_names
from cyclechart.theory.exact import show_exact

MOST_TIMES = 200
REST = Fraction(1, 2)
"""Beats of silence that separate a pickup from the music before it; a shorter silence may be just
articulation."""
COUNT_IN = "count-in"
SING_BACK = "sing it back"

# "beat 1 1/2" is no first beat; what may follow a first beat is the sign of its section.
_FIRST_BEAT = re.compile(r"(?:round \d+ of \d+: )?cycle (\d+) beat 1(?: (?!\d+/\d+(?: |$)).*)?")


def at_tempo(score: Score, factor: Fraction) -> Score:
    """Return the score with every tempo multiplied by a factor (7/10 for 70%).

    Raises ValueError where one would come to less than 4 or more than 1000 beats a minute. (MIDI
    holds none under 3.58: 24 bits of microseconds a beat.)
    """
    if factor == 1:
        return score
    marks = score.tempos or (TempoMark(Fraction(0), USUAL_TEMPO),)
    for mark in marks:
        tempo = mark.tempo * factor
        if not SLOWEST <= tempo <= FASTEST:
            raise ValueError(
                f"{show_exact(factor * 100)}% of {show_exact(mark.tempo)} beats a minute is "
                f"{show_exact(tempo)}; a tempo is {SLOWEST} to {FASTEST}"
            )
    return replace(score, tempos=tuple(replace(m, tempo=m.tempo * factor) for m in marks))


def without_parts(score: Score, names: Iterable[str]) -> Score:
    """Return the score without the parts of these names.

    Raises ValueError for an unknown name (with the nearest known one), and where no part is left.
    """
    left_out = frozenset(names)
    _check_names(score, left_out)
    parts = tuple(part for part in score.parts if part.name not in left_out)
    if not parts and left_out:
        raise ValueError("that leaves nobody to play")
    return replace(score, parts=parts)


def with_claps(score: Score, hits: Iterable[Hit]) -> Score:
    """Return the score with these claps and waves added, cut off at its end.

    Claps that it already has stay, except where a new one has the same time and key.
    """
    new = [cut_hit(hit, score.end) for hit in hits if 0 <= hit.start < score.end]
    return _with_hits(score, new)


def without_claps(score: Score) -> Score:
    """Return the score without claps and waves, including those of the count-in."""
    return replace(score, parts=tuple(part for part in score.parts if not part.role.is_count))


def cycle_starts(score: Score) -> tuple[Fraction, ...]:
    """Return the starts of a score's numbered cycles in beats, as its markers give them."""
    return tuple(at for _, at in _numbered_cycles(score))


def only_cycles(
    score: Score,
    first: int,
    last: int,
    *,
    lead_in: bool = True,
    count: Sequence[Hit] = (),
    pickup: Fraction | None = None,
) -> Score:
    """Return the cycles from ``first`` to ``last`` as the markers number them (in a loop, round 1).

    With ``lead_in`` one more cycle comes before them, with the claps and waves of ``count`` (from
    beat 0; hits beyond the cycle are left out), the drone, and the melody's sounds in the last
    ``pickup`` beats before the first cycle. For None the pickup is the unbroken run of sounds
    there, half a cycle at most.

    Raises ValueError for a cycle that does not exist.
    """
    spans = _cycle_spans(score)
    if not spans:
        raise ValueError("there are no numbered cycles in it")
    for number in (first, last):
        if number not in spans:
            lowest, highest = min(spans), max(spans)
            raise ValueError(f"there is no cycle {number}; they go from {lowest} to {highest}")
    start, end = spans[first][0], spans[last][1]
    if first > last or start >= end:
        raise ValueError(f"cycle {first} comes after cycle {last}; put the earlier one first")
    if not lead_in:
        return join_excerpts(score, [Excerpt(start, end)])
    meter = meter_at(score, start)
    beats = meter.beats if meter is not None else spans[first][1] - start
    return _with_lead_in(score, start, end, beats, count, pickup)


def looped(score: Score, times: int, start: Fraction | None = None) -> Score:
    """Return the score with everything from ``start`` (beats) played ``times`` times in all.

    None stands for the end of the count-in. From ``start`` on each marker names its round. Raises
    ValueError for more than 200 times or more than 100,000 beats.
    """
    if not 1 <= times <= MOST_TIMES:
        raise ValueError(f"{times} times over cannot be had; 1 to {MOST_TIMES} can")
    if start is None:
        start = _after_count_in(score)
    if not 0 <= start < score.end:
        raise ValueError(f"there is nothing after beat {show_exact(start)} to say over")
    if times == 1:
        return score
    excerpts = [_loop_round(score, start, 1, times, Fraction(0))]
    excerpts += [_loop_round(score, start, number, times, start) for number in range(2, times + 1)]
    return join_excerpts(score, excerpts)


def _check_names(score: Score, names: Iterable[str]) -> None:
    """Raise ValueError for the first name that no part has, with a suggestion."""
    known = [part.name for part in score.parts]
    for name in sorted(names):
        if name not in known:
            near = nearest_names(name, known, 1, cutoff=0.4)
            hint = f"did you mean '{near[0]}'?" if near else f"there are {', '.join(known)}"
            raise ValueError(f"nobody is called '{name}'; {hint}")


def _with_hits(score: Score, new: Sequence[Hit]) -> Score:
    """Return the score with these hits in its part of claps and waves, added if it has none."""
    parts = list(score.parts)
    number = next((n for n, part in enumerate(parts) if part.role.is_count), None)
    if number is None:
        if not new:
            return score
        number = len(parts)
        parts.append(Part(CLAPS, COUNT, None))
    taken = {(hit.start, hit.key) for hit in new}
    old = [hit for hit in parts[number].hits if (hit.start, hit.key) not in taken]
    hits = sorted([*old, *new], key=lambda hit: (hit.start, hit.key))
    parts[number] = replace(parts[number], hits=tuple(hits))
    return replace(score, parts=tuple(parts))


def _numbered_cycles(score: Score) -> Iterator[tuple[int, Fraction]]:
    """Yield (number, start) of each cycle that the markers count."""
    for marker in score.markers:
        match = _FIRST_BEAT.fullmatch(marker.text)
        if match:
            yield int(match[1]), marker.at


def _cycle_spans(score: Score) -> dict[int, tuple[Fraction, Fraction]]:
    """Return (start, end) of each numbered cycle: a bar, or less where the next cycle or meter
    begins earlier."""
    starts = [*cycle_starts(score), *(meter.at for meter in score.meters), score.end]
    spans: dict[int, tuple[Fraction, Fraction]] = {}
    edges = sorted(set(starts))
    following = dict(pairwise(edges))
    for number, start in _numbered_cycles(score):
        meter = meter_at(score, start)
        end = following.get(start, start)
        if meter is not None:
            end = min(end, start + meter.beats)
        if end > start:
            spans.setdefault(number, (start, end))
    return spans


def _with_lead_in(
    score: Score,
    start: Fraction,
    end: Fraction,
    beats: Fraction,
    count: Sequence[Hit],
    pickup: Fraction | None,
) -> Score:
    """Return the score from ``start`` to ``end`` with a lead-in of so many beats before it."""
    # The drone of the lead-in is taken from the excerpt itself: before it the piece may have
    # another tonic.
    silent = frozenset(part.name for part in score.parts if not part.role.is_drone)
    excerpts: list[Excerpt] = []
    left = beats
    while left:
        length = min(left, end - start)
        excerpts.append(Excerpt(start, start + length, silent, marker_text=_no_text))
        left -= length
    joined = join_excerpts(score, [*excerpts, Excerpt(start, end)])
    tempo = tempo_at(score, start)
    # The count-in has one tempo, even where a gradual change begins.
    tempos = [TempoMark(Fraction(0), tempo)] if score.tempos else []
    own = join_excerpts(score, [Excerpt(start, end)])
    for mark in own.tempos:
        if mark.at or mark.tempo != tempo:
            tempos.append(replace(mark, at=mark.at + beats))
    meters = [Meter(Fraction(0), beats)]
    meters += [replace(m, at=m.at + beats) for m in own.meters if m.at or m.beats != beats]
    parts = tuple(
        replace(part, sounds=(*_pickup(old, start, end, beats, pickup), *part.sounds))
        if part.role.plays_melody
        else part
        for old, part in zip(score.parts, joined.parts, strict=True)
    )
    joined = replace(
        joined,
        tempos=tuple(tempos),
        meters=tuple(meters),
        markers=(Marker(Fraction(0), COUNT_IN), *joined.markers),
        parts=parts,
    )
    return _with_hits(joined, [cut_hit(hit, beats) for hit in count if 0 <= hit.start < beats])


def _pickup(
    part: Part, start: Fraction, end: Fraction, beats: Fraction, pickup: Fraction | None
) -> list[Sound]:
    """Return a melody's sounds right before ``start``, moved to the end of the count-in."""
    reach = min(beats, beats / 2 if pickup is None else pickup)
    near = [sound for sound in part.sounds if start - reach <= sound.start < start]
    if pickup is None:
        near = _run_up_to(near, start)
    return [
        replace(cut, start=cut.start - start + beats)
        for sound in near
        for cut in [cut_sound(sound, sound.start, end)]
    ]


def _run_up_to(sounds: list[Sound], time: Fraction) -> list[Sound]:
    """Return the sounds that lead up to a time without a rest between them."""
    run: list[Sound] = []
    upto = time
    for sound in sorted(sounds, key=lambda sound: sound.start, reverse=True):
        if sound.start + sound.length <= upto - REST:
            break
        run.insert(0, sound)
        upto = sound.start
    return run


def _after_count_in(score: Score) -> Fraction:
    """Return the start of the first cycle after the count-in; 0 without a count-in."""
    count_in = next((marker.at for marker in score.markers if marker.text == COUNT_IN), None)
    if count_in is None:
        return Fraction(0)
    return next((at for at in cycle_starts(score) if at > count_in), Fraction(0))


def _loop_round(score: Score, start: Fraction, number: int, times: int, begin: Fraction) -> Excerpt:
    """Return a round of a loop from ``begin``; its markers from ``start`` on have its number."""
    name = f"round {number} of {times}"

    def numbered(marker: Marker) -> str:
        return marker.text if marker.at < start else f"{name}: {marker.text}"

    named = any(marker.at == start for marker in score.markers)
    opening = "" if named or begin < start else name
    return Excerpt(begin, score.end, marker_text=numbered, opening=opening)


def _no_text(_: Marker) -> None:
    return None
