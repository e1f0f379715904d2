"""Lines of chords as their players sound and read them: comped by those who play chords, and as
roots by a bass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.assigned_lines import lines_of
from cyclechart.arrange.bars import Bar
from cyclechart.arrange.chord_slashes import ChordSpan, beats_of_bar, chord_slashes
from cyclechart.arrange.entries import give_way
from cyclechart.arrange.part_notes import NO_SPOT, PartNote
from cyclechart.arrange.roles.chord_voicings import voice
from cyclechart.arrange.roles.comping import CompedStrike, comped
from cyclechart.arrange.roles.melody_sounds import ACCENT, LOUDNESS
from cyclechart.arrange.roles.playing_ranges import CENTRE, LOUD_CHORD, SPREAD, UNDER_SA
from cyclechart.arrange.score import Sound
from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.catalog.roles import LineKind
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tones import show_pitch

CHORDS: tuple[LineKind, ...] = ("chords",)
LOUD_ROOT = 84
STACCATO = Fraction(1, 2)
LEAST_SPAN = 24
"""The semitones of a range in which any bass has any chord over it."""
ROOT_SPAN = 15
"""How far up from the lowest key a bass has its roots (semitones), at most."""


def chord_line_sounds(piece: Piece, timeline: Timeline, player: Player) -> list[Sound]:
    """Return the sounds of a player's lines of chords: voicings, or the roots of a bass."""
    first = timeline.stretches[0].tonic if timeline.stretches else None
    sounds: list[Sound] = []
    before: tuple[int, ...] = ()
    for number, placed in lines_of(timeline, player.name, CHORDS):
        strikes = list(_strikes(timeline, placed, number, player))
        if not strikes:
            continue
        _end_at(sounds, strikes[0].start)
        roots_below = _has_bass(piece, timeline, placed, player)
        level = LOUDNESS.get(placed.state.level, LOUDNESS["mf"])
        for strike in strikes:
            level = next(
                (LOUDNESS[mark] for mark in strike.span.note.marks if mark in LOUDNESS), level
            )
            keys = _keys(strike, placed.state.tonic, player, before, with_root=not roots_below)
            before = keys or before
            sounds += _sounds(strike, keys, placed.state.tonic, player, level, first)
    return sounds


def chord_line_notes(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player
) -> list[PartNote]:
    """Return the written notes of a player's lines of chords, in beats of the timeline: symbols
    over slashes, or over the roots of a bass."""
    spans: list[ChordSpan] = []
    starts: list[Fraction] = []
    for number, placed in lines_of(timeline, player.name, CHORDS):
        new = list(chord_spans(timeline, placed, number, player))
        if new:
            give_way(spans, starts, new[0].start, _shortened)
            spans += new
            starts += [span.start for span in new]
    beats = [beat for bar in bars if bar.stretch.kind != "free" for beat in beats_of_bar(bar)]
    slashes = chord_slashes(spans, beats)
    if not player.role.plays_roots:
        return slashes
    return list(_roots(slashes, chord_line_sounds(piece, timeline, player), timeline, player))


def chord_spans(
    timeline: Timeline, placed: PlacedLine, number: int, player: Player
) -> Iterator[ChordSpan]:
    """Yield the chords of a placed line, its ``number`` in the timeline, as far as they sound and
    the player does not improvise."""
    line = placed.line
    struck = line.struck is not None
    if line.struck is not None:
        phrase = replace(line.phrase, notes=line.struck)
        placed = replace(placed, line=replace(line, phrase=phrase))
    for index, note, start, length in placed.sounding_notes():
        if length > 0 and player.name not in timeline.at(start).soloists_at(start):
            origin = (number, index) if struck and line.struck is line.notes else (-1, -1)
            yield ChordSpan(start, start + length, note, struck, placed.state.tonic, origin)


def _strikes(
    timeline: Timeline, placed: PlacedLine, number: int, player: Player
) -> Iterator[CompedStrike]:
    spans = list(chord_spans(timeline, placed, number, player))
    return comped(timeline, spans, placed.body_start, roots=player.role.plays_roots)


