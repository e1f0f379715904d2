"""A drummer's staff content: composed strokes, figures of cadences, and slashes for keeping time.

Keeping time is written as slashes, because a drummer does it better than any written pattern.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise

from cyclechart.arrange.assigned_lines import Spans, is_within
from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import TIME, StaffContent, trade_turns, turns_of_others
from cyclechart.arrange.part_notes import (
    NO_SPOT,
    PartNote,
    line_notes,
    struck_together,
    with_slashes,
)
from cyclechart.arrange.roles.band_hits import band_hits, stop_times, written_hits
from cyclechart.arrange.roles.drum_kit import KIT
from cyclechart.arrange.roles.drummer import composed_lines, composed_spans
from cyclechart.arrange.roles.kit_lines import (
    kit_line_hits,
    kit_line_notes,
    kit_line_spans,
)
from cyclechart.arrange.roles.spoken_count import kept_time
from cyclechart.arrange.score import Hit, Part
from cyclechart.arrange.stroke_lengths import stroke_length
from cyclechart.arrange.timeline import Timeline
from cyclechart.catalog.instruments import Instrument
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle


def drummer_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    """Return a drummer's content, on one line or on the staff of a kit."""
    left_open = tuple(_is_left_to(bar, player, piece.timekeepers, timeline.closing) for bar in bars)
    composed = _within_a_beat(line_notes(timeline, player, "strokes"), bars)
    closing = timeline.closing
    texts = trade_turns(piece, bars, player)
    others = turns_of_others(bars, player, piece.timekeepers)
    stops = stop_times(timeline, player)
    busy = sorted([*composed_spans(composed_lines(timeline, player)), *others, *stops])
    if closing is not None:
        busy = [*busy, (closing, max(bars[-1].end, closing))]  # after the landing there is nothing
    sounding = {
        note.origin
        for other in piece.players
        if other.role.plays_melody
        for note in line_notes(timeline, other, "melody")
    }
    figures = _cadence_figures(timeline, composed, sounding)
    origins = {note.start: note.origin for note in figures}
    figures = [note for note in figures if note.start not in timeline.landings]
    if not player.instrument.is_kit:
        struck = {note.start for note in composed}
        for landing in timeline.landings:
            if landing not in struck:
                first = _theka_notes(timeline.at(landing).cycle, player.instrument)[0]
                composed.append(replace(first, start=landing, length=Fraction(1)))
        composed = _with_hits(composed, timeline, player)
        taken = {note.start for note in composed}
        composed += [note for note in figures if note.start not in taken]
        composed = _cut_at_the_next(_with_origins(composed, origins))
        notes = with_slashes(composed, bars, left_open, texts, busy)
        thekas = {cycle: _theka_notes(cycle, player.instrument) for cycle in _cycles(bars)}
        return StaffContent("strokes", notes, left_open, thekas)
    together = {*(hit.at for hit in band_hits(timeline, player)), *timeline.landings}
    spans = kit_line_spans(timeline, player)
    own = kit_line_notes(timeline, player)
    own_hits = set(kit_line_hits(timeline, player)) if own else ()
    hits = [hit for hit in part.hits if hit not in own_hits]
    kit_notes = _with_syllables(_kit_notes(composed, hits, bars, together), composed)
    kit_notes += [struck_together(note) for note in _within_a_bar(_within_a_beat(own, bars), bars)]
    taken = {note.start for note in kit_notes}
    kit_notes += [
        note for note in figures if note.start not in taken and not is_within(spans, note.start)
    ]
    kit_notes = _cut_at_the_next(_with_origins(kit_notes, origins))
    left_open = tuple(
        is_open and not _is_covered(spans, bar)
        for is_open, bar in zip(left_open, bars, strict=True)
    )
    texts = {end: TIME for _, end in spans} | texts
    notes = with_slashes(kit_notes, bars, left_open, texts, sorted([*busy, *spans]))
    return StaffContent("kit", notes, left_open, _grooves(hits, bars, left_open, [*composed, *own]))


def _with_hits(composed: Sequence[PartNote], timeline: Timeline, player: Player) -> list[PartNote]:
    """Return a hand drummer's notes with what they hit with the band."""
    hits = {hit.at: hit for hit in written_hits(timeline, player)}
    struck = []
    for at, hit in hits.items():
        first = _theka_notes(timeline.at(at).cycle, player.instrument)[0]
        struck.append(replace(first, start=at, length=min(hit.length, Fraction(1))))
    return [*(note for note in composed if note.start not in hits), *struck]


