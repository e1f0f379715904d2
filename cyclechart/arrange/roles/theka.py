"""The theka: the strokes that keep the cycle, either its own or a pattern from its sections.

A pattern follows the common thekas: the bass rings on sam and on every clap and is silent through
an open section, a section is filled in twos, threes and fours, and the last section leads into sam.
In a southern tala it is a sarvalaghu, which goes on evenly. It is a stand-in; a drummer will do
better.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Literal

from cyclechart.catalog.strokes import strokes
from cyclechart.text.reading import read_line
from cyclechart.text.source import PlacedText, Source
from cyclechart.text.timing import time_line
from cyclechart.theory.cycle import Cycle, groups_of

HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class ThekaStroke:
    """A stroke of the theka: start in the cycle and length in beats, and syllable."""

    at: Fraction
    length: Fraction
    syllable: str


def theka(cycle: Cycle) -> tuple[ThekaStroke, ...]:
    """Return the cycle's own theka or sarvalaghu, or a plain pattern from its sections where it has
    none."""
    text = cycle.strokes or cycle.sarvalaghu
    return strokes_of(text) if text else tuple(_pattern_from_sections(cycle))


def strokes_of(text: str) -> tuple[ThekaStroke, ...]:
    """Return the strokes of a cycle's text: a theka, a sarvalaghu or a spoken count."""
    passage = PlacedText(Source.of("theka", text), text, 0)
    items, _ = read_line(passage, strokes().script())
    timed, _ = time_line(items, passage)
    return tuple(ThekaStroke(s.start, s.length, str(s.value)) for s in timed.strikes)


SectionKind = Literal["clapped", "plain", "open"]

# A section's first group and those after it, by their beats. The first groups are those of jhaptal
# (dhi na), dadra (dha dhi na), tintal (dha dhin dhin dha, ta dhin dhin dha) and, where open, of
# jhaptal and rupak (ti na, tin tin na) and of tintal without its bass (ta tin tin ta). The groups
# after them are jhaptal's dhi dhi na and dadra's na tin na. Their combination is our own.
FIRST_GROUPS: dict[SectionKind, dict[int, str]] = {
    "clapped": {1: "dha", 2: "dha na", 3: "dha dhin na", 4: "dha dhin dhin dha"},
    "plain": {1: "na", 2: "ta dhin", 3: "ta dhin na", 4: "ta dhin dhin dha"},
    "open": {1: "ta", 2: "tin na", 3: "tin tin na", 4: "ta tin tin ta"},
}
LATER_GROUPS = (
    {2: "dhin na", 3: "na tin na", 4: "na tin tin na"},
    {2: "dhin na", 3: "dhin dhin na", 4: "ta dhin dhin dha"},
)
LATER_OPEN_GROUPS = {2: "tin na", 3: "tin tin na", 4: "na tin tin na"}

SARVALAGHU_GROUPS = {1: "na", 2: "na dhin", 3: "na dhin dhin", 4: "na dhin dhin na"}
"""A southern section's groups by their beats: the phrase na dhin dhin na and its parts (see the
catalogue's adi; the shorter ones are from memory)."""

SOLKATTU = {
    3: "ta ki ta",
    4: "ta ka di mi",
    5: "ta ka ta ki ta",
    7: "ta ki ta ta ka di mi",
    9: "ta ka di mi ta ka ta ki ta",
}
"""The spoken syllables of a gati's pulses (common practice)."""

SPARSE = {3: (0, 2), 4: (0, 2), 5: (0, 2), 7: (0, 3, 5), 9: (0, 4, 6)}
"""The pulses of a gati struck on an ordinary beat: the first of its groups of two, three and four,
and the third pulse where there is only one group."""


def _pattern_from_sections(cycle: Cycle) -> Iterator[ThekaStroke]:
    """Yield the strokes of every section."""
    for number, start in enumerate(cycle.starts):
        for offset, length, syllables in _section(cycle, number):
            at = start + offset
            if cycle.gati:
                pulses = _pulses(cycle, number, offset, length, syllables)
                yield from (
                    ThekaStroke(at + delay, pulse_length, syllable)
                    for delay, pulse_length, syllable in pulses
                )
                continue
            for part, syllable in enumerate(syllables):
                each = length / len(syllables)
                yield ThekaStroke(at + part * each, each, syllable)


