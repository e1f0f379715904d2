"""The bars of a part as music21 read it: repeats, endings, jumps, meters, keys and tempos."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any, Literal, TypeAlias

from cyclechart.transcription.losses import Losses
from cyclechart.transcription.refusal import LONGEST, CannotRead
from cyclechart.transcription.tune import Bar, KeyMark, Meter, TempoMark

Music: TypeAlias = Any
MOST_TIMES = 20


def measures_of(part: Music) -> list[Music]:
    """Return the measures of a part in order."""
    return list(part.getElementsByClass("Measure"))


def with_full_bars(part: Music, *, own: bool) -> None:
    """Let the bars without meter, in a file of our own every bar, last as long as their notes.

    music21 cuts a bar to its meter (to 4/4 where there is none) where it is over by a little.
    """
    measures = measures_of(part)
    starts = [Fraction(measure.offset) for measure in measures]
    at, free = Fraction(0), False
    for number, measure in enumerate(measures):
        for sign in measure.getElementsByClass("TimeSignatureBase"):
            free = type(sign).__name__.startswith("Senza")
        if at != starts[number]:
            part.setElementOffset(measure, at)
        filled = Fraction(measure.highestTime)
        if (own or free) and filled:
            at += filled
        elif number + 1 < len(measures):
            at += starts[number + 1] - starts[number]


def bars_of(part: Music, losses: Losses) -> list[Bar]:
    """Return the bars of a part; measures that a dashed barline parts are one."""
    measures = measures_of(part)
    endings = _endings(part)
    bars: list[Bar] = []
    joins = False
    for number, measure in enumerate(measures):
        start = Fraction(measure.offset)
        after = measures[number + 1].offset if number + 1 < len(measures) else None
        end = start + Fraction(measure.highestTime) if after is None else Fraction(after)
        bar = _bar(measure, start, max(end - start, Fraction(0)), endings.get(id(measure), ()))
        if joins and not (bar.section or bar.opens_repeat):
            bar = _joined(bars.pop(), bar)
        right = measure.rightBarline
        joins = getattr(right, "type", "") == "dashed" and not bar.closes_repeat
        bars.append(bar)
    if bars and bars[-1].end > LONGEST:
        raise CannotRead(f"it lasts more than {LONGEST:,} quarter notes")
    return _with_signs([bar for bar in bars if bar.length], losses)


def _joined(first: Bar, second: Bar) -> Bar:
    """Return two bars as one."""
    return replace(
        first,
        length=first.length + second.length,
        closes_repeat=second.closes_repeat,
        endings=first.endings or second.endings,
        double=second.double,
        fine=first.fine or second.fine,
        segno=first.segno or second.segno,
        coda=first.coda or second.coda,
        to_coda=first.to_coda or second.to_coda,
        jump=first.jump or second.jump,
    )


def _endings(part: Music) -> dict[int, tuple[int, ...]]:
    """Return the times in which measures under endings are played, by the measure's identity."""
    found: dict[int, tuple[int, ...]] = {}
    for bracket in part.recurse().getElementsByClass("RepeatBracket"):
        times = tuple(int(one) for one in bracket.numberRange if 0 < int(one) <= MOST_TIMES)
        for measure in bracket.getSpannedElements():
            found[id(measure)] = times
    return found


def _bar(measure: Music, start: Fraction, length: Fraction, endings: tuple[int, ...]) -> Bar:
    left, right = measure.leftBarline, measure.rightBarline
    opens = getattr(left, "direction", "") == "start"
    closes = 0
    if getattr(right, "direction", "") == "end":
        closes = min(int(right.times or 2), MOST_TIMES)
    marks = [type(one).__name__ for one in measure.getElementsByClass("RepeatExpression")]
    jump: Literal["", "dc", "ds"] = ""
    if any(name.startswith("DaCapo") for name in marks):
        jump = "dc"
    elif any(name.startswith(("DalSegno", "AlSegno")) for name in marks):
        jump = "ds"
    labels = [str(one.content or "") for one in measure.getElementsByClass("RehearsalMark")]
    return Bar(
        start=start,
        length=length,
        number=f"{measure.number}{measure.numberSuffix or ''}",
        section=next(iter(labels), ""),
        opens_repeat=opens,
        closes_repeat=closes,
        endings=endings,
        double=getattr(right, "type", "") in ("double", "final", "light-light", "light-heavy"),
        fine="Fine" in marks,
        segno="Segno" in marks,
        coda="Coda" in marks,
        jump=jump,
    )