def _cut_at_the_next(notes: Iterable[PartNote]) -> list[PartNote]:
    """Return notes in order of time, each cut where the next one begins: what is hit with the band
    may stand among the figures of a cadence."""
    ordered = sorted(notes, key=lambda note: note.start)
    starts = [note.start for note in ordered[1:]]
    return (
        [
            replace(note, length=min(note.length, after - note.start))
            for note, after in zip(ordered, [*starts, ordered[-1].end], strict=True)
        ]
        if ordered
        else []
    )


def _is_covered(spans: Spans, bar: Bar) -> bool:
    """Return whether kit lines fill a bar."""
    return any(start <= bar.start and bar.end <= end for start, end in spans)


def _within_a_bar(notes: Sequence[PartNote], bars: Sequence[Bar]) -> Iterator[PartNote]:
    """Yield the notes of a kit line, cut where their bar ends: drums do not ring."""
    starts = [bar.start for bar in bars]
    for note in notes:
        end = bars[bisect_right(starts, note.start) - 1].end
        yield replace(note, length=min(note.length, end - note.start))


def _with_origins(
    notes: Sequence[PartNote], origins: Mapping[Fraction, tuple[int, int]]
) -> list[PartNote]:
    """Return the notes, those without an origin with that of the cadence's note at their time: its
    brackets reach as far as the melody's."""
    return [
        replace(note, origin=origins.get(note.start, note.origin)) if note.origin[0] < 0 else note
        for note in notes
    ]


def _with_syllables(notes: Sequence[PartNote], composed: Sequence[PartNote]) -> list[PartNote]:
    """Return a kit's notes with the syllables of composed strokes under them.

    A stroke for which the kit has nothing, or no limb free, is a small note: its time is kept.
    """
    by_start = {note.start: note for note in notes}
    for stroke in composed:
        note = by_start.get(stroke.start)
        if note is None:
            by_start[stroke.start] = replace(stroke, head="cue", under=(stroke.syllable,))
        else:
            by_start[stroke.start] = replace(
                note,
                under=(stroke.syllable,),
                origin=stroke.origin,
                marks=stroke.marks,
                words=stroke.words,
            )
    starts = sorted(by_start)
    ends = dict(pairwise([*starts, None]))
    written = []
    for start in starts:
        note, after = by_start[start], ends[start]
        shorter = after is not None and note.end > after
        written.append(replace(note, length=after - start) if shorter and after else note)
    return written


def _cadence_figures(
    timeline: Timeline, composed: Sequence[PartNote], sounding: Collection[tuple[int, int]]
) -> list[PartNote]:
    """Return the rhythm of the melody's cadences as cue notes, outside a drummer's own strokes.

    ``sounding``: the origins of the notes that a melody player really sounds (a pickup may replace
    some). No figure lasts into the next one or into a composed stroke.
    """
    spans = sorted((note.start, note.end) for note in composed)
    taken = [start for start, _ in spans]
    figures: dict[Fraction, PartNote] = {}
    for number, placed in enumerate(timeline.placed_lines):
        if placed.line.kind != "melody" or not placed.players:
            continue
        for cadence in placed.line.cadences:
            until = cadence.start + cadence.rounds[-1][1]
            for index, note in enumerate(placed.line.notes):
                at = placed.start_of(note)
                if not cadence.start <= note.start < until or at in figures:
                    continue
                if (number, index) not in sounding:
                    continue
                last = bisect_right(taken, at) - 1
                if last < 0 or at >= spans[last][1]:
                    figures[at] = PartNote(
                        at, min(placed.length_of(note), Fraction(1)), NO_SPOT, syllable="figure",
                        head="cue", under=(), origin=(number, index),
                    )  # fmt: skip
    starts = sorted([*taken, *figures])
    for at, figure in figures.items():
        after = bisect_right(starts, at)
        if after < len(starts) and figure.end > starts[after]:
            figures[at] = replace(figure, length=starts[after] - at)
    return [figures[at] for at in sorted(figures)]


def _cycles(bars: Sequence[Bar]) -> Iterator[Cycle]:
    yield from dict.fromkeys(bar.stretch.cycle for bar in bars if bar.stretch.kind == "metered")