def _section_kind(cycle: Cycle, number: int) -> SectionKind:
    beat = cycle.starts[number] + 1
    if beat in cycle.open:
        return "open"
    return "clapped" if beat == 1 or beat in cycle.stressed else "plain"


def _section(cycle: Cycle, number: int) -> list[tuple[Fraction, Fraction, list[str]]]:
    """Return the beats of a section: (offset in it, length, syllables in even parts)."""
    size, kind = cycle.sections[number], _section_kind(cycle, number)
    last = number == len(cycle.sections) - 1
    whole, rest = int(size), size % 1
    if cycle.southern:
        return [*_sarvalaghu_beats(whole), *([(Fraction(whole), rest, ["na"])] if rest else [])]
    syllables = [[syllable] for syllable in _section_syllables(whole, kind, number)]
    if last and syllables and cycle.beats > 1:
        _lead_into_sam(syllables, kind, rest > 0)
    beats = [(Fraction(beat), Fraction(1), syllable) for beat, syllable in enumerate(syllables)]
    if not rest:
        return beats
    at = Fraction(whole)
    if not whole:
        return [(at, rest, _section_syllables(1, kind, number))]
    # A long remainder is a stroke and an upbeat, a short one the upbeat alone.
    light = "na" if whole == 1 and rest >= HALF and not last else "te"
    if rest == Fraction(3, 4):
        return [*beats, (at, HALF, [light]), (at + HALF, rest - HALF, ["te"])]
    return [*beats, (at, rest, [light])]


def _sarvalaghu_beats(beats: int) -> Iterator[tuple[Fraction, Fraction, list[str]]]:
    """Yield the whole beats of a southern section."""
    said = " ".join(SARVALAGHU_GROUPS[size] for size in groups_of(beats)).split()
    for beat, syllable in enumerate(said):
        yield Fraction(beat), Fraction(1), [syllable]


def _section_syllables(beats: int, kind: SectionKind, number: int) -> list[str]:
    """Return one syllable for each whole beat of a section."""
    sizes = groups_of(beats)
    syllables: list[str] = []
    for place, size in enumerate(sizes):
        if not place:
            syllables += FIRST_GROUPS[kind][size].split()
        elif kind == "open":
            syllables += LATER_OPEN_GROUPS[size].split()
        else:
            syllables += LATER_GROUPS[place % 2][size].split()
    # Short sections in a row: not the same strokes in each.
    if beats == 1 and number % 2:
        return ["dhin" if kind == "clapped" else "tin"]
    if beats == 2 and kind == "plain" and number % 2 == 0:
        return ["na", "tin"]
    return syllables


def _lead_into_sam(syllables: list[list[str]], kind: SectionKind, short_beat_follows: bool) -> None:
    """Change the last beats in place, to quicken towards sam; the first beat keeps its bass."""
    pair = ["ta", "ke"] if kind == "open" else ["dha", "ge"]
    if kind == "plain" and len(syllables) == 1:
        pair = ["na", "ge"]
    if len(syllables) == 1 or short_beat_follows:
        syllables[-1] = pair
        return
    syllables[-1] = ["te", "te"]
    if len(syllables) >= 4:
        syllables[-2] = pair


def _pulses(
    cycle: Cycle, number: int, offset: Fraction, length: Fraction, syllables: list[str]
) -> Iterator[tuple[Fraction, Fraction, str]]:
    """Yield the pulses of one beat in the cycle's gati: (time from the beat, length, syllable).

    All pulses are played on a section's first beat, on the first beat of each group in a long
    section, and on the last beat before sam. Elsewhere, and on every other section of one beat,
    only the first pulses of the gati's groups are played, which leaves room. The beat's own stroke
    replaces the first pulse.
    """
    count = length * cycle.gati
    whole = int(cycle.sections[number])
    if count.denominator != 1 or count < 1:
        yield Fraction(0), length, syllables[0]
        return
    heads = {0, *accumulate(groups_of(whole)[:-1])} if whole != 1 or number % 2 == 0 else set()
    to_sam = number == len(cycle.sections) - 1 and offset == whole - 1
    full = offset in heads or to_sam or length < 1
    struck = range(int(count)) if full else SPARSE[cycle.gati]
    names = SOLKATTU[cycle.gati].split()
    each = Fraction(1, cycle.gati)
    for pulse, following in zip(struck, [*struck[1:], int(count)], strict=True):
        yield pulse * each, (following - pulse) * each, names[pulse] if pulse else syllables[0]