def _has_bass(piece: Piece, timeline: Timeline, placed: PlacedLine, player: Player) -> bool:
    """Return whether a bass plays the roots of a line at the same time."""
    basses = {one.name for one in piece.players if one.role.plays_roots} - {player.name}
    start, end = placed.span
    return any(
        basses.intersection(other.players) and other.span[0] < end and other.span[1] > start
        for other in timeline.placed_lines
        if other.line.name == placed.line.name
    )


def _keys(
    strike: CompedStrike,
    tonic: Tonic,
    player: Player,
    before: tuple[int, ...],
    *,
    with_root: bool,
) -> tuple[int, ...]:
    """Return the keys that a player strikes of a chord."""
    chord = strike.span.note.chord
    assert chord is not None
    if not player.role.plays_roots:
        return voice(chord, tonic.midi, chord_range(player), before, with_root=with_root)
    low = player.instrument.low + 12 * player.octave
    high = min(player.instrument.high + 12 * player.octave, low + ROOT_SPAN)
    keys = [key for key in range(low, high + 1) if (key - tonic.midi - chord.lowest) % 12 == 0]
    near = before[0] if before else low
    return (min(keys, key=lambda key: (abs(key - near), key)),) if keys else ()


def chord_range(player: Player) -> tuple[int, int]:
    """Return the lowest and the highest key of a player's chords: nobody reads their tones, so that
    no ledger lines matter."""
    instrument = player.instrument
    low = max(instrument.low, CENTRE - SPREAD)
    high = min(instrument.high, max(CENTRE + SPREAD, low + LEAST_SPAN))
    return low + 12 * player.octave, high + 12 * player.octave


def _sounds(
    strike: CompedStrike,
    keys: Sequence[int],
    tonic: Tonic,
    player: Player,
    level: int,
    first: Tonic | None,
) -> Iterator[Sound]:
    """Yield the sounds of a strike, a voice for each key; the lowest of a chord that begins has its
    symbol as text."""
    note = strike.span.note
    begins = strike.start == strike.span.start
    marks = note.marks if begins else ()
    symbol = note.chord.in_letters(tonic) if begins and note.chord is not None else ""
    loud = LOUD_ROOT if player.role.plays_roots else LOUD_CHORD
    loud += level - LOUDNESS["mf"] + strike.lift + (ACCENT if "accent" in marks else 0)
    length = strike.length * (STACCATO if "staccato" in marks else 1)
    base = None if tonic == first else tonic.midi
    for number, key in enumerate(keys):
        pitch = key - tonic.midi
        text = show_pitch(pitch) if player.role.plays_roots else "" if number else symbol
        velocity = max(1, min(127, loud))
        yield Sound(strike.start, length, pitch, velocity, text, number, base)


def _roots(
    slashes: Sequence[PartNote],
    sounds: Sequence[Sound],
    timeline: Timeline,
    player: Player,
) -> Iterator[PartNote]:
    """Yield the notes of a bass: the roots that sound, with the symbols that stand over slashes.

    A symbol over no root of its own, at the beginning of a cycle, is left out.
    """
    by_start = {note.start: note for note in slashes}
    for sound in sounds:
        slash = by_start.get(sound.start)
        sa = slash.sa if slash is not None else timeline.at(sound.start).tonic
        lowest = player.instrument.low + UNDER_SA + 12 * player.octave
        floor = -(((sa or timeline.at(sound.start).tonic).midi - lowest) // 12) * 12
        yield PartNote(
            sound.start,
            sound.length if slash is None or "staccato" not in slash.marks else slash.length,
            NO_SPOT if slash is None else slash.spot,
            pitch=sound.pitch,
            under=(sound.pitch - floor,),
            marks=() if slash is None else slash.marks,
            chord=None if slash is None else slash.chord,
            sa=sa,
            origin=(-1, -1) if slash is None else slash.origin,
        )


def _shortened(span: ChordSpan, length: Fraction) -> ChordSpan:
    return span._replace(end=span.start + length)


def _end_at(sounds: list[Sound], time: Fraction) -> None:
    """Drop the sounds that begin at a time or after it, and cut the last chord there; no other one
    lasts so long."""
    while sounds and sounds[-1].start >= time:
        sounds.pop()
    at = len(sounds)
    while at and sounds[at - 1].start == sounds[-1].start:
        at -= 1
        last = sounds[at]
        if last.start + last.length > time:
            sounds[at] = replace(last, length=time - last.start)