def _is_left_to(
    bar: Bar, player: Player, drummers: Collection[str], closing: Fraction | None
) -> bool:
    """Return True if a drummer keeps time or solos in a bar; they are silent in another drummer's
    solo."""
    stretch = bar.stretch
    if stretch.kind != "metered" or (closing is not None and bar.start >= closing):
        return False
    if player.name in stretch.soloists or stretch.split:
        return True
    return not any(soloist in drummers for soloist in stretch.soloists)


def _within_a_beat(strokes: Sequence[PartNote], bars: Sequence[Bar]) -> list[PartNote]:
    """Return the strokes as long as they are written: time goes on with the next beat."""
    starts = [bar.start for bar in bars]
    cut = []
    for stroke in strokes:
        bar = bars[bisect_right(starts, stroke.start) - 1]
        cut.append(replace(stroke, length=_length_in_bar(stroke.length, stroke.start, bar)))
    return cut


def _length_in_bar(length: Fraction, at: Fraction, bar: Bar) -> Fraction:
    """Return the written length of a stroke that is held so long, from a time in a bar on."""
    # A count-in may be shorter than its cycle: it is counted from its end.
    first_beat = bar.end if bar.stretch.kind == "count-in" else bar.start
    return stroke_length(length, at - first_beat, bar.stretch.cycle)


def _theka_notes(cycle: Cycle, instrument: Instrument) -> tuple[PartNote, ...]:
    return tuple(
        PartNote(beat.at, beat.length, NO_SPOT, syllable=beat.syllable)
        for beat in kept_time(cycle, instrument)
    )


def _kit_notes(
    composed: Sequence[PartNote],
    hits: Sequence[Hit],
    bars: Sequence[Bar],
    together: Collection[Fraction | None],
) -> list[PartNote]:
    """Return the written notes of a kit: its hits in composed strokes and those of the whole
    band."""
    spans = [(note.start, note.end) for note in composed]
    starts = [start for start, _ in spans]

    def is_read(time: Fraction) -> bool:
        last = bisect_right(starts, time) - 1
        return time in together or (last >= 0 and time < spans[last][1])

    return _notes_of_hits([hit for hit in hits if is_read(hit.start)], bars)


def _notes_of_hits(hits: Sequence[Hit], bars: Sequence[Bar]) -> list[PartNote]:
    """Return hits as notes of a beat at most, cut at the next one, at the beat line where the next
    one is more than a beat away, and at the end of the bar."""
    ends = [bar.end for bar in bars]
    by_time = [(at, list(struck)) for at, struck in groupby(hits, key=lambda hit: hit.start)]
    notes = []
    for number, (at, struck) in enumerate(by_time):
        after = by_time[number + 1][0] if number + 1 < len(by_time) else at + 2
        bar = bars[min(bisect_right(ends, at), len(ends) - 1)]
        length = min(max(hit.length for hit in struck), _length_in_bar(after - at, at, bar))
        if bar.end > at:
            length = min(length, bar.end - at)
        names = [KIT[hit.key] for hit in sorted(struck, key=lambda hit: hit.key)]
        first, *others = dict.fromkeys(names)
        notes.append(PartNote(at, length, NO_SPOT, syllable=first, also=tuple(others), under=()))
    return notes


def _grooves(
    hits: Sequence[Hit],
    bars: Sequence[Bar],
    left_open: Sequence[bool],
    composed: Sequence[PartNote],
) -> dict[Cycle, tuple[PartNote, ...]]:
    """Return the kit's groove for each cycle: its hits in the first whole bar of nothing but
    keeping time."""
    starts = [hit.start for hit in hits]
    taken = sorted(note.start for note in composed)
    grooves: dict[Cycle, tuple[PartNote, ...]] = {}
    for bar, open_bar in zip(bars, left_open, strict=True):
        cycle = bar.stretch.cycle
        if not open_bar or cycle in grooves or not bar.whole or bar.stretch.soloists:
            continue
        if bisect_left(taken, bar.start) < bisect_left(taken, bar.end):
            continue
        bar_hits = hits[bisect_left(starts, bar.start) : bisect_left(starts, bar.end)]
        notes = _notes_of_hits(bar_hits, [bar])
        grooves[cycle] = tuple(replace(note, start=note.start - bar.start) for note in notes)
    return grooves
