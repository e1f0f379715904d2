"""How the time inside one measure is spelled in note values; a beat (matra) is a quarter note.

Times are whole ticks, so many a beat. Nothing is known of cells and groups here: tuplets are found
from where notes and rests begin and end, so that the same music is always written the same way.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from cyclechart.write.values import FLAGS, IN_QUARTER, Value, beam_levels, in_values, value_of

MAX_WIDE = 8
"""A tuplet spans at most so many beats."""

# What a way of writing costs a reader: a note, and one in a tuplet over several beats whose notes
# are not all of its unit, which hides the beats more than it saves ties.
_NOTE, _NOTE_IN_WIDE, _HELD_BEAT = 3, 4, 1


class Tuplet(NamedTuple):
    """``actual`` notes in the time of ``normal``, counted in ``unit`` values; how it is shown.

    An unshown one has a sign for neither its beginning nor its end: it is the exact time of a
    note too fine to be written.
    """

    actual: int
    normal: int
    unit: str
    bracket: bool
    shown: bool = True


class Piece(NamedTuple):
    """One written note or rest.

    ``start`` and ``length`` in ticks within the measure; ``span`` is the index of the note or rest
    it belongs to; ``type`` is MusicXML's name of the value, or "" for a silent measure.
    ``from_tie`` and ``to_tie``: a note tied to the piece before and after it in the same span.
    ``beams``: from the first beam on, MusicXML's word for what it does here.
    """

    # Named tuples, for there are many and their hashes are asked for: a dataclass takes four times
    # as long to make.
    start: int
    length: int
    span: int
    type: str
    dots: int = 0
    tuplet: Tuplet | None = None
    opens: bool = False
    closes: bool = False
    from_tie: bool = False
    to_tie: bool = False
    beams: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Region:
    """Beats written in one way: plain, in one tuplet, or (``fine``) past the finest value."""

    start: int
    end: int
    tuplet: Tuplet | None = None
    fine: bool = False

    def written(self, ticks: int, beat: int) -> int:
        """Ticks of sounding time as written time in ``IN_QUARTER``."""
        if self.tuplet is None:
            return ticks * IN_QUARTER // beat
        return ticks * IN_QUARTER * self.tuplet.actual // (self.tuplet.normal * beat)


@lru_cache(maxsize=16384)
def spell_measure(
    beat: int, length: int, lead: int, bounds: tuple[int, ...], rests: tuple[bool, ...]
) -> tuple[Piece, ...]:
    """The written notes and rests of a measure, in order; their lengths add up to ``length``.

    ``beat`` is the ticks in a beat; ``lead`` those before the first beat line (0 if the measure
    begins on one). ``bounds`` runs from 0 to ``length``, strictly upward: span i is from bound i to
    bound i + 1, and silent if ``rests[i]``. Raises ValueError for bounds that do not.
    """
    if not (
        len(bounds) == len(rests) + 1
        and (bounds[0], bounds[-1]) == (0, length)
        and all(one < two for one, two in pairwise(bounds))
    ):
        raise ValueError(f"bounds {bounds} do not fill a measure of {length} ticks")
    if rests == (True,):
        return (Piece(0, length, 0, ""),)
    lines = [0, *range(lead or beat, length, beat), length]
    pieces: list[Piece] = []
    first = span = 0
    # No note crosses a beat line that is struck: what lies between two such is spelled alone.
    for last in range(1, len(lines)):
        until = bisect_left(bounds, lines[last], span)
        if bounds[until] != lines[last]:
            continue
        start = lines[first]
        run = _spell_run(
            beat,
            tuple(line - start for line in lines[first : last + 1]),
            tuple(bound - start for bound in bounds[span : until + 1]),
            rests[span:until],
        )
        pieces += [Piece(piece[0] + start, piece[1], piece[2] + span, *piece[3:]) for piece in run]
        first, span = last, until
    return tuple(pieces)


@lru_cache(maxsize=16384)
def _spell_run(
    beat: int, lines: tuple[int, ...], bounds: tuple[int, ...], rests: tuple[bool, ...]
) -> tuple[Piece, ...]:
    pieces: list[Piece] = []
    for region in _joined(_best_run(beat, lines, bounds)):
        pieces += _spell_region(region, beat, lines, bounds, rests)
    return _tied(pieces, rests)


def _joined(regions: Iterable[_Region]) -> list[_Region]:
    """Adjoining plain regions made one."""
    joined: list[_Region] = []
    for region in regions:
        plain = region.tuplet is None and not region.fine
        if joined and plain and joined[-1].tuplet is None and not joined[-1].fine:
            joined[-1] = replace(joined[-1], end=region.end)
        else:
            joined.append(region)
    return joined


def _best_run(beat: int, lines: Sequence[int], bounds: Sequence[int]) -> list[_Region]:
    """The regions of a run of beats, none of whose inner beat lines is struck.

    Beat by beat with ties over the lines, or tuplets over several beats, whichever is plainer.
    """
    size = len(lines) - 1
    singles = [_region(beat, lines[i], lines[i + 1], bounds) for i in range(size)]
    if all(region.tuplet is None for region in singles):
        return singles
    best: list[tuple[int, list[_Region]]] = [(0, [])]
    for end in range(1, size + 1):
        options = []
        for start in range(max(0, end - MAX_WIDE), end):
            region = singles[start] if end - start == 1 else None
            if region is None:
                region = _wide(beat, lines[start], lines[end], bounds, singles[start:end])
            if region is not None:
                cost = best[start][0] + _cost(region, beat, bounds, end - start > 1)
                options.append((cost, [*best[start][1], region]))
        # Of equals the first, which is the widest.
        best.append(min(options, key=lambda option: option[0]))
    return best[-1][1]


def _inner(start: int, end: int, bounds: Sequence[int]) -> list[int]:
    """The bounds within, counted from ``start``, closed by the end."""
    return [bound - start for bound in bounds if start < bound < end] + [end - start]


def _region(beat: int, start: int, end: int, bounds: Sequence[int]) -> _Region:
    """One beat (or what there is of it)."""
    unit = Fraction(math.gcd(*_inner(start, end, bounds)), beat)
    odd = _odd(unit.denominator)
    if odd == 1:
        return _Region(start, end, fine=unit.denominator > IN_QUARTER)
    return _in_tuplet(start, end, beat, unit, 1) or _Region(start, end, fine=True)


def _wide(
    beat: int, start: int, end: int, bounds: Sequence[int], singles: Sequence[_Region]
) -> _Region | None:
    """One tuplet over several beats, or None where it would only mix unlike ones."""
    unit = Fraction(math.gcd(*_inner(start, end, bounds)), beat)
    odd = max((region.tuplet.actual for region in singles if region.tuplet), default=1)
    if odd == 1 or _odd(unit.denominator) != odd or any(region.fine for region in singles):
        return None
    whole = Fraction(end - start, beat)
    if whole.denominator != 1:
        return None
    factor = _odd(unit.numerator)
    return _in_tuplet(start, end, beat, unit, factor) if factor < odd else None


def _in_tuplet(start: int, end: int, beat: int, unit: Fraction, factor: int) -> _Region | None:
    """A region in a tuplet of this unit, or None where no values can say it.

    As many notes as the odd part of the unit asks for, in the time of the next lower power of two
    (times ``factor``, so that five in three beats are five quarters in the time of three).
    """
    odd = _odd(unit.denominator)
    normal = factor << ((odd // factor).bit_length() - 1)
    written = unit * odd / normal
    if written.denominator > IN_QUARTER:
        return None
    share = Fraction(end - start, beat) / normal
    if _odd(share.numerator) != 1 or _odd(share.denominator) != 1:
        if end - start > beat:
            return None
        share = written
    quarters = int(share * IN_QUARTER)
    tuplet = Tuplet(odd, normal, value_of(1 << (quarters.bit_length() - 1)).type, True)
    return _Region(start, end, tuplet)


def _odd(number: int) -> int:
    """The largest odd divisor."""
    return number // (number & -number)


def _cost(region: _Region, beat: int, bounds: Sequence[int], wide: bool) -> int:
    inner = _inner(region.start, region.end, bounds)
    if not wide and inner[0] == region.end - region.start:
        return _HELD_BEAT
    signs = 0
    for start, end in zip([0, *inner], inner, strict=False):
        values = in_values(region.written(end, beat) - region.written(start, beat))
        signs += sum(1 + value.dots for value in values) if wide else len(values)
    if not wide:
        return _NOTE * signs
    actual = region.tuplet.actual if region.tuplet else 0
    even = math.gcd(*inner) * actual == region.end - region.start
    return (_NOTE if even else _NOTE_IN_WIDE) * signs


def _spell_region(
    region: _Region,
    beat: int,
    lines: Sequence[int],
    bounds: Sequence[int],
    rests: Sequence[bool],
) -> list[Piece]:
    pieces: list[Piece] = []
    for span, rest in enumerate(rests):
        start, end = max(bounds[span], region.start), min(bounds[span + 1], region.end)
        if start >= end:
            continue
        if region.fine:
            pieces.append(_fine(start, end, span, beat))
        elif region.tuplet:
            at = start
            for value in in_values(region.written(end, beat) - region.written(start, beat)):
                ticks = (
                    value.size * region.tuplet.normal * beat // (region.tuplet.actual * IN_QUARTER)
                )
                pieces.append(Piece(at, ticks, span, value.type, value.dots, region.tuplet))
                at += ticks
        else:
            for at, value in _plain(start, end, beat, lines, rest):
                ticks = value.size * beat // IN_QUARTER
                pieces.append(Piece(at, ticks, span, value.type, value.dots))
    if region.tuplet is None:
        return _beamed(pieces, [bisect_right(lines, piece.start) for piece in pieces], rests)
    pieces = _beamed(pieces, _groups_in(region, pieces, beat), rests)
    return _bracketed(pieces, region.tuplet)


def _groups_in(region: _Region, pieces: Sequence[Piece], beat: int) -> list[int]:
    """Beam groups of a tuplet: the whole, or its written quarters where its unit is that long."""
    if region.tuplet is None or FLAGS[region.tuplet.unit]:
        return [0] * len(pieces)
    return [region.written(piece.start - region.start, beat) // IN_QUARTER for piece in pieces]


def _fine(start: int, end: int, span: int, beat: int) -> Piece:
    """A note past the finest value, or in a ratio that no value fits: the next longer value, its
    exact time kept as a ratio of its own."""
    time = Fraction(end - start, beat) * IN_QUARTER
    size = 1
    while size < time:
        size *= 2
    value = value_of(size)
    ratio = size / time
    tuplet = None
    if ratio != 1:
        tuplet = Tuplet(ratio.numerator, ratio.denominator, value.type, False, shown=False)
    return Piece(start, end - start, span, value.type, 0, tuplet)


def _plain(
    start: int, end: int, beat: int, lines: Sequence[int], rest: bool
) -> Iterator[tuple[int, Value]]:
    """The values of a note in plain beats: long from a beat line, else cut at the next one."""
    at = start
    while at < end:
        number = bisect_right(lines, at)
        before, line = lines[number - 1], lines[number]
        if number == 1:
            before = line - beat
        if at == before and end - at >= beat:
            halves = (end - at) * 2 // beat
            value = value_of(_long(halves, 2 * (end - at) == 3 * beat, rest) * IN_QUARTER // 2)
            yield at, value
            at += value.size * beat // IN_QUARTER
            continue
        first, last = ((tick - before) * IN_QUARTER // beat for tick in (at, min(end, line)))
        for value in _within_beat(first, last):
            yield at, value
            at += value.size * beat // IN_QUARTER


def _long(halves: int, exact: bool, rest: bool) -> int:
    """The longest plain value, in half beats, that a note of so many half beats begins with."""
    if exact and not rest:
        return 3
    for size in (8, 4) if rest else (8, 6, 4):
        if size <= halves:
            return size
    return 2


def _within_beat(start: int, end: int) -> tuple[Value, ...]:
    """A note inside a beat: one value where it sits well, else cut at the strongest point."""
    size = end - start
    whole = in_values(size)
    if len(whole) == 1:
        base = whole[0].size if not whole[0].dots else whole[0].size * 2 // 3
        if start % max(base // 2, 1) == 0:
            return whole
    point = _strongest(start, end)
    if point is None:
        return whole
    return _within_beat(start, point) + _within_beat(point, end)


def _strongest(start: int, end: int) -> int | None:
    """The point strictly between that is a multiple of the greatest power of two, if any."""
    step = IN_QUARTER
    while step:
        point = (start // step + 1) * step
        if point < end:
            return point
        step //= 2
    return None


def _beamed(pieces: Sequence[Piece], groups: Sequence[int], rests: Sequence[bool]) -> list[Piece]:
    """Beams over notes with flags that follow each other in one group."""
    made: list[Piece] = []
    run: list[Piece] = []

    def close() -> None:
        if len(run) > 1:
            flags = [FLAGS[piece.type] for piece in run]
            made.extend(
                piece._replace(beams=beams)
                for piece, beams in zip(run, beam_levels(flags), strict=True)
            )
        else:
            made.extend(run)
        run.clear()

    last: int | None = None
    for piece, group in zip(pieces, groups, strict=True):
        flagged = FLAGS[piece.type] > 0 and not rests[piece.span]
        if group != last or not flagged:
            close()
        last = group
        if flagged:
            run.append(piece)
        else:
            made.append(piece)
    close()
    return made


def _bracketed(pieces: list[Piece], tuplet: Tuplet) -> list[Piece]:
    """A tuplet's signs on its first and last note; no bracket where one beam holds it together."""
    starts = [piece.beams[:1] for piece in pieces]
    one_beam = (
        starts[0] == ("begin",) and starts[-1] == ("end",) and starts.count(("begin",)) == 1
        and () not in starts
    )  # fmt: skip
    if one_beam:
        tuplet = tuplet._replace(bracket=False)
    last = len(pieces) - 1
    return [
        piece._replace(tuplet=tuplet, opens=number == 0, closes=number == last)
        for number, piece in enumerate(pieces)
    ]


def _tied(pieces: Sequence[Piece], rests: Sequence[bool]) -> tuple[Piece, ...]:
    """The pieces of each note tied to each other."""
    spans = [-1, *(piece.span for piece in pieces), -1]
    return tuple(
        piece._replace(
            from_tie=not rests[piece.span] and spans[number] == piece.span,
            to_tie=not rests[piece.span] and spans[number + 2] == piece.span,
        )
        for number, piece in enumerate(pieces)
    )