def _with_signs(bars: list[Bar], losses: Losses) -> list[Bar]:
    """Return the bars with the first of two coda signs as the way out to the second."""
    codas = [at for at, bar in enumerate(bars) if bar.coda]
    if len(codas) >= 2:
        first = codas[0]
        bars[first] = replace(bars[first], coda=False, to_coda=True)
    elif codas:
        losses.add("a coda sign without the place it is reached from", bars[codas[0]].number)
        bars[codas[0]] = replace(bars[codas[0]], coda=False)
    return bars


def meters_of(part: Music, *, own: bool) -> tuple[Meter, ...]:
    """Return the meters of a part; ``beats`` is 0 where it has none."""
    found: list[Meter] = []
    for measure in measures_of(part):
        for sign in measure.getElementsByClass("TimeSignatureBase"):
            start = Fraction(measure.offset) + Fraction(sign.offset)  # never their sum in floats
            meter = _meter(sign, start, own=own)
            if not found or meter[1:] != found[-1][1:]:
                found.append(meter)
    return tuple(found)


def _meter(sign: Music, start: Fraction, *, own: bool) -> Meter:
    if type(sign).__name__.startswith("Senza"):
        return Meter(start, Fraction(0), name="no meter")
    total = Fraction(sign.barDuration.quarterLength)
    # As music21 has it, each term of a sum has its own lower number.
    terms = [term.split("/") for term in str(sign.ratioString).split("+")]
    lower = [int(term[1]) for term in terms if len(term) == 2] or [4]
    unit = Fraction(1) if own else _unit(min(lower))
    groups: tuple[Fraction, ...] = ()
    if len(terms) > 1 and all(len(term) == 2 for term in terms):
        groups = tuple(Fraction(4 * int(over), int(under)) / unit for over, under in terms)
    return Meter(start, total / unit, unit, groups, str(sign.ratioString))


def _unit(lower: int) -> Fraction:
    """Return the quarters of one beat: halves are counted as two quarters."""
    return Fraction(4, max(lower, 4))


def tempos_of(parts: Iterable[Music]) -> tuple[TempoMark, ...]:
    """Return the tempos of the first part that has any."""
    for part in parts:
        found = list(_tempos(part))
        if found:
            return tuple(found)
    return ()


def _tempos(part: Music) -> Iterator[TempoMark]:
    before: Fraction | None = None
    for mark in part.recurse().getElementsByClass("MetronomeMark"):
        speed = mark.getQuarterBPM()
        if not speed or not 1 <= speed <= 4000:
            continue
        units = Fraction(speed).limit_denominator(1000)
        if units != before:
            yield TempoMark(Fraction(mark.getOffsetInHierarchy(part)), units)
        before = units


def keys_of(part: Music) -> tuple[KeyMark, ...]:
    """Return the key signatures of a part."""
    found: list[KeyMark] = []
    for measure in measures_of(part):
        for sign in measure.getElementsByClass("KeySignature"):
            if sign.sharps is None:
                continue
            scale, final = "", None
            tonic = getattr(sign, "tonic", None)
            if tonic is not None:
                scale, final = str(sign.mode or ""), int(tonic.pitchClass)
            start = Fraction(measure.offset) + Fraction(sign.offset)
            mark = KeyMark(start, int(sign.sharps), scale, final)
            if not found or mark[1:] != found[-1][1:]:
                found.append(mark)
    return tuple(found)
