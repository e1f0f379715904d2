"""A tune in sections, each a stretch of its bars that becomes a line, and the order they are
played in."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby, pairwise
from typing import NamedTuple

from cyclechart.transcription.losses import Losses
from cyclechart.transcription.playing_order import playing_order
from cyclechart.transcription.tied_spans import joined_by_ties
from cyclechart.transcription.tune import Bar, Meter, Tune

MOST_SECTIONS = 60
"""With more, double barlines and names part none."""
MOST_JUMPS = 100
MOST_METERS = 24
"""With more changes of meter the tune is taken without meter."""
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
NO_METER = Meter(Fraction(0), Fraction(0), name="no meter")


class Span(NamedTuple):
    """A stretch of a tune, in units."""

    start: Fraction
    end: Fraction


class Section(NamedTuple):
    """What becomes a line: its name, the stretches that it is put together from, its pickup and its
    meter (with 0 beats: none), in units; ``number`` is that of its first bar."""

    name: str
    spans: tuple[Span, ...]
    pickup: Fraction
    meter: Meter
    number: str = ""

    @property
    def length(self) -> Fraction:
        """The units of all its stretches."""
        return sum((span.end - span.start for span in self.spans), Fraction(0))

    @property
    def start(self) -> Fraction:
        """Where it begins in the tune."""
        return self.spans[0].start


class Sections(NamedTuple):
    """The sections in the order in which they are first played, and the playing order: (section's
    index, times)."""

    sections: tuple[Section, ...]
    order: tuple[tuple[int, int], ...]


def sections_of(tune: Tune, losses: Losses) -> Sections:
    """Return a tune in sections: cut where what is played jumps, where another meter or a named
    part begins; but a note that is held over a cut keeps both sides in one line."""
    bars = tune.bars
    order = playing_order(bars)
    if order is None:
        losses.add("the repeat signs make no sense together: each bar is played once")
        order = list(range(len(bars)))
    meters = _meters(tune, losses)
    if len(_jumps(order, len(bars))) > MOST_JUMPS:
        losses.add("there are too many repeats for a form: each bar is played once")
        order = list(range(len(bars)))
    cuts = _jumps(order, len(bars)) | _new_meters(bars, meters) | {0, len(bars)}
    soft = _soft_cuts(tune, cuts)
    if len(cuts | soft) <= MOST_SECTIONS:
        cuts |= soft
    spans = [(first, last) for first, last in pairwise(sorted(cuts)) if last > first]
    starts = {first: number for number, (first, _) in enumerate(spans)}
    played = joined_by_ties(tune, spans, [starts[at] for at in order if at in starts])
    runs = list(dict.fromkeys(played))
    for run in runs:
        for one in run[1:]:
            if meters[spans[one][0]][1:4] != meters[spans[run[0]][0]][1:4]:
                what = "a note is held over a new meter, which is left out"
                losses.add(what, bars[spans[one][0]].number)
    names = _names(bars, [[spans[one] for one in run] for run in runs])
    sections = tuple(
        Section(
            name,
            tuple(Span(bars[spans[one][0]].start, bars[spans[one][1] - 1].end) for one in run),
            _pickup(bars, *spans[run[0]], meters, tune.pickup),
            meters[spans[run[0]][0]],
            bars[spans[run[0]][0]].number,
        )
        for name, run in zip(names, runs, strict=True)
    )
    numbers = {run: number for number, run in enumerate(runs)}
    counted = [(numbers[run], len(list(same))) for run, same in groupby(played)]
    return Sections(sections, tuple(counted))


def _meters(tune: Tune, losses: Losses) -> list[Meter]:
    """Return the meter of each bar; too many changes leave none."""
    if len(tune.meters) > MOST_METERS:
        losses.add(f"the meter changes {len(tune.meters)} times: the tune is written without one")
        return [NO_METER] * len(tune.bars)
    found = []
    for bar in tune.bars:
        here = NO_METER
        for meter in tune.meters:
            if meter.start < bar.end and (meter.start <= bar.start or here is NO_METER):
                here = meter
        found.append(here)
    return found


def _jumps(order: Sequence[int], count: int) -> set[int]:
    """Return the bars before which there is a cut, as what is played jumps there or from there."""
    cuts = set(order[:1])
    for before, after in pairwise(order):
        if after != before + 1:
            cuts |= {before + 1, after}
    return cuts | {order[-1] + 1} if order else {count}


def _new_meters(bars: Sequence[Bar], meters: Sequence[Meter]) -> set[int]:
    """Return the bars at which another meter begins."""
    return {
        at for at in range(1, len(bars)) if meters[at][1:4] != meters[at - 1][1:4]
    }  # the same beats, unit and groups are the same meter


def _soft_cuts(tune: Tune, cuts: set[int]) -> set[int]:
    """Return the bars that a name or a double barline parts from those before, where no note is
    held over."""
    found = {
        at
        for at, bar in enumerate(tune.bars)
        if at and at not in cuts and (bar.section or tune.bars[at - 1].double)
    }
    if not found:
        return found
    edges = {tune.bars[at].start: at for at in found}
    ordered = sorted(edges)
    for voice in tune.voices:
        for note in voice.notes:
            first, last = bisect_right(ordered, note.start), bisect_left(ordered, note.end)
            found -= {edges[edge] for edge in ordered[first:last]}
    return found


def _pickup(
    bars: Sequence[Bar], first: int, last: int, meters: Sequence[Meter], known: Fraction
) -> Fraction:
    """Return the units before the first first beat of a section."""
    if first == 0 and known:
        return known
    meter = meters[first]
    whole = meter.beats * meter.unit
    bar = bars[first]
    if not whole or bar.length >= whole:
        return Fraction(0)
    before = bars[first - 1] if first else None
    completes = before is None or before.length < whole or bool(bar.section)
    if last - first == 1 and not (first == 0 and len(bars) > 1):
        # One short bar is a pickup to what follows only if nothing of its bar stands before it.
        followed = last < len(bars) and bars[last].length >= whole
        return bar.length if followed and not bar.endings and completes else Fraction(0)
    return bar.length if completes else Fraction(0)


def _names(bars: Sequence[Bar], runs: Sequence[Sequence[tuple[int, int]]]) -> list[str]:
    """Return a name for each section, no two alike."""
    names: list[str] = []
    letters: dict[int, str] = {}
    base = ""
    for run in runs:
        first = run[0][0]
        bar = bars[first]
        own = slug(bar.section)
        if own:
            name = base = own
        elif bar.endings and base:
            name = f"{base}-{_ordinals(bar.endings)}-ending"
        elif len(runs) == 1:
            name = "head"
        else:
            name = base = letters.setdefault(first, _letters(len(letters)))
        number, plain = 2, name
        while name in names:
            name, number = f"{plain}-{number}", number + 1
        names.append(name)
    return names


def _ordinals(endings: Sequence[int]) -> str:
    first = endings[0]
    return ORDINALS[first - 1] if first <= len(ORDINALS) else f"{first}th"


def _letters(number: int) -> str:
    """Return a, b … z, then a2, b2 …"""
    turn, letter = divmod(number, 26)
    return chr(ord("a") + letter) + (str(turn + 1) if turn else "")


def slug(text: str) -> str:
    """Return a text as the name of a line: letters, digits and hyphens."""
    words = re.findall(r"[^\W_]+", text.lower())
    return "-".join(words)[:40].strip("-")
